"""The command line: the same engine without a window."""

import sys
from collections.abc import Sequence
from pathlib import Path

import click

from app import making
from shared import units
from shared.errors import InputError, RecipeError, RimetypeError
from shared.fields import Info
from shared.recipe import Recipe, all_fields, field_info, parse_value

COMMANDS = ("plate", "demo", "check")
SCREENS = [option.value for option in field_info("screen.kind").options]


def run(arguments: Sequence[str]) -> int:
    """Run one command; returns the exit status: 0, 2 for what the user gave, 1 for a failure."""
    words = list(arguments)
    if not words or (words[0] not in COMMANDS and not words[0].startswith("-")):
        words.insert(0, "open")
    try:
        status = group.main(args=words, prog_name="rimetype", standalone_mode=False)
    except click.exceptions.Abort:
        return _complain("Stopped; nothing was written.", 1)
    except click.ClickException as error:
        return _complain(error.format_message(), 2)
    except RimetypeError as error:
        return _complain(str(error), 2 if isinstance(error, InputError) else 1)
    return int(status or 0)


def _complain(sentence: str, status: int) -> int:
    click.echo(sentence, err=True)
    return status


def _fields_help() -> str:
    lines = ["\b", "Fields for --set:"]
    for key, info in all_fields():
        lines.append(f"  {key:<24} {_range(info):<44} {info.label}")
    return "\n".join(lines)


def _range(info: Info) -> str:
    if info.kind == "number":
        unit = "share, or %" if info.unit == "%" else info.unit
        return f"{info.low:g} to {info.high:g} {unit}".rstrip()
    if info.kind == "choice":
        return " ".join(option.value for option in info.options)
    return {
        "flag": "true or false",
        "curve": "in:out in:out ... from 0 to 1",
        "region": "left,top,right,bottom as shares, or none",
        "colour": "#rrggbb",
    }[info.kind]


class _Size(click.ParamType[tuple[float, float]]):
    name = "WxH"

    def convert(
        self, value: str, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        try:
            return units.parse_size_mm(value)
        except ValueError:
            self.fail("The size must look like 90x120 (mm) or 4x5in.", param, ctx)


@click.group(
    help="Prepares portraits for laser etching on glass. "
    "Without a command, opens the studio; with a photo, opens the studio on it.",
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(package_name="rimetype", message="Rimetype %(version)s")
def group() -> None:
    """The commands."""


@group.command("open", hidden=True)
@click.argument("photo", required=False)
def open_command(photo: str | None) -> int:
    """Open the studio, on PHOTO if there is one."""
    from app.studio import open_studio

    return open_studio(Path(photo) if photo else None)


@group.command("demo")
@click.option(
    "--headless",
    "folder",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Without a window: write plate, look, proof and a picture of the studio into FOLDER.",
)
def demo_command(folder: Path | None) -> int:
    """Open the studio on the demo portrait."""
    from app import demo, studio

    if folder is None:
        return studio.open_studio(demo.PORTRAIT)
    for written in demo.make(folder):
        click.echo(str(written))
    return 0


@group.command("plate", epilog=_fields_help())
@click.argument("photo", type=click.Path(path_type=Path))
@click.option(
    "-o", "--output", required=True, type=click.Path(path_type=Path), metavar="PLATE",
    help="The plate bitmap to write: .png, .tif or .bmp.",
)  # fmt: skip
@click.option("--size", type=_Size(), help="Width and height of the glass in mm, or 4x5in.")
@click.option("--pitch", type=float, metavar="MM", help="Distance between etch pixels in mm.")
@click.option("--ppi", type=float, help="The same as etch pixels per inch.")
@click.option(
    "--recipe", "recipe_path", type=click.Path(path_type=Path), help="A recipe file to start from."
)
@click.option("--set", "settings", multiple=True, metavar="FIELD=VALUE", help="Any recipe field.")
@click.option("--screen", type=click.Choice(SCREENS), help="How grey becomes machine pixels.")
@click.option(
    "--look", type=click.Path(path_type=Path), help="Also write the look, 16-bit, from the front."
)
@click.option("--proof", type=click.Path(path_type=Path), help="Also write the simulated glass.")
@click.option("--report", type=click.Path(path_type=Path), help="Also write the ticket as JSON.")
@click.option("--replace", is_flag=True, help="Write over files that exist.")
@click.option(
    "--limit-mp", type=click.FloatRange(1, 2000), default=None, metavar="MP",
    help="Largest photo to open, in megapixels (256 unless said otherwise).",
)  # fmt: skip
def plate_command(
    photo: Path,
    output: Path,
    size: tuple[float, float] | None,
    pitch: float | None,
    ppi: float | None,
    recipe_path: Path | None,
    settings: tuple[str, ...],
    screen: str | None,
    look: Path | None,
    proof: Path | None,
    report: Path | None,
    replace: bool,
    limit_mp: float | None,
) -> int:
    """Turn PHOTO into a plate bitmap, mirrored and inverted as the plate's facts ask."""
    recipe = making.read_recipe(recipe_path) if recipe_path else Recipe()
    recipe = recipe.with_values(_wanted(size, pitch, ppi, screen, settings))
    targets = making.Targets(output, look, proof, report, replace)
    with _progress_bar() as bar:
        found = making.make_plate(photo, recipe, targets, limit_mp, bar)
    click.echo(
        f"{output}: {found.columns} x {found.rows} pixels, "
        f"{found.width_mm:g} x {found.height_mm:g} mm. {found.handling}"
    )
    for caution in found.cautions:
        click.echo(f"Note: {caution.sentence}", err=True)
    return 0


@group.command("check")
def check_command() -> int:
    """Say whether this machine has all that is needed."""
    from app import machine

    findings = machine.look_around()
    for finding in findings:
        click.echo(f"{'ok  ' if finding.good else 'miss'}  {finding.name}: {finding.sentence}")
    return 0 if all(finding.good or finding.optional for finding in findings) else 1


def _wanted(
    size: tuple[float, float] | None,
    pitch: float | None,
    ppi: float | None,
    screen: str | None,
    settings: tuple[str, ...],
) -> dict[str, object]:
    if pitch is not None and ppi is not None:
        raise RecipeError("Give the pitch or the pixels per inch, not both.")
    if ppi is not None and not ppi > 0:
        raise RecipeError("The pixels per inch must be above 0.")
    wanted: dict[str, object] = {}
    if size is not None:
        wanted["plate.width_mm"], wanted["plate.height_mm"] = size
    if pitch is not None or ppi is not None:
        wanted["plate.pitch_mm"] = pitch if pitch is not None else units.pitch_from_ppi(ppi or 1.0)
    if screen is not None:
        wanted["screen.kind"] = screen
    for setting in settings:
        key, equals, text = setting.partition("=")
        if not equals:
            raise RecipeError(f"--set {setting} must look like tone.lift=0.4.")
        wanted[key.strip()] = parse_value(key.strip(), text)
    return wanted


class _progress_bar:  # noqa: N801 - reads as a context manager
    """A bar on the terminal, and nothing where standard error is not one."""

    def __enter__(self) -> making.Progress:
        self._shown = sys.stderr.isatty()
        return self._report

    def _report(self, share: float) -> None:
        if self._shown:
            click.echo(f"\r{share:4.0%} ", nl=False, err=True)

    def __exit__(self, *_: object) -> None:
        if self._shown:
            click.echo("\r", nl=False, err=True)
