"""The commands `strip make` and `strip read`: a test strip for the machine, and what it taught."""

from pathlib import Path

import attrs
import click

from app.command_options import limit_option, replace_option
from app.command_plate import ProgressBar, WithFields, parsed, set_fields
from app.command_strip_read import read_command
from app.fitted_file import read_fitted, with_fitted
from shared import units
from shared.errors import InputError
from shared.fields import Region
from shared.limits import DEFAULT_LIMIT_MP
from shared.profile import GENERIC, GlassProfile
from shared.profile_file import read_profile
from shared.recipe import Recipe

_PATH = click.Path(path_type=Path)
_HIGHEST_FLOOR = 60.0


@click.group(
    "strip",
    no_args_is_help=False,
    short_help="Make a test strip, and read its photo.",
    context_settings={"help_option_names": ["-h", "--help"]},
)
def strip_group() -> None:
    """Make a test strip for a scrap of glass, and read the photo of the burnt strip."""


strip_group.add_command(read_command)


@strip_group.command("make", cls=WithFields, short_help="Lay out a test strip for the machine.")
@click.argument("photo", type=_PATH, required=False)
@click.option(
    "-o", "--output", "folder", required=True, type=_PATH, metavar="FOLDER",
    help="Where to write the runs, the placement sheet, readings.csv and strip.json.",
)  # fmt: skip
@click.option(
    "--power", metavar="MAX/MIN,...", help="Pairs of greatest and least power in %: 60/15,45/12."
)
@click.option("--speed", metavar="MM_S,...", help="Speeds in mm/s: 250,400.")
@click.option(
    "--floor", metavar="PERCENT", help="Firing floor: the power below which the tube is silent."
)
@click.option(
    "--size", metavar="WxH", help="Width and height of the scrap in mm, or 4x5in; 150x200 if not."
)
@click.option("--pitch", metavar="MM", help="Distance between etch pixels in mm.")
@click.option("--margin", metavar="MM", help="Bare border; twice the thickness unless given.")
@click.option(
    "--recipe", "recipe_path", type=_PATH, metavar="FILE",
    help="A recipe file: how the cells are made.",
)  # fmt: skip
@click.option(
    "--profile", "profile_path", type=_PATH, metavar="FILE",
    help="A glass profile: the machine, and the setting to start from.",
)  # fmt: skip
@click.option(
    "--screens", metavar="NAME,...", help="Screens to measure; diffusion,mixed unless given."
)
@click.option(
    "--crop", metavar="L,T,R,B",
    help="The part of the photo in the cells, as shares of its width and height: 0.3,0.1,0.7,0.6; "
    "the face, or where most middle tones are, unless given.",
)  # fmt: skip
@click.option(
    "--number", type=click.IntRange(1, 9999), metavar="NUMBER",
    help="The strip's number; follows from all the rest unless given.",
)  # fmt: skip
@click.option(
    "--set", "settings", multiple=True, metavar="FIELD=VALUE",
    help="Any field of the recipe, as listed below.",
)  # fmt: skip
@replace_option
@limit_option
def make_command(
    photo: Path | None,
    folder: Path,
    power: str | None,
    speed: str | None,
    floor: str | None,
    size: str | None,
    pitch: str | None,
    margin: str | None,
    recipe_path: Path | None,
    profile_path: Path | None,
    screens: str | None,
    crop: str | None,
    number: int | None,
    settings: tuple[str, ...],
    replace: bool,
    limit_mp: float | None,
) -> int:
    """Lay out a test strip with cells of PHOTO, or of the demo portrait, for a scrap of glass.

    It tries each pair of powers at each speed; without them, steps around the profile's setting,
    at a speed that suits the pitch.
    """
    from app.demo import PORTRAIT
    from engine.flow import prepare
    from engine.photo import open_photo
    from engine.strip import make, make_files, make_settings

    known = read_profile(profile_path) if profile_path else GENERIC
    profile = _with_floor(with_fitted(known, read_fitted()), floor)
    recipe = _recipe(profile, recipe_path, pitch, settings)
    start = make_settings.starting_at(profile, recipe.plate.pitch_mm)
    plan = make.Plan(
        pairs=_pairs(power) if power is not None else make_settings.default_pairs(start),
        speeds=_numbers(speed, "--speed")
        if speed is not None
        else make_settings.default_speeds(start),
        screens=_names(screens) if screens is not None else make.default_screens(recipe),
        size_mm=_size(size) if size is not None else make.DEFAULT_SIZE_MM,
        margin_mm=_number(margin, "--margin") if margin is not None else None,
        pitch_mm=recipe.plate.pitch_mm,
        crop=_crop(crop) if crop is not None else None,
        number=number,
    )
    path = photo or PORTRAIT
    opened = open_photo(path, matte=recipe.photo.matte, limit_mp=limit_mp or DEFAULT_LIMIT_MP)
    with ProgressBar() as report_progress:
        made = make.make_strip(prepare(opened), recipe, profile, plan, report_progress)
    make_files.write_strip(made, folder, overwrite=replace, photo_path=path)
    strip = made.strip
    click.echo(
        f"{folder}: test strip {strip.number}, {strip.size_mm[0]:g} x {strip.size_mm[1]:g} mm, "
        f"{len(strip.runs)} run{'s' * (len(strip.runs) > 1)} and {len(strip.patches)} patches. "
        f"Burn the runs as {make_files.SHEET} says."
    )
    return 0


def _with_floor(profile: GlassProfile, text: str | None) -> GlassProfile:
    if text is None:
        return profile
    floor = _number(text, "--floor")
    if not 0.0 <= floor <= _HIGHEST_FLOOR:
        raise InputError(f"The firing floor must lie between 0 and {_HIGHEST_FLOOR:g} %.")
    return attrs.evolve(profile, machine=attrs.evolve(profile.machine, firing_floor_pct=floor))


def _recipe(
    profile: GlassProfile, path: Path | None, pitch: str | None, settings: tuple[str, ...]
) -> Recipe:
    """The recipe for the cells, on a scrap as thick as the profile's sheet."""
    from app.making import read_recipe

    recipe = Recipe().changed(
        plate__pitch_mm=profile.setting.pitch_mm, plate__thickness_mm=profile.sheet.thickness_mm
    )
    if path is not None:
        recipe = read_recipe(path, onto=recipe)
    wanted: dict[str, object] = {}
    if pitch is not None:
        wanted["plate.pitch_mm"] = _number(pitch, "--pitch")
    return recipe.with_values(wanted | set_fields(settings))


def _pairs(text: str) -> tuple[tuple[float, float], ...]:
    pairs = []
    for pair in text.split(","):
        numbers = _listed(pair, "/", f"--power {text}", "60/15,45/12")
        if len(numbers) != 2:
            raise InputError(
                f"--power {text} must hold pairs of greatest and least power, such as 60/15,45/12."
            )
        pairs.append((numbers[0], numbers[1]))
    return tuple(pairs)


def _numbers(text: str, option: str) -> tuple[float, ...]:
    return _listed(text, ",", f"{option} {text}", "250,400")


def _crop(text: str) -> Region:
    example = "0.3,0.1,0.7,0.6"
    numbers = _listed(text, ",", f"--crop {text}", example)
    if len(numbers) != 4:
        raise InputError(f"--crop {text} must hold left, top, right and bottom, such as {example}.")
    return numbers[0], numbers[1], numbers[2], numbers[3]


def _names(text: str) -> tuple[str, ...]:
    names = tuple(name.strip() for name in text.split(","))
    if not all(names):
        raise InputError(f"--screens {text} lacks a name; write diffusion,mixed.")
    return names


def _size(text: str) -> tuple[float, float]:
    return parsed(units.parse_size_mm, text, "The size must look like 150x200 or 4x5in.")


def _number(text: str, option: str) -> float:
    return parsed(units.parse_number, text, f"{option} {text} is no number; write one such as 12.")


def _listed(text: str, mark: str, given: str, example: str) -> tuple[float, ...]:
    try:
        return tuple(float(part) for part in text.split(mark))
    except ValueError:
        raise InputError(f"{given} holds something that is no number; write {example}.") from None
