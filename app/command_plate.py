"""The command `plate`: a photo in, a plate bitmap out."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import click

from app.command_options import limit_option, replace_option
from app.field_help import fields_text, takes
from shared import units
from shared.errors import RecipeError
from shared.profile import GENERIC
from shared.profile_file import read_profile
from shared.recipe import Recipe, field_info, parse_value

Parsed = TypeVar("Parsed")
SCREENS = [option.value for option in field_info("screen.kind").options]
_PATH = click.Path(path_type=Path)


class WithFields(click.Command):
    """Its help lists every field of a recipe."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The fields, laid out for 80 columns."""
        _ = ctx
        formatter.write("\n" + fields_text())


@click.command(
    "plate", cls=WithFields, short_help="Turn a photo into a plate bitmap for the machine."
)
@click.argument("photo", type=_PATH)
@click.option(
    "-o", "--output", required=True, type=_PATH, metavar="PLATE",
    help="The plate bitmap to write: .png, .tif or .bmp.",
)  # fmt: skip
@click.option("--size", metavar="WxH", help="Width and height of the glass in mm, or 4x5in.")
@click.option("--pitch", metavar="MM", help="Distance between etch pixels in mm.")
@click.option("--ppi", metavar="NUMBER", help="The same as etch pixels per inch.")
@click.option(
    "--recipe", "recipe_path", type=_PATH, metavar="FILE", help="A recipe file to start from."
)
@click.option(
    "--profile", "profile_path", type=_PATH, metavar="FILE",
    help="A glass profile; its pitch is used where none is given.",
)  # fmt: skip
@click.option("--screen", metavar="NAME", help=f"One of: {', '.join(SCREENS)}.")
@click.option(
    "--set", "settings", multiple=True, metavar="FIELD=VALUE",
    help="Any field of the recipe, as listed below; stronger than all other options.",
)  # fmt: skip
@click.option(
    "--look", type=_PATH, metavar="FILE",
    help="Also write the look as 16-bit PNG, as seen from the front.",
)  # fmt: skip
@click.option("--proof", type=_PATH, metavar="FILE", help="Also write the simulated glass as PNG.")
@click.option("--report", type=_PATH, metavar="FILE", help="Also write the ticket as JSON.")
@replace_option
@limit_option
def plate_command(
    photo: Path,
    output: Path,
    size: str | None,
    pitch: str | None,
    ppi: str | None,
    recipe_path: Path | None,
    profile_path: Path | None,
    screen: str | None,
    settings: tuple[str, ...],
    look: Path | None,
    proof: Path | None,
    report: Path | None,
    replace: bool,
    limit_mp: float | None,
) -> int:
    """Turn PHOTO into a plate bitmap, mirrored and inverted as the plate's facts ask."""
    from app import making

    profile = read_profile(profile_path) if profile_path else GENERIC
    recipe = Recipe().changed(plate__pitch_mm=profile.setting.pitch_mm)
    if recipe_path:
        recipe = making.read_recipe(recipe_path, onto=recipe)
    recipe = recipe.with_values(_wanted(size, pitch, ppi, screen, settings))
    targets = making.Targets(output, look, proof, report, replace)
    with ProgressBar() as report_progress:
        found = making.make_plate(photo, recipe, targets, limit_mp, report_progress, profile)
    click.echo(
        f"{output}: {found.columns} x {found.rows} pixels, "
        f"{found.width_mm:g} x {found.height_mm:g} mm. {found.handling}"
    )
    for note in (*found.notes, *(caution.sentence for caution in found.cautions)):
        click.echo(f"Note: {note}", err=True)
    return 0


def _wanted(
    size: str | None,
    pitch: str | None,
    ppi: str | None,
    screen: str | None,
    settings: tuple[str, ...],
) -> dict[str, object]:
    if pitch is not None and ppi is not None:
        raise RecipeError("Give the pitch or the pixels per inch, not both.")
    wanted: dict[str, object] = {}
    if size is not None:
        sides = parsed(units.parse_size_mm, size, "The size must look like 90x120 or 4x5in.")
        wanted["plate.width_mm"], wanted["plate.height_mm"] = sides
    if pitch is not None:
        sentence = "The pitch must be a number of mm, such as 0.0847."
        wanted["plate.pitch_mm"] = parsed(units.parse_number, pitch, sentence)
    if ppi is not None:
        sentence = "The pixels per inch must be a number above 0, such as 300."
        number = parsed(units.parse_number, ppi, sentence)
        if not number > 0.0:
            raise RecipeError(sentence)
        wanted["plate.pitch_mm"] = units.pitch_from_ppi(number)
    if screen is not None:
        wanted["screen.kind"] = screen
    return wanted | set_fields(settings)


def set_fields(settings: tuple[str, ...]) -> dict[str, object]:
    """The values of all `--set FIELD=VALUE`."""
    wanted: dict[str, object] = {}
    for setting in settings:
        key, equals, text = setting.partition("=")
        if not equals:
            raise RecipeError(f"--set {setting} lacks its value; write it like tone.lift=0.4.")
        wanted[key.strip()] = _field_value(key.strip(), text)
    return wanted


def parsed(parse: Callable[[str], Parsed], text: str, sentence: str) -> Parsed:
    """What `parse` makes of a text, or RecipeError with the sentence."""
    try:
        return parse(text)
    except ValueError:
        raise RecipeError(sentence) from None


def _field_value(key: str, text: str) -> object:
    info = field_info(key)
    try:
        value = parse_value(key, text)
    except RecipeError as error:
        raise RecipeError(f"{error} It takes {takes(info)}.") from None
    if info.unit == "%" and not text.strip().endswith("%") and info.high < value <= 100.0:
        raise RecipeError(f"{key} takes {takes(info)}; for percent write {key}={text.strip()}%.")
    return value


class ProgressBar:
    """The share that is done, on a terminal; nothing where standard error is not one."""

    def __enter__(self) -> Callable[[float], None]:
        self._shown = sys.stderr.isatty()
        return self._report

    def _report(self, share: float) -> None:
        if self._shown:
            click.echo(f"\r{share:4.0%}", nl=False, err=True)

    def __exit__(self, *_: object) -> None:
        if self._shown:
            click.echo("\r    \r", nl=False, err=True)
