"""The commands, as click takes them; a plain start of the studio does without."""

from pathlib import Path

import click

from app import command
from app.command_plate import plate_command
from app.command_strip import strip_group
from app.failures import complain
from app.version import version


def invoke(words: list[str]) -> int:
    """Run the command that the first word names; returns the exit status."""
    try:
        status = group.main(args=words, prog_name="rimetype", standalone_mode=False)
    except click.exceptions.Abort:
        return complain(command.STOPPED, 1)
    except click.ClickException as error:
        return complain(_with_way_out(error), 2)
    return int(status or 0)


def _with_way_out(error: click.ClickException) -> str:
    message = error.format_message()
    context = getattr(error, "ctx", None)
    path = "rimetype" if context is None else context.command_path.removesuffix(" open")
    if message.endswith("?"):
        return f"{message} See {path} --help."
    return f"{message.rstrip('.')}; see {path} --help."


class _Group(click.Group):
    """Says how to call it without a command too."""

    def format_usage(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The two ways to call Rimetype."""
        formatter.write_usage(ctx.command_path, "[PHOTO]")
        formatter.write_usage(ctx.command_path, "COMMAND ...", prefix="       ")


def _say_version(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        click.echo(f"Rimetype {version()}")
        context.exit()


@click.group(
    cls=_Group,
    help="Prepares portraits for laser etching on glass. "
    "Without a command, opens the studio; with a photo, opens the studio on it.",
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_say_version,
    help="Show the version and exit.",
)
def group() -> None:
    """The commands."""


group.add_command(plate_command)
group.add_command(strip_group)


@group.command("open", hidden=True)
@click.argument("photo", required=False, type=click.Path(path_type=Path))
def open_command(photo: Path | None) -> int:
    """Open the studio, on PHOTO if there is one."""
    return command.open_studio(photo)


@group.command("demo", short_help="Open the studio on the demo portrait.")
@click.option(
    "--headless",
    "folder",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Without a window: write plate, look, proof and a picture of the studio into FOLDER.",
)
def demo_command(folder: Path | None) -> int:
    """Open the studio on the demo portrait."""
    from app import demo

    if folder is None:
        return command.open_studio(demo.PORTRAIT)
    for written in demo.make(folder):
        click.echo(str(written))
    return 0


@group.command("check", short_help="Say whether this machine has all that is needed.")
def check_command() -> int:
    """Say whether this machine has all that is needed; the exit status is 1 if it has not."""
    from app import machine

    findings = machine.look_around()
    for finding in findings:
        click.echo(f"{finding.mark:<9} {finding.name:<11} {finding.sentence}")
    missing = [finding.name for finding in findings if not finding.good and not finding.optional]
    if missing:
        click.echo(f"Rimetype cannot do all its work here: see {', '.join(missing)} above.")
        return 1
    click.echo("Rimetype has all that it needs.")
    return 0
