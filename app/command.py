"""The command line: the same engine without a window."""

import gc
import os
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from app.command_plate import plate_command
from app.command_strip import strip_group
from app.failures import sentence_of
from app.version import version
from shared.errors import FaultError, InputError, PhotoError

COMMANDS = ("plate", "strip", "demo", "check")
_KNOWN = "the commands are plate, strip, demo and check"


def run(arguments: Sequence[str]) -> int:
    """Run one command; returns the exit status: 0, 2 for what the user gave, 1 for a failure."""
    try:
        words = _routed(list(arguments))
        status = group.main(args=words, prog_name="rimetype", standalone_mode=False)
    except click.exceptions.Abort:
        return _complain("Stopped; nothing was written.", 1)
    except click.ClickException as error:
        return _complain(_with_way_out(error), 2)
    except Exception as error:  # whatever fails inside reaches the user as a sentence
        return _complain(sentence_of(error), 2 if isinstance(error, InputError) else 1)
    return int(status or 0)


def _routed(words: list[str]) -> list[str]:
    """The words with a command first: a photo alone, or nothing, opens the studio."""
    if not words:
        return ["open"]
    first = words[0]
    if first in COMMANDS or first.startswith("-"):
        return words
    if not os.path.exists(first):  # noqa: PTH110 - unlike Path's, it answers for any text
        if Path(first).suffix or os.sep in first:
            raise PhotoError(f"There is no photo {first}; check its name and its folder.")
        raise InputError(f"There is no command or photo named {first}; {_KNOWN}.")
    if len(words) > 1 and not words[1].startswith("-"):
        raise InputError(f"The studio opens one photo at a time; {_KNOWN}.")
    return ["open", *words]


def _with_way_out(error: click.ClickException) -> str:
    message = error.format_message()
    context = getattr(error, "ctx", None)
    path = "rimetype" if context is None else context.command_path.removesuffix(" open")
    if message.endswith("?"):
        return f"{message} See {path} --help."
    return f"{message.rstrip('.')}; see {path} --help."


def _complain(sentence: str, status: int) -> int:
    click.echo(sentence, err=True)
    return status


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
    return _open_studio(photo)


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
        return _open_studio(demo.PORTRAIT)
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


def _open_studio(photo: Path | None) -> int:
    places = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    if sys.platform.startswith("linux") and not any(os.environ.get(name) for name in places):
        raise FaultError(
            "There is no display to open the studio on; "
            "rimetype plate and rimetype demo --headless work without one."
        )
    gc.disable()  # until the window is shown hardly anything is garbage; see launch
    try:
        from app.launch import open_studio
    except ImportError as error:
        gc.enable()
        raise FaultError(
            f"The studio cannot be opened ({error}); rimetype check says what is missing."
        ) from error
    return open_studio(photo)
