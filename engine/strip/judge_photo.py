"""What window and command share: from a photo of the strip, or readings, to a judgement."""

from pathlib import Path
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.photo import open_photo
from engine.progress import Progress, part, unheard
from engine.strip.exposures import Darker
from engine.strip.fit import planned_profile
from engine.strip.fit_merge import check_refines
from engine.strip.fit_values import Measured, measured_of
from engine.strip.judge import Judgement, judge
from engine.strip.judge import report as report_of
from engine.strip.read import read_photo
from engine.strip.read_result import Reading
from shared.errors import InputError
from shared.profile import GlassProfile
from shared.strip import Strip
from shared.units import pixel_count

_LONGEST_SOURCE = 80
_READ = 0.25
"""Share of the progress at which the photo is read."""


@attrs.frozen(eq=False)
class Learnt:
    """What one strip taught. `reading` is None when nothing was photographed."""

    strip: Strip
    measured: Measured
    look: NDArray[np.uint16]
    """Of one cell."""
    judgement: Judgement
    reading: Reading | None
    date: str = ""
    earlier: GlassProfile | None = None

    def chosen(self, run: int) -> "Learnt":
        """The same, overruled by the user's eye."""
        judgement = judge(
            self.strip,
            self.measured,
            self.look,
            self.reading,
            choose=run,
            date=self.date,
            earlier=self.earlier,
        )
        return attrs.evolve(self, judgement=judgement)


def learn(
    strip: Strip,
    look: NDArray[np.uint16],
    *,
    photo: NDArray[Any] | None = None,
    darker: Darker | None = None,
    measured: Measured | None = None,
    source: str = "",
    choose: int | None = None,
    date: str = "",
    earlier: GlassProfile | None = None,
    progress: Progress | None = None,
) -> Learnt:
    """Read a photo (rows x columns x 3, sRGB; perhaps with a `darker` one, by which the camera's
    tones are measured) or take what was `measured`, and judge it.

    progress: called with the share that is done, 0 to 1; may raise `Cancelled`.

    Raises Refusal (a PhotoError) for a photo that cannot be trusted and InputError for figures
    that are too few, or for an earlier profile of another machine or glass.
    """
    if earlier is not None:
        check_refines(earlier, planned_profile(strip))
    reading, before = None, 0.0
    report = progress or unheard
    if photo is not None:
        before = _READ
        reading = read_photo(photo, strip, darker=darker, progress=part(report, 0.0, _READ))
        measured = measured_of(reading, strip, source[:_LONGEST_SOURCE])
    if measured is None:
        raise InputError("Give a photo of the strip, or readings of its patches.")
    found = judge(
        strip,
        measured,
        look,
        reading,
        choose=choose,
        date=date,
        earlier=earlier,
        progress=part(report, before, 1.0),
    )
    return Learnt(strip, measured, look, found, reading, date, earlier)


def read_look(folder: Path, strip: Strip) -> NDArray[np.uint16]:
    """The look of a cell, uint16, rows x columns, from beside the strip's file. Raises PhotoError
    where it cannot be opened and InputError where it is not of the cells' size."""
    path = folder / strip.cell_look
    pixels = open_photo(path).pixels[:, :, 0]
    for box in (cell.box for cell in strip.cells):
        sides = (pixel_count(side, strip.pitch_mm) for side in (box.height_mm, box.width_mm))
        if pixels.shape != tuple(sides):
            raise InputError(
                f"{path.name} is not of the size of this strip's cells; put the file there that "
                "was made with the strip, or make the strip again."
            )
    return pixels if pixels.dtype == np.uint16 else pixels.astype(np.uint16) * np.uint16(257)


def report(learnt: Learnt) -> dict[str, Any]:
    """Everything as plain data: `best`, `ranking`, the fit's uncertainty and what was read."""
    fit = learnt.judgement.chosen.fit
    data = report_of(learnt.judgement, learnt.strip)
    data["strip"] = learnt.strip.number
    data["fit"] = {
        "curve_error": round(fit.curve_error, 5),
        "reciprocity": round(fit.power.reciprocity, 4),
        "reciprocity_error": _finite(fit.power.reciprocity_error),
        "flaking_j_mm2": round(fit.power.flaking_j_mm2, 4) if fit.power.flakes else None,
        "spread_mm": None if fit.spread is None else fit.spread.spread_mm,
        "spread_error_mm": None if fit.spread is None else fit.spread.error_mm,
        "lag_ms": None if fit.spread is None else fit.spread.lag_ms,
        "lag_error_ms": None if fit.spread is None else fit.spread.lag_error_ms,
        "bare_over_full": learnt.measured.bare_over_full,
        "patches_read": learnt.measured.patches_read,
        "patches_left_out": [n + 1 for n in fit.bad],
    }
    if learnt.reading is not None:
        data["photo"] = {
            "px_per_mm": round(learnt.reading.px_per_mm, 2),
            "tilt_deg": round(learnt.reading.tilt_deg, 1),
            "turn_deg": round(learnt.reading.turn_deg, 1),
            "blur_mm": round(learnt.reading.blur_mm, 3),
            "side": learnt.reading.side,
            "style": round(learnt.reading.style, 3),
            "bend_l": _finite(learnt.reading.bend_l),
            "veil": round(learnt.reading.veil, 4),
            "warnings": list(learnt.reading.warnings),
            "notes": list(learnt.reading.notes),
        }
    return data


def _finite(value: float | None) -> float | None:
    return None if value is None or not np.isfinite(value) else round(value, 4)
