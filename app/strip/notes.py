"""What the window keeps of a strip beside its files: photo, corrections, choice, step."""

import contextlib
import json
from pathlib import Path
from typing import Any

import attrs

from engine.output import write_text
from engine.strip.corrections import Corrections
from shared.errors import RimetypeError

NOTES = "window-notes.json"


@attrs.frozen
class Notes:
    """Plain data."""

    photo: Path | None = None
    corrections: Corrections = attrs.field(factory=Corrections)
    choice: int | None = None
    step: str = "make"


def write_notes(notes: Notes, folder: Path) -> None:
    """Keep notes in the strip's folder; where that cannot be, they are not kept."""
    document = {
        "photo": str(notes.photo) if notes.photo else None,
        "frost": {str(n): value for n, value in notes.corrections.frost.items()},
        "used": {str(n): on for n, on in notes.corrections.used.items()},
        "choice": notes.choice,
        "step": notes.step,
    }
    with contextlib.suppress(RimetypeError):
        write_text(json.dumps(document, indent=1) + "\n", folder / NOTES, overwrite=True)


def read_notes(folder: Path, patches: int, runs: int) -> Notes:
    """The notes of a strip with so many patches and runs; what is damaged counts as absent."""
    try:
        data = json.loads((folder / NOTES).read_text(encoding="utf-8"))
        return _notes(data, patches, runs)
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return Notes()


def _notes(data: Any, patches: int, runs: int) -> Notes:
    frost = {int(n): float(value) for n, value in data["frost"].items() if int(n) < patches}
    used = {int(n): bool(on) for n, on in data["used"].items() if int(n) < patches}
    choice = data["choice"]
    return Notes(
        Path(data["photo"]) if data["photo"] else None,
        Corrections(frost, used),
        choice if isinstance(choice, int) and 0 <= choice < runs else None,
        str(data["step"]),
    )
