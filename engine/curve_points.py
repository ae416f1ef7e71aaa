"""Curves of a glass profile as plain lists, for plots with a scale in J/mm2 or in drive."""

from collections.abc import Sequence

import attrs
import numpy as np

from engine.linearise import tone_curve
from engine.response import Doubles, frost_of_fluence
from shared.profile import GlassProfile
from shared.recipe import Screen

Points = tuple[tuple[float, float], ...]


def characteristic_points(
    profile: GlassProfile, low: float, high: float, count: int = 300
) -> Points:
    """(fluence in J/mm2, frost 0 to 1) at places even in log10 fluence from `low` to `high`."""
    fluences = np.geomspace(low, high, count)
    return _pairs(fluences, frost_of_fluence(fluences, profile))


def tones_along_fluence(
    counts: Sequence[float], profile: GlassProfile, low: float, high: float, bins: int = 96
) -> tuple[float, ...]:
    """How many tones need a fluence in each of `bins` parts of log10 fluence, low to high.

    `counts` holds how often each frost comes, at even frosts from 0 to 1. Bare glass, the first,
    needs no fluence and is left out; what the curve does not reach is counted where it is fullest.
    """
    often = np.asarray(counts, np.float64)
    steps = often.size - 1
    edges = np.append((np.arange(1, steps + 1) - 0.5) / steps, 1.0)
    below = np.concatenate([[0.0], np.cumsum(often[1:])])
    frost = frost_of_fluence(np.geomspace(low, high, bins + 1), profile)
    reached = np.maximum.accumulate(frost)
    found = np.diff(np.interp(reached, edges, below))
    found[0] += np.interp(reached[0], edges, below)
    found[max(int(np.argmax(reached)) - 1, 0)] += below[-1] - np.interp(reached[-1], edges, below)
    return tuple(float(value) for value in found)


@attrs.frozen
class TonePoints:
    """A screen's tone curve: (drive, frost), both 0 to 1, and whether it was measured.

    `least` is the frost of the lightest tone that can be made.
    """

    points: Points
    least: float
    measured: bool


def tone_points(
    profile: GlassProfile, screen: Screen, pitch_mm: float, count: int = 129
) -> TonePoints:
    """The tone curve of a screen on a glass, from the lightest tone that can be made."""
    curve = tone_curve(profile, screen, pitch_mm)
    chosen = np.unique(np.linspace(1, curve.drives.size - 1, count).round().astype(int))
    points = _pairs(curve.drives[chosen], curve.frost[chosen])
    return TonePoints(points, curve.least, curve.measured)


def _pairs(xs: Doubles, ys: Doubles) -> Points:
    return tuple(zip(xs.tolist(), ys.tolist(), strict=True))
