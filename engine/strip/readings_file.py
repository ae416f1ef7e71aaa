"""A file of readings: text with one line a patch, its number and its value.

Patches are counted from 1 in the strip's order. Number and value are kept apart by a semicolon or a
tab, or else by a comma: `12;0,35` and `12,0.35` say the same. What follows a # is skipped, and so
is a patch without a value.
"""

import math
from pathlib import Path

from engine.strip.labels import setting_text
from shared import units
from shared.errors import InputError
from shared.strip import Patch, Strip

_MARKS = (";", "\t")
_HEAD = """\
# Readings of test strip {}: one value for each patch.
# Write it between the two semicolons of its line. Leave the line of a patch that is not read.
# Frost and reflectance are written as shares: 0.54 and not 54 %. Bare glass and the solid patches
# tell most and then the powers and dots of setting 1.
# Patches are counted from 1 row by row from the top left as the strip is seen from the front.
# Each line ends with what was burnt and where the middle of the patch lies: how many mm from the
# left edge of the glass and how many from its top edge.
"""
"""Without commas and semicolons, which a spreadsheet would take for ends of cells."""


def fill_in(strip: Strip) -> str:
    """The text of a file in which the values are still to be written, one line for each patch."""
    lines = [_line(strip, *numbered) for numbered in enumerate(strip.patches, start=1)]
    return _HEAD.format(strip.number) + "".join(f"{line}\n" for line in lines)


def _line(strip: Strip, number: int, patch: Patch) -> str:
    across = patch.box.left_mm + patch.box.width_mm / 2.0
    down = patch.box.top_mm + patch.box.height_mm / 2.0
    place = f"at {across:.1f} and {down:.1f} mm"
    setting = f"of setting {patch.run + 1} ({setting_text(strip.runs[patch.run])})"
    drive = f"at {units.percent(patch.drive)} drive"
    match patch.kind:
        case "bare":
            return f"{number};;# bare glass {place}"
        case "solid":
            return f"{number};;# solid {setting} {place}"
        case "lines":
            return f"# {number} has no tone to read: lines {setting} {place}"
        case _:
            return f"{number};;# {patch.screen or patch.kind} {drive} {setting} {place}"


def read_readings(path: Path) -> dict[int, float]:
    """Readings by patch, counted from 0, from a file in UTF-8. Raises InputError."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError:
        raise InputError(f"The readings {path} cannot be read; check the file's name.") from None
    except UnicodeDecodeError:
        raise InputError(
            f"The readings {path} are no plain text in UTF-8; save them as such."
        ) from None
    return parse_readings(text)


def parse_readings(text: str) -> dict[int, float]:
    """Readings by patch, counted from 0, from a file's text. Raises InputError."""
    found: dict[int, float] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        told = line.split("#")[0]
        if not told.strip():
            continue
        patch, value = _parsed(told, number)
        if value is None:
            continue
        if patch - 1 in found:
            raise InputError(f"Patch {patch} is read twice in the readings; keep one.")
        found[patch - 1] = value
    return found


def _parsed(line: str, number: int) -> tuple[int, float | None]:
    """Patch, counted from 1, and value, None where none was written."""
    first, *rest = line.split(next((mark for mark in _MARKS if mark in line), ","))
    while len(rest) > 1 and not rest[-1].strip():
        rest.pop()
    if any("%" in word for word in rest):
        raise InputError(
            f"Line {number} of the readings has a percentage; write it as a share, such as 0.54 "
            "for 54 %."
        )
    try:
        patch, (word,) = int(first), rest
        value = units.parse_number(word) if word.strip() else None
    except ValueError:
        raise InputError(
            f"Line {number} of the readings must hold a patch's number and its value alone, "
            "such as 12,0.35 or 12;0,35."
        ) from None
    if value is not None and not math.isfinite(value):
        raise InputError(f"The reading of patch {patch} is not a number.")
    return patch, value
