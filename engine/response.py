"""The characteristic curve: frost against log10 fluence, with threshold, shoulder and flaking."""

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.filters import Floats
from engine.monotone import monotone_curve, rising
from shared.profile import GlassProfile

Doubles = NDArray[np.float64]

TOE_DECADES = 0.15
"""Below its first measured point a curve falls to bare glass within this many decades."""
FLAKED_OFF = 0.02
"""Share of its frost by which flaking is worth a word: about half an L* at the top."""
_TINY = 1e-9


def frost_of_fluence(fluence: Any, profile: GlassProfile) -> Doubles:
    """Frost, 0 to 1, of solid patches at a fluence in J/mm2 (any shape, 0 or more).

    Measured: a monotone cubic (Fritsch and Carlson 1980) through the measured points against
    log10 fluence, smoothed to rise. Not measured: the profile's logistic, the usual form of a
    characteristic curve (Hurter and Driffield 1890: toe, straight part, shoulder), cut off at the
    threshold. Beyond the flaking fluence frost is lost again.
    """
    dose = np.asarray(fluence, np.float64)
    logs = np.log10(np.maximum(dose, _TINY))
    rise = _measured(logs, profile) if profile.measured_curve else _logistic(logs, profile)
    shape = profile.response
    flaking = float(np.log10(shape.flaking_j_mm2))
    frost = rise / flaking_divisor(logs, flaking, shape.flaking_decades)
    return np.where(dose > _TINY, np.clip(frost, 0.0, 1.0), 0.0)


def flaking_divisor(logs: Doubles, flaking: float, decades: float) -> Doubles:
    """By how much flaking divides frost at log10 fluences, 1 up to the log10 flaking fluence and 2
    so many decades beyond it."""
    beyond = np.maximum(logs - flaking, 0.0) / decades
    return np.asarray(1.0 + beyond * beyond)


def flaked(fluence: float, profile: GlassProfile) -> float:
    """Share of its frost that a solid patch loses again by flaking, at a fluence in J/mm2."""
    if fluence <= 0.0:
        return 0.0
    shape = profile.response
    log, flaking = np.log10([fluence, shape.flaking_j_mm2])
    return float(1.0 - 1.0 / flaking_divisor(log, flaking, shape.flaking_decades))


@lru_cache(maxsize=16)
def fluence_table(profile: GlassProfile, greatest: float) -> Floats:
    """Frost at 65536 even steps of fluence from 0 to `greatest` J/mm2; float32."""
    return frost_of_fluence(np.linspace(0.0, greatest, 65536), profile).astype(np.float32)


def _logistic(logs: Doubles, profile: GlassProfile) -> Doubles:
    shape = profile.response
    middle, threshold = np.log10([shape.middle_j_mm2, shape.threshold_j_mm2])
    floor = _logistic_of(shape.slope * (threshold - middle))
    rise = (_logistic_of(shape.slope * (logs - middle)) - floor) / (1.0 - floor)
    return np.asarray(np.where(logs > threshold, rise, 0.0))


def _logistic_of(x: Any) -> Any:
    return 0.5 + 0.5 * np.tanh(0.5 * x)


def _measured(logs: Doubles, profile: GlassProfile) -> Doubles:
    at, frost = _knots(profile)
    return monotone_curve(at, frost, np.clip(logs, at[0], at[-1]))


@lru_cache(maxsize=16)
def _knots(profile: GlassProfile) -> tuple[Doubles, Doubles]:
    points = sorted(profile.knots, key=lambda knot: knot.fluence_j_mm2)
    logs = np.log10([knot.fluence_j_mm2 for knot in points])
    weights = np.array([1.0 / (knot.scatter**2 + 1e-4) for knot in points])
    frost = np.array([knot.frost for knot in points])
    places = np.unique(logs)
    merged = [np.average(frost[logs == x], weights=weights[logs == x]) for x in places]
    sums = [weights[logs == x].sum() for x in places]
    smooth = rising(np.array(merged), np.array(sums))
    if smooth[0] > 0.0:
        places = np.concatenate([[places[0] - TOE_DECADES], places])
        smooth = np.concatenate([[0.0], smooth])
    return places, smooth
