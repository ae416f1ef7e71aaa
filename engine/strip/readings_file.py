"""A file of readings: text with one line a patch, its number and its value.

Patches are counted from 1 in the strip's order. Number and value are kept apart by a semicolon or a
tab, or else by a comma: `12;0,35` and `12,0.35` say the same. What follows a # is skipped.
"""

import math
from pathlib import Path

from shared import units
from shared.errors import InputError

_MARKS = (";", "\t")


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
        if patch - 1 in found:
            raise InputError(f"Patch {patch} is read twice in the readings; keep one.")
        found[patch - 1] = value
    return found


def _parsed(line: str, number: int) -> tuple[int, float]:
    """Patch, counted from 1, and value."""
    words = line.split(next((mark for mark in _MARKS if mark in line), ","))
    try:
        patch, value = words
        found = int(patch), units.parse_number(value)
    except ValueError:
        raise InputError(
            f"Line {number} of the readings must hold a patch's number and its value alone, "
            "such as 12,0.35 or 12;0,35."
        ) from None
    if not math.isfinite(found[1]):
        raise InputError(f"The reading of patch {found[0]} is not a number.")
    return found
