"""The spread of fracture and the lag of the tube, from how much the line patches still swing."""

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
LAGS_MS = np.linspace(0.0, 0.6, 61)
_BURNT_LAGS_MS = np.linspace(0.0, 0.6, 13)
"""Those that are burnt on the model; between them the swing hardly bends."""
SIDE_PX, SHORT_PX, RIM_PX = 96, 40, 16
"""Of a burnt patch across its lines and along them; and what its border may disturb."""
MOST_MODULATION = 4.0 / np.pi
"""The fundamental of full square lines; nothing between bare and solid has more."""
LEAST_ERROR = 0.04
"""No modulation is known better than this."""
LEAST_LAG_ERROR_MS = 0.04
"""Of a lag; a phone's blur is not quite the same both ways (virtual photos)."""
GUESSED_MM, GUESSED_MS = 0.04, 0.3
"""Standard errors of the spread and of the lag that were thought before."""


@attrs.frozen
class SpreadFit:
    """Standard deviation of the spread, mm, and the lag, ms, each with its standard error."""

    spread_mm: float
    error_mm: float
    lag_ms: float
    lag_error_ms: float


def fit_spread(
    strip: Strip, lines: Sequence[LineValue], profile: GlassProfile, full: float
) -> SpreadFit | None:
    """The spread and the lag with which the model shows the lines as softly as they were read;
    None without lines.

    `profile` has the fitted characteristic curve; each patch is burnt on the model with its own
    run's setting. Lines across the scan fade by both, lines along it by the spread alone, so their
    ratio tells the lag, whatever the camera's blur; the spread follows with that lag. Least
    squares over a grid of each; an error is where the misfit rises by its value per reading. What
    `profile` had before counts as one reading more, since the camera's own blur leaves fine lines
    uncertain.
    """
    if not lines:
        return None
    swings = _Swings(profile, strip)
    lag, lag_error = _best(LAGS_MS, *_lag_misfit(strip, lines, profile, swings))
    lag_error = max(lag_error, LEAST_LAG_ERROR_MS)
    misfit = np.square((SPREADS_MM - profile.spread_mm) / GUESSED_MM)
    for line in lines:
        patch = strip.patches[line.patch]
        wave = np.square(np.pi * patch.lines_per_mm * SPREADS_MM)
        swing = np.exp(-2.0 * wave) * swings.of(patch)[np.argmin(np.abs(LAGS_MS - lag))]
        error = max(line.error / full, LEAST_ERROR)
        found = min(line.modulation, MOST_MODULATION) / full
        misfit += np.square((swing - found) / error).clip(max=9.0)
    spread, spread_error = _best(SPREADS_MM, misfit, len(lines))
    return SpreadFit(spread, spread_error, lag, lag_error)


def _lag_misfit(
    strip: Strip, lines: Sequence[LineValue], profile: GlassProfile, swings: "_Swings"
) -> tuple[Doubles, int]:
    """For each of LAGS_MS, from lines of one kind both ways; and how many kinds there were."""
    misfit = np.square((LAGS_MS - profile.machine.lag_ms) / GUESSED_MS)
    read: dict[tuple[int, float], dict[bool, list[LineValue]]] = {}
    for line in lines:
        patch = strip.patches[line.patch]
        ways = read.setdefault((patch.run, patch.lines_per_mm), {True: [], False: []})
        ways[patch.upright].append(line)
    pairs = [ways for ways in read.values() if ways[True] and ways[False]]
    for ways in pairs:
        up, lying = (ways[True], ways[False])
        found = _mean(up) / max(_mean(lying), LEAST_ERROR)
        model = swings.of(strip.patches[up[0].patch]) / swings.of(strip.patches[lying[0].patch])
        error = LEAST_ERROR * np.sqrt(1.0 / len(up) + 1.0 / len(lying))
        misfit += np.square((model - found) / error).clip(max=9.0)
    return misfit, len(pairs)


def _mean(lines: Sequence[LineValue]) -> float:
    return float(np.mean([line.modulation for line in lines]))


def _best(values: Doubles, misfit: Doubles, count: int) -> tuple[float, float]:
    """The value that fits best, and half the range of those that fit as well."""
    least = float(misfit.min())
    near = values[misfit <= least + max(1.0, least / max(count, 1))]
    return float(values[misfit.argmin()]), max(float(np.ptp(near)) / 2.0, float(values[1]))


class _Swings:
    """How much lines swing on the model without spread, for each lag; every kind computed once."""

    def __init__(self, profile: GlassProfile, strip: Strip) -> None:
        sharp = attrs.evolve(profile, spread_mm=0.0)
        self._models = [set_to(sharp, run, strip.pitch_mm) for run in strip.runs]
        self._pitch_mm = strip.pitch_mm
        self._known: dict[tuple[int, float, bool], Doubles] = {}

    def of(self, patch: Patch) -> Doubles:
        """Peak to peak of the fundamental, for each of LAGS_MS."""
        kind = patch.run, patch.lines_per_mm, patch.upright
        if kind not in self._known:
            lags = _BURNT_LAGS_MS if patch.upright else _BURNT_LAGS_MS[:1]
            found = [_swing(patch, self._lagging(patch.run, lag), self._pitch_mm) for lag in lags]
            self._known[kind] = np.interp(LAGS_MS, lags, found)
        return self._known[kind]

    def _lagging(self, run: int, lag_ms: float) -> GlassProfile:
        model = self._models[run]
        return attrs.evolve(model, machine=attrs.evolve(model.machine, lag_ms=float(lag_ms)))


def _swing(patch: Patch, model: GlassProfile, pitch_mm: float) -> float:
    """Peak to peak of the lines' fundamental on a model."""
    period = 1.0 / (patch.lines_per_mm * pitch_mm)
    on = ((np.arange(SIDE_PX) + 0.5) % period < period / 2.0).astype(np.uint8) * np.uint8(255)
    row = on[None, :] if patch.upright else on[:, None]
    shape = (SHORT_PX, SIDE_PX) if patch.upright else (SIDE_PX, SHORT_PX)
    codes = np.ascontiguousarray(np.broadcast_to(row, shape))
    burnt = burning.burn_codes(codes, model, pitch_mm)[RIM_PX:-RIM_PX, RIM_PX:-RIM_PX]
    line = burnt.mean(axis=0 if patch.upright else 1).astype(np.float64)
    places = np.arange(line.size)
    waves = np.stack([np.ones(line.size), *_turns(places, period)], axis=1)
    _, cosine, sine = np.linalg.lstsq(waves, line, rcond=None)[0]
    return float(2.0 * np.hypot(cosine, sine))


def _turns(places: NDArray[np.int64], period: float) -> tuple[Doubles, Doubles]:
    angle = 2.0 * np.pi * places / period
    return np.cos(angle), np.sin(angle)
