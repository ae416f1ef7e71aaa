"""What the window keeps of a strip beside its files: photo, corrections, choice, step."""

import contextlib
import json
import math
from pathlib import Path
from typing import Any

import attrs

from engine.strip.by_hand import UNITS
from engine.strip.corrections import EYE, Corrections
from shared.atomic import write_text
from shared.errors import RimetypeError
from shared.strip import Strip

NOTES = "window-notes.json"
_DAMAGED = (
    OSError, ValueError, TypeError, KeyError, AttributeError, OverflowError, RecursionError
)  # fmt: skip


@attrs.frozen
class Notes:
    """Plain data."""

    photo: Path | None = None
    darker: Path | None = None
    """A second photo, by which the camera's tones are measured."""
    corrections: Corrections = attrs.field(factory=Corrections)
    choice: int | None = None
    step: str = "make"

    def uncorrected(self) -> "Notes":
        """As it was read; what typed values are stays, and the grey scale."""
        now = self.corrections
        return attrs.evolve(self, corrections=Corrections(unit=now.unit, scale=now.scale))


def write_notes(notes: Notes, folder: Path, strip: Strip) -> None:
    """Keep notes in the strip's folder; where that cannot be, they are not kept."""
    document = {
        "strip": strip.number,
        "photo": str(notes.photo) if notes.photo else None,
        "darker": str(notes.darker) if notes.darker else None,
        "values": {str(n): value for n, value in notes.corrections.values.items()},
        "used": {str(n): on for n, on in notes.corrections.used.items()},
        "unit": notes.corrections.unit,
        "scale": list(notes.corrections.scale),
        "choice": notes.choice,
        "step": notes.step,
    }
    with contextlib.suppress(RimetypeError):
        write_text(json.dumps(document, indent=1) + "\n", folder / NOTES, overwrite=True)


def read_notes(folder: Path, strip: Strip) -> Notes:
    """The notes of a strip; what is damaged, or another strip's, counts as absent."""
    try:
        data = json.loads((folder / NOTES).read_text(encoding="utf-8"))
        return _notes(data, len(strip.patches), len(strip.runs), strip.number)
    except _DAMAGED:
        return Notes()


def _notes(data: Any, patches: int, runs: int, number: int) -> Notes:
    if data["strip"] != number:
        return Notes()
    values = {int(n): float(value) for n, value in data["values"].items() if int(n) < patches}
    used = {int(n): bool(on) for n, on in data["used"].items() if int(n) < patches}
    unit, choice = data["unit"], data["choice"]
    if unit not in (*UNITS, EYE) or not all(map(math.isfinite, values.values())):
        raise ValueError("no note of this window")
    return Notes(
        Path(data["photo"]) if data["photo"] else None,
        Path(data["darker"]) if data.get("darker") else None,
        Corrections(values, used, unit, data["scale"]),
        choice if isinstance(choice, int) and 0 <= choice < runs else None,
        str(data["step"]),
    )
