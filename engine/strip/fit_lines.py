"""The spread of fracture, from how much the line patches still swing."""

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from engine import burning
from engine.strip.fit_gains import set_to
from engine.strip.fit_values import LineValue
from shared.profile import GlassProfile
from shared.strip import Patch, Strip

Doubles = NDArray[np.float64]

SPREADS_MM = np.linspace(0.0, 0.3, 61)
SIDE_PX = 96
RIM_PX = 16
LEAST_ERROR = 0.04
"""No modulation is known better than this."""
GUESSED_MM = 0.04
"""Standard error of the spread that was thought before."""


@attrs.frozen
class SpreadFit:
    """Standard deviation of the spread, and its standard error, mm."""

    spread_mm: float
    error_mm: float


def fit_spread(
    strip: Strip, lines: Sequence[LineValue], profile: GlassProfile, full: float
) -> SpreadFit | None:
    """The spread with which the model shows the lines as softly as they were read; None without.

    `profile` has the fitted characteristic curve; each patch is burnt on the model with its own
    run's setting. Least squares over a grid of spreads; the error is where the misfit rises by
    its value per reading. The spread that `profile` had before counts as one reading more, since
    the camera's own blur leaves fine lines uncertain.
    """
    if not lines:
        return None
    models = {run: set_to(profile, r, strip.pitch_mm) for run, r in enumerate(strip.runs)}
    found = np.array([line.modulation / full for line in lines])
    errors = np.array([max(line.error / full, LEAST_ERROR) for line in lines])
    sharp = [_sharp(strip.patches[line.patch], models, strip.pitch_mm) for line in lines]
    waves = np.array([strip.patches[line.patch].lines_per_mm for line in lines])
    softened = np.exp(-2.0 * np.square(np.pi * np.outer(SPREADS_MM, waves)))
    misfit = np.square((softened * np.array(sharp) - found) / errors).clip(max=9.0).sum(axis=1)
    misfit += np.square((SPREADS_MM - profile.spread_mm) / GUESSED_MM)
    best = int(np.argmin(misfit))
    allowed = misfit[best] + max(1.0, float(misfit[best]) / len(lines))
    near = SPREADS_MM[misfit <= allowed]
    half = max(float(np.ptp(near)) / 2.0, float(SPREADS_MM[1]))
    return SpreadFit(float(SPREADS_MM[best]), half)


def _sharp(patch: Patch, models: dict[int, GlassProfile], pitch_mm: float) -> float:
    """Peak to peak of the lines' fundamental after the beam, before the spread."""
    period = 1.0 / (patch.lines_per_mm * pitch_mm)
    on = ((np.arange(SIDE_PX) + 0.5) % period < period / 2.0).astype(np.uint8) * np.uint8(255)
    row = on[None, :] if patch.upright else on[:, None]
    codes = np.ascontiguousarray(np.broadcast_to(row, (SIDE_PX, SIDE_PX)))
    sharp = attrs.evolve(models[patch.run], spread_mm=0.0)
    burnt = burning.burn_codes(codes, sharp, pitch_mm)[RIM_PX:-RIM_PX, RIM_PX:-RIM_PX]
    line = burnt.mean(axis=0 if patch.upright else 1).astype(np.float64)
    places = np.arange(line.size)
    waves = np.stack([np.ones(line.size), *_turns(places, period)], axis=1)
    _, cosine, sine = np.linalg.lstsq(waves, line, rcond=None)[0]
    return float(2.0 * np.hypot(cosine, sine))


def _turns(places: NDArray[np.int64], period: float) -> tuple[Doubles, Doubles]:
    angle = 2.0 * np.pi * places / period
    return np.cos(angle), np.sin(angle)
