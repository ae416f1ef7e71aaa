"""The command `strip read`: a photo of the burnt strip in, a glass profile out."""

import json
from datetime import datetime
from pathlib import Path

import click

from app.command_options import limit_option, replace_option
from app.command_plate import ProgressBar
from shared.atomic import allowed_target, spare, write_text
from shared.errors import InputError, OutputError
from shared.limits import DEFAULT_LIMIT_MP
from shared.profile import GlassProfile
from shared.profile_file import dump_profile, read_profile
from shared.strip import Strip, read_strip

_PATH = click.Path(path_type=Path)
_UNITS = ("frost", "reflectance", "lightness", "density")


@click.command("read", short_help="Learn the glass from a photo of the burnt strip.")
@click.argument("photo", type=_PATH, required=False)
@click.option(
    "--darker", "darker_path", type=_PATH, metavar="PHOTO",
    help="A second photo from the same place in the same light, one stop darker: by it the "
    "camera's tones are measured.",
)  # fmt: skip
@click.option(
    "--strip", "strip_path", required=True, type=_PATH, metavar="FILE",
    help="The strip.json that was made with the strip.",
)  # fmt: skip
@click.option(
    "-o", "--output", required=True, type=_PATH, metavar="PROFILE",
    help="The glass profile to write, .json.",
)  # fmt: skip
@click.option("--report", type=_PATH, metavar="FILE", help="Also write what was found as JSON.")
@click.option(
    "--picture", type=_PATH, metavar="FILE",
    help="Also write the strip as it was read, straightened, as PNG.",
)  # fmt: skip
@click.option(
    "--profile", "profile_path", type=_PATH, metavar="FILE",
    help="A profile measured earlier on the same machine and glass, to be refined.",
)  # fmt: skip
@click.option(
    "--choose", type=click.IntRange(1), metavar="NUMBER",
    help="The setting that your own eye prefers, by its run on the placement sheet.",
)  # fmt: skip
@click.option(
    "--readings", type=_PATH, metavar="FILE",
    help="Without a photo: the readings.csv that lies beside the strip, with one value filled in "
    "for each patch that was read.",
)  # fmt: skip
@click.option(
    "--unit", type=click.Choice(_UNITS), help="What the readings are; frost unless given.",
)  # fmt: skip
@replace_option
@limit_option
def read_command(
    photo: Path | None,
    darker_path: Path | None,
    strip_path: Path,
    output: Path,
    report: Path | None,
    picture: Path | None,
    profile_path: Path | None,
    choose: int | None,
    readings: Path | None,
    unit: str | None,
    replace: bool,
    limit_mp: float | None,
) -> int:
    """Read PHOTO, taken from the front on black, and fit the glass profile of the best setting."""
    from engine import output as files
    from engine.strip import by_hand, judge_photo, make_files
    from engine.strip.photos import open_photos
    from engine.strip.readings_file import read_readings

    _check_source(photo, readings, picture, darker_path, unit)
    strip = read_strip(strip_path)
    strips_own = (strip_path, *make_files.files_of(strip, strip_path.parent))
    sources: dict[Path | None, str] = dict.fromkeys(strips_own, "belongs to the strip")
    sources |= dict.fromkeys((photo, darker_path), "is the photo itself")
    sources |= {readings: "holds the readings"}
    if profile_path is not None and profile_path.resolve() != output.resolve():
        sources |= {profile_path: "is the earlier profile"}
    _check_targets((output, report, picture), sources, replace)
    look = judge_photo.read_look(strip_path.parent, strip)
    earlier = read_profile(profile_path) if profile_path else None
    opened = open_photos(photo, darker_path, limit_mp or DEFAULT_LIMIT_MP) if photo else None
    typed = by_hand.typed(strip, read_readings(readings), unit or _UNITS[0]) if readings else None
    with ProgressBar() as report_progress:
        learnt = judge_photo.learn(
            strip,
            look,
            photo=None if opened is None else opened.first.pixels,
            darker=None if opened is None else opened.darker,
            measured=typed,
            source="" if opened is None else opened.names,
            choose=None if choose is None else choose - 1,
            date=datetime.now().astimezone().date().isoformat(),
            earlier=earlier,
            progress=report_progress,
        )
    profile = learnt.judgement.profile
    if picture is not None and learnt.reading is not None:
        pitch_mm = 1.0 / learnt.reading.picture_px_per_mm
        files.write_rgb8(
            learnt.reading.picture, picture, pitch_mm, overwrite=replace, photo_path=photo
        )
    if report is not None:
        text = json.dumps(judge_photo.report(learnt), indent=2, ensure_ascii=False) + "\n"
        write_text(text, report, overwrite=replace, photo_path=photo)
    write_text(dump_profile(profile), output, overwrite=replace, photo_path=photo)
    click.echo(_told(output, strip, learnt.judgement.chosen.reason, profile))
    of_photo = () if learnt.reading is None else learnt.reading.warnings
    for warning in (*learnt.judgement.warnings, *of_photo):
        click.echo(f"Warning: {warning}", err=True)
    if learnt.reading is not None:
        for note in learnt.reading.notes:
            click.echo(f"Note: {note}", err=True)
    return 0


def _check_source(
    photo: Path | None,
    readings: Path | None,
    picture: Path | None,
    darker: Path | None,
    unit: str | None,
) -> None:
    if (photo is None) == (readings is None):
        raise InputError("Give a photo of the strip, or a file of readings: one of the two.")
    if photo is not None and unit is not None:
        raise InputError("A photo has no unit, only readings have one; leave --unit out.")
    if photo is None and picture is not None:
        raise InputError("There is no picture without a photo; leave --picture out.")
    if picture is not None and picture.suffix.lower() != ".png":
        raise OutputError("The picture is a PNG file; let its name end in .png.")
    if photo is None and darker is not None:
        raise InputError("A darker photo is read beside another one; give that photo first.")


def _check_targets(
    paths: tuple[Path | None, ...], sources: dict[Path | None, str], replace: bool
) -> None:
    """Raise OutputError before any work when a file could not be written, or is read.

    sources: what to say of the files that are read.
    """
    wanted = [path for path in paths if path is not None]
    if len({path.resolve() for path in wanted}) < len(wanted):
        raise OutputError("Two of the files to write have the same name; give each its own.")
    for path in wanted:
        for source, what in sources.items():
            if source is not None:
                spare(path, source, what)
        allowed_target(path, overwrite=replace)


def _told(output: Path, strip: Strip, reason: str, profile: GlassProfile) -> str:
    setting = profile.setting
    return (
        f"{output}: test strip {strip.number}. Best: {setting.power_max_pct:g} to "
        f"{setting.power_min_pct:g} % at {setting.speed_mm_s:g} mm/s. {reason}"
    )
