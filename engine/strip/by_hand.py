"""Readings without a camera: typed in from an instrument, or judged by eye on a grey scale."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.colour import luminance_from_lightness
from engine.strip.fingerprint import fingerprint_of
from engine.strip.fit_values import Measured, Value
from engine.strip.robust import medians
from shared.errors import InputError
from shared.strip import Strip

UNITS = ("frost", "reflectance", "lightness", "density")
"""Frost, reflectance: shares from 0 to 1; CIE L* from 0 to 100; density: -log10 of reflectance."""
_LIMITS = {
    "frost": (
        0.0,
        1.2,
        "frost runs from 0 on bare glass to 1 on solid patches, and to 1.2 at the very most",
    ),
    "reflectance": (0.0, 1.0, "reflectance lies between 0 and 1"),
    "lightness": (0.0, 100.0, "CIE L* lies between 0 and 100"),
    "density": (0.0, 5.0, "density lies between 0 and 5"),
}
_LEAST_SPAN = 0.01
"""From bare to solid, in frost or reflectance."""
TYPED_ERROR = 0.01
"""Standard error of a typed reading, as a share of the range from bare to full."""
EYE_L = 1.0
"""What the eye just sees, added to the coarseness of the grey scale."""
FEWEST = 6


def murray_davies(reflectance: Any, bare: float, full: float) -> NDArray[np.float64]:
    """Share of the surface that is marked, from reflectances (Murray 1936): unmarked glass gives 0
    and full marking 1."""
    return np.asarray((np.asarray(reflectance, np.float64) - bare) / (full - bare))


def typed(
    strip: Strip,
    readings: Mapping[int, float],
    unit: str,
    *,
    error: float = TYPED_ERROR,
) -> Measured:
    """Readings of patches (number from 0) in one of UNITS.

    All but frost need at least one bare patch and one solid one among them, from which the ends
    are taken; frost that has both must rise from one to the other. Raises InputError that says
    what is missing or impossible.
    """
    if unit not in UNITS:
        raise InputError(f"Readings are in one of: {', '.join(UNITS)}; not in {unit}.")
    _check(strip, readings)
    _within(readings, *_LIMITS[unit])
    if unit == "frost":
        if {"bare", "solid"} <= {strip.patches[patch].kind for patch in readings}:
            _ends(strip, readings)
        values = [Value(patch, float(frost), error) for patch, frost in readings.items()]
        same = fingerprint_of(readings[patch] for patch in sorted(readings))
        return Measured(tuple(values), source="readings typed in", fingerprint=same)
    light = {patch: _reflectance(value, unit) for patch, value in readings.items()}
    return _from_light(strip, light, dict.fromkeys(light, error), "readings typed in")


def by_eye(strip: Strip, steps: Mapping[int, float], scale_lightness: Sequence[float]) -> Measured:
    """Patches matched by eye to the nearest step (from 1) of a printed grey scale.

    scale_lightness: CIE L* of the scale's steps in their order; a half step is allowed. The error
    is a step's width as of a figure that was rounded to it, and what the eye just sees.
    """
    scale = np.asarray(scale_lightness, np.float64)
    if scale.size < 5 or not np.isfinite(scale).all() or not _is_monotone(scale):
        raise InputError(
            "The grey scale needs at least five steps of CIE L* that rise or fall throughout."
        )
    _check(strip, steps)
    _within(steps, 1.0, float(scale.size), f"steps run from 1 to {scale.size}")
    at = np.arange(1.0, scale.size + 1.0)
    widths = np.abs(np.gradient(scale))
    light, errors, ranges = {}, {}, []
    for patch, step in steps.items():
        lightness = float(np.interp(step, at, scale))
        width = float(np.interp(step, at, widths))
        spread = np.hypot(width / np.sqrt(12.0), EYE_L)
        light[patch] = float(luminance_from_lightness(lightness))
        above = float(luminance_from_lightness(lightness + spread))
        errors[patch] = above - light[patch]
        ranges.append(light[patch])
    span = max(ranges) - min(ranges)
    if span <= 0.0:
        raise InputError("All patches match the same step; take a scale that reaches both ends.")
    relative = {patch: error / span for patch, error in errors.items()}
    return _from_light(strip, light, relative, "judged by eye")


def _from_light(
    strip: Strip, light: Mapping[int, float], errors: Mapping[int, float], source: str
) -> Measured:
    low, high = _ends(strip, light)
    values = [
        Value(patch, float(murray_davies(value, low, high)), errors[patch])
        for patch, value in light.items()
    ]
    same = fingerprint_of(light[patch] for patch in sorted(light))
    return Measured(tuple(values), (), low / high, source, same)


def _ends(strip: Strip, light: Mapping[int, float]) -> tuple[float, float]:
    """What bare glass shows, and the solid patches of the setting that frosts most."""
    bare = [value for patch, value in light.items() if strip.patches[patch].kind == "bare"]
    solid = [patch for patch in light if strip.patches[patch].kind == "solid"]
    if not bare or not solid:
        raise InputError(
            "At least one bare patch and one solid patch must be among the readings, since they "
            "are the two ends of the scale."
        )
    runs = np.array([strip.patches[patch].run for patch in solid])
    high = float(medians(np.array([light[patch] for patch in solid]), runs).max())
    low = float(np.median(bare))
    if high - low < _LEAST_SPAN:
        raise InputError(
            "The solid patches are read no lighter than the bare ones; check the readings' order."
        )
    return low, high


def _reflectance(value: float, unit: str) -> float:
    if unit == "density":
        return float(10.0**-value)
    if unit == "lightness":
        return float(luminance_from_lightness(value))
    return float(value)


def _check(strip: Strip, readings: Mapping[int, float]) -> None:
    if len(readings) < FEWEST:
        raise InputError(f"Type in the readings of at least {FEWEST} patches.")
    for patch, value in readings.items():
        if not 0 <= patch < len(strip.patches):
            raise InputError(f"The strip has no patch {patch + 1}; it has {len(strip.patches)}.")
        if strip.patches[patch].kind == "lines":
            raise InputError(f"Patch {patch + 1} is one of lines, which has no tone to read.")
        if not np.isfinite(value):
            raise InputError(f"The reading of patch {patch + 1} is not a number.")


def _within(readings: Mapping[int, float], low: float, high: float, rule: str) -> None:
    for patch, value in readings.items():
        if not low <= value <= high:
            raise InputError(f"Patch {patch + 1} cannot read {value:g}: {rule}.")


def _is_monotone(scale: NDArray[np.float64]) -> bool:
    steps = np.diff(scale)
    return bool((steps > 0.0).all() or (steps < 0.0).all())
