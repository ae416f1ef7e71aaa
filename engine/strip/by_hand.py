"""Readings without a camera: typed in from an instrument, or judged by eye on a grey scale."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.colour import lightness_from_luminance, luminance_from_lightness
from engine.glass import ends
from engine.strip.fingerprint import fingerprint_of
from engine.strip.fit import BACKING, planned_profile
from engine.strip.fit_values import Measured, Value
from engine.strip.robust import medians
from engine.strip.typed_checks import doubts_of, repeated_to
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
BLACK_L = 5.0
"""A scale that goes down to here is dark enough: by so little bare glass may be darker still that
no eye tells it (starting guess)."""
FEWEST = 6
MOST_BARE, LEAST_SOLID = 0.15, 0.7
"""Frost that bare glass and the most solid patches read at most and at least, unless every setting
is weak; by what frost is, they are 0 and 1 (starting guesses)."""
_BEYOND = (
    "Bare glass matched the darkest step of the grey scale, L* {:g}, and may be darker still, by "
    "which dark tones would come out wrong: take a scale that goes on beyond it."
)
_NO_FROST = (
    "Frost is 0 on bare glass and 1 on the fullest frost, and yours reads {:.2g} and {:.2g} on the "
    "solid patches: unless every setting is that weak, choose the unit in which it was read."
)
NO_ENDS = (
    "How light bare glass is beside frost was not measured, so a guess stands for it and dark "
    "tones may come out wrong: type the readings in as reflectance, L* or density, bare glass too."
)
NO_BARE = (
    "Bare glass was read as pure black, which it never is, so a guess stands for how light it is "
    "beside frost and dark tones may come out wrong: read it to more figures, or on finer steps."
)


def murray_davies(reflectance: Any, bare: float, full: float) -> NDArray[np.float64]:
    """Share of the surface that is marked, from reflectances (Murray 1936): unmarked glass gives 0
    and full marking 1."""
    return np.asarray((np.asarray(reflectance, np.float64) - bare) / (full - bare))


def typed(strip: Strip, readings: Mapping[int, float], unit: str) -> Measured:
    """Readings of patches (number from 0) in one of UNITS.

    All but frost need at least one bare patch and one solid one among them, from which the ends
    are taken; frost that has both must rise from one to the other. A reading is off by
    TYPED_ERROR and by what it was rounded by. Raises InputError that says what is missing or
    impossible.
    """
    if unit not in UNITS:
        raise InputError(f"Readings are in one of: {', '.join(UNITS)}; not in {unit}.")
    _check(strip, readings)
    _within(readings, *_LIMITS[unit])
    rounding = rounded_to(readings.values()) / np.sqrt(12.0)
    if unit == "frost":
        return _from_frost(strip, readings, rounding)
    light = {patch: _reflectance(value, unit) for patch, value in readings.items()}
    errors = {patch: _light_error(value, rounding, unit) for patch, value in readings.items()}
    return _from_light(strip, light, errors, "readings typed in", TYPED_ERROR)


def by_eye(strip: Strip, steps: Mapping[int, float], scale_lightness: Sequence[float]) -> Measured:
    """Patches matched by eye to the nearest step (from 1) of a printed grey scale.

    scale_lightness: CIE L* of the scale's steps in their order, or their densities, which are all
    below those of any scale in L*; a half step is allowed. The error is a step's width as of a
    figure that was rounded to it, and what the eye just sees.
    """
    scale = np.asarray(scale_lightness, np.float64)
    if scale.max(initial=0.0) <= _LIMITS["density"][1]:
        scale = np.asarray(lightness_from_luminance(10.0**-scale), np.float64)
    if scale.size < 5 or not np.isfinite(scale).all() or not _is_monotone(scale):
        raise InputError(
            "The grey scale needs at least five steps of CIE L* or density that rise or fall "
            "throughout."
        )
    _check(strip, steps)
    _within(steps, 1.0, float(scale.size), f"steps run from 1 to {scale.size}")
    if len(set(steps.values())) == 1:
        raise InputError("All patches match the same step; take a scale that reaches both ends.")
    at = np.arange(1.0, scale.size + 1.0)
    widths = np.abs(np.gradient(scale))
    light, errors = {}, {}
    for patch, step in steps.items():
        lightness = float(np.interp(step, at, scale))
        width = float(np.interp(step, at, widths))
        light[patch] = _reflectance(lightness, "lightness")
        spread = float(np.hypot(width / np.sqrt(12.0), EYE_L))
        errors[patch] = _light_error(lightness, spread, "lightness")
    measured = _from_light(strip, light, errors, "judged by eye", 0.0)
    doubts = _beyond_scale(strip, steps, scale)
    return attrs.evolve(measured, doubts=(*measured.doubts, *doubts))


def _beyond_scale(
    strip: Strip, steps: Mapping[int, float], scale: NDArray[np.float64]
) -> tuple[str, ...]:
    """What to warn of where bare glass matched the scale's last step: it may be darker still."""
    darkest = float(np.argmin(scale)) + 1.0
    bare = [step for patch, step in steps.items() if strip.patches[patch].kind == "bare"]
    if scale.min() <= BLACK_L or float(np.median(bare)) != darkest:
        return ()
    return (_BEYOND.format(scale.min()),)


def rounded_to(values: Iterable[float]) -> float:
    """The coarsest round step, 1, 2 or 5 in its place, on which all values lie; 0 where they are
    finer than 0.001. What is rounded to a step is off by its width over the root of 12."""
    found = np.fromiter(values, np.float64)
    for place in range(1, -4, -1):
        for digit in (5.0, 2.0, 1.0):
            steps = found / (digit * 10.0**place)
            if np.allclose(steps, np.round(steps), rtol=0.0, atol=1e-6):
                return float(digit * 10.0**place)
    return 0.0


def _from_frost(strip: Strip, frost: Mapping[int, float], rounding: float) -> Measured:
    """rounding: the standard error that it makes, a share of the range."""
    doubts = [NO_ENDS]
    if {"bare", "solid"} <= {strip.patches[patch].kind for patch in frost}:
        low, high = _ends(strip, frost)
        if low > MOST_BARE or high < LEAST_SOLID:
            doubts.insert(0, _NO_FROST.format(low, high))
    seen = ends(planned_profile(strip).light, BACKING, "light")
    span = seen.marked - seen.unmarked
    light = {patch: seen.unmarked + span * share for patch, share in frost.items()}
    lightness, errors_l = _in_lightness(light, dict.fromkeys(light, rounding * span))
    scatter = float(np.hypot(TYPED_ERROR, rounding))
    return Measured(
        tuple(Value(patch, float(share), scatter) for patch, share in frost.items()),
        source="readings typed in",
        fingerprint=fingerprint_of(frost[patch] for patch in sorted(frost)),
        by_hand=True,
        error_l=max(_typical(errors_l), repeated_to(strip, lightness)),
        doubts=(*doubts_of(strip, lightness, errors_l), *doubts),
    )


def _from_light(
    strip: Strip,
    light: Mapping[int, float],
    errors: Mapping[int, float],
    source: str,
    error: float,
) -> Measured:
    """errors: of light, by rounding or by eye; error: the instrument's, a share of the range."""
    low, high = _ends(strip, light)
    span = high - low
    lightness, errors_l = _in_lightness(light, errors)
    doubts = doubts_of(strip, lightness, errors_l)
    frost = murray_davies(list(light.values()), low, high).tolist()
    values = [
        Value(patch, share, float(np.hypot(error * span, errors[patch])) / span)
        for patch, share in zip(light, frost, strict=True)
    ]
    bare = [patch for patch in light if strip.patches[patch].kind == "bare"]
    repeated = repeated_to(strip, lightness)
    bare_l = max(np.median([errors_l[p] for p in bare]), repeated / np.sqrt(len(bare)))
    return Measured(
        tuple(values),
        bare_over_full=low / high if low > 0.0 else None,
        source=source,
        fingerprint=fingerprint_of(light[patch] for patch in sorted(light)),
        by_hand=True,
        bare_error=float(np.median([errors[patch] for patch in bare])) / span,
        error_l=float(np.hypot(max(_typical(errors_l), repeated), bare_l)),
        doubts=doubts if low > 0.0 else (*doubts, NO_BARE),
    )


def _in_lightness(
    light: Mapping[int, float], errors: Mapping[int, float]
) -> tuple[dict[int, float], dict[int, float]]:
    """Light and its errors as CIE L*."""
    lightness = {patch: float(lightness_from_luminance(value)) for patch, value in light.items()}
    more = {p: float(lightness_from_luminance(value + errors[p])) for p, value in light.items()}
    return lightness, {p: more[p] - lightness[p] for p in light}


def _typical(errors: Mapping[int, float]) -> float:
    return float(np.sqrt(np.mean(np.square(list(errors.values())))))


def _light_error(value: float, error: float, unit: str) -> float:
    """The standard error of light, from that of a reading in its unit."""
    least, most, _ = _LIMITS[unit]
    low, high = max(least, value - error), min(most, value + error)
    return 0.5 * abs(_reflectance(high, unit) - _reflectance(low, unit))


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
