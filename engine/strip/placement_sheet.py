"""The placement sheet: one page for the person at the machine."""

import numpy as np
from numpy.typing import NDArray

from engine.kinematics import plate_time_s
from engine.output import Bitmap
from engine.strip.placement_page import A4_MM, Page, columns
from shared import units
from shared.paths import RESOURCES
from shared.profile import GlassProfile
from shared.strip import Strip

_EDGE = 14.0
_TEXT, _SMALL, _TITLE = 3.4, 2.9, 6.5
_PICTURE_WIDTH, _PICTURE_HEIGHT = 76.0, 116.0
_COLUMNS = ("Run", "Greatest", "Least", "Speed", "About", "File")
_COLUMN_GAP = 2.5
_TABLE_GAP = 5.0


def placement_sheet(strip: Strip, bitmaps: tuple[Bitmap, ...], profile: GlassProfile) -> bytes:
    """The page as a PDF file.

    bitmaps: one for each run. profile: says the machine, for the times.
    """
    page = Page()
    laid_out(page, strip, bitmaps, profile)
    return page.pdf(f"Placement sheet of test strip {strip.number}")


def laid_out(page: Page, strip: Strip, bitmaps: tuple[Bitmap, ...], profile: GlassProfile) -> float:
    """Fill the page; returns where it ends, in mm from the top."""
    y = _head(page, strip, profile)
    y = _steps(page, strip, y + 2.0)
    bottom_table = _table(page, strip, bitmaps, profile, y + 4.0)
    bottom_picture = _picture(page, strip, bitmaps, y + 4.0, bottom_table)
    return _cautions(page, max(bottom_table, bottom_picture) + 5.0)


def cautions() -> list[str]:
    """The usual cautions as plain paragraphs, the heading first."""
    text = (RESOURCES / "cautions.md").read_text(encoding="utf-8")
    lines = (line.replace("**", "").strip() for line in text.splitlines())
    return [line.lstrip("# ") for line in lines if line]


def run_time_s(strip: Strip, number: int, bitmap: Bitmap, profile: GlassProfile) -> float:
    """How long a run takes: the lines and the width that its bitmap burns; the rest is skipped."""
    burnt = bitmap.pixels < 255
    rows, columns = (np.flatnonzero(burnt.any(axis=axis)) for axis in (1, 0))
    if not rows.size:
        return 0.0
    width_mm = float(columns[-1] - columns[0] + 1) * bitmap.pitch_mm
    return plate_time_s(
        width_mm,
        int(rows[-1] - rows[0] + 1),
        strip.runs[number].speed_mm_s,
        profile.machine.acceleration_mm_s2,
        profile.setting.both_directions,
    )


def _head(page: Page, strip: Strip, profile: GlassProfile) -> float:
    page.text(
        _EDGE, _EDGE + _TITLE, f"Test strip {strip.number}: placement sheet", _TITLE, bold=True
    )
    width, height = strip.size_mm
    y = _EDGE + _TITLE + 4.0
    facts = (
        f"Scrap of {width:g} x {height:g} mm, {profile.sheet.kind}, "
        f"{profile.sheet.thickness_mm:g} mm; etched on the {strip.etched}. "
        f"{profile.machine.name}, {profile.machine.rated_w:g} W. "
        f"Pitch {strip.pitch_mm:g} mm."
    )
    y = page.paragraph(_EDGE, y, A4_MM[0] - 2.0 * _EDGE, facts, _TEXT)
    page.line(_EDGE, y + 1.5, A4_MM[0] - _EDGE, y + 1.5, 0.4)
    return y + 1.5


def _steps(page: Page, strip: Strip, y: float) -> float:
    handed = "mirrored" if strip.etched == "back" else "the right way round"
    ways = "both directions" if strip.profile["setting"]["both_directions"] else "one direction"
    steps = (
        (
            f"1. Lay the scrap in the machine with its {strip.etched} towards the laser and fix "
            "it: it must not move until all runs are burnt. Focus as you will for the portrait."
        ),
        (
            "2. Burn the runs in the order of the table, each with its own setting and all with "
            "the same zero point, the marked corner. Every file covers the whole scrap and is "
            f"{handed} already: do not mirror, invert, scale or crop it."
        ),
        (
            f"3. Burn in {ways}. Black is the greatest power, white is none, and the power follows "
            "the grey in a straight line down to the least power at the lightest grey."
        ),
        (
            "4. Wipe the glass wet and dry it, lay it on black with the unetched side up, and "
            "photograph it straight from above, all four corners in view, without flash or glare."
        ),
    )
    if strip.etched == "front":
        steps = (*steps[:3], steps[3].replace("unetched", "etched"))
    for step in steps:
        y = page.paragraph(_EDGE, y + 1.0, A4_MM[0] - 2.0 * _EDGE, step, _TEXT)
    return y


def _table(
    page: Page, strip: Strip, bitmaps: tuple[Bitmap, ...], profile: GlassProfile, top: float
) -> float:
    left, right = _EDGE + _PICTURE_WIDTH + _TABLE_GAP, A4_MM[0] - _EDGE
    rows = [_COLUMNS]
    for number, (run, bitmap) in enumerate(zip(strip.runs, bitmaps, strict=True)):
        seconds = run_time_s(strip, number, bitmap, profile)
        rows.append(
            (
                str(number + 1),
                f"{run.power_max_pct:g} %",
                f"{run.power_min_pct:g} %",
                f"{run.speed_mm_s:g} mm/s",
                units.duration(max(1, round(seconds / 60.0))),
                run.file,
            )
        )
    size, lefts = columns(rows, right - left, _SMALL, _COLUMN_GAP)
    y = top + _TEXT
    for number, row in enumerate(rows):
        for text, offset in zip(row, lefts, strict=True):
            page.text(left + offset, y, text, size, bold=not number)
        if not number:
            page.line(left, y + 1.3, right, y + 1.3)
        y += 5.2
    y += 1.6 - 5.2
    page.line(left, y, right, y)
    return y


def _picture(
    page: Page, strip: Strip, bitmaps: tuple[Bitmap, ...], top: float, least: float
) -> float:
    width, height = strip.size_mm
    room = max(_PICTURE_HEIGHT, least - top) - 12.0
    scale = min(_PICTURE_WIDTH / width, room / height)
    wide, tall = width * scale, height * scale
    x, y = _EDGE, top + 9.0
    page.text(x, top + _TEXT, "As the machine sees it", _SMALL, bold=True)
    page.polygon((x - 1.0, y - 1.0), (x - 1.0, y - 5.0), (x - 5.0, y - 1.0))
    page.text(x + 1.0, y - 1.5, "zero point of every run", _SMALL)
    page.picture(x, y, wide, tall, _together(bitmaps))
    for ends in ((x, y, x + wide, y), (x, y, x, y + tall)):
        page.line(*ends, 0.5)
    page.line(x + wide, y, x + wide, y + tall)
    page.line(x, y + tall, x + wide, y + tall)
    return y + tall


def _cautions(page: Page, y: float) -> float:
    heading, *paragraphs = cautions()
    page.text(_EDGE, y + _TEXT, heading, _TEXT, bold=True)
    y += _TEXT + 2.0
    for paragraph in paragraphs:
        y = page.paragraph(_EDGE, y + 0.6, A4_MM[0] - 2.0 * _EDGE, paragraph, _SMALL)
    return y


def _together(bitmaps: tuple[Bitmap, ...]) -> NDArray[np.uint8]:
    """All runs in one picture, laid over it one by one, since they are large."""
    together = bitmaps[0].pixels.copy()
    for bitmap in bitmaps[1:]:
        np.minimum(together, bitmap.pixels, out=together)
    return together
