"""The upright marks in the plot of a characteristic curve, and what the plot says in words."""

from collections.abc import Sequence

import attrs

from engine.curve_points import characteristic_points
from shared.profile import GlassProfile
from shared.units import percent

LEAST_SPAN = 10.0
"""The fluence axis covers at least a decade."""
_MARGIN = 1.6
_SHOWN_TONES = 0.01
"""Tones rarer than this, of the most frequent, are not told of."""


@attrs.frozen
class Mark:
    """A fluence with a name; of the glass, or of the setting at the machine."""

    fluence: float
    text: str
    of_setting: bool


def marks_of(profile: GlassProfile) -> tuple[Mark, ...]:
    """Threshold and flaking of the glass, least and greatest power of the setting."""
    shape = profile.response
    threshold = () if profile.measured_curve else (Mark(shape.threshold_j_mm2, "threshold", False),)
    return (
        *threshold,
        Mark(shape.flaking_j_mm2, "flaking", False),
        *_power_mark(profile, "least", profile.setting.power_min_pct),
        *_power_mark(profile, "greatest", profile.setting.power_max_pct),
    )


def _power_mark(profile: GlassProfile, word: str, percent: float) -> tuple[Mark, ...]:
    fluence = profile.fluence_j_mm2(percent)
    return (Mark(fluence, f"{word} {percent:.3g} %", True),) if fluence > 0.0 else ()


def reach_of(profiles: Sequence[GlassProfile]) -> tuple[float, float]:
    """The ends of a fluence axis, in J/mm2, that show all of these profiles."""
    fluences = [mark.fluence for profile in profiles for mark in marks_of(profile)]
    fluences += [knot.fluence_j_mm2 for profile in profiles for knot in profile.knots]
    fluences += [p.response.threshold_j_mm2 for p in profiles if not p.measured_curve]
    low, high = min(fluences) / _MARGIN, max(fluences) * _MARGIN
    widen = max(LEAST_SPAN / (high / low), 1.0) ** 0.5
    return low / widen, high * widen


def curve_in_words(profile: GlassProfile) -> str:
    """What a profile's curve looks like, for whoever cannot see it."""
    low, high = reach_of([profile])
    points = characteristic_points(profile, low, high, 400)
    half = next((fluence for fluence, frost in points if frost >= 0.5), None)
    fullest = max(points, key=lambda point: point[1])
    words = [f"{profile.name}, {profile.origin}."]
    if not profile.measured_curve:
        words.append(f"Bare up to {profile.response.threshold_j_mm2:.3g} J/mm\u00b2,")
    if half is not None:
        words.append(f"half frost at {half:.3g},")
    words.append(f"fullest with {percent(fullest[1])} at {fullest[0]:.3g} J/mm\u00b2;")
    words.append(f"frost flakes off beyond {profile.response.flaking_j_mm2:.3g}.")
    words += [_power_words(profile, *end) for end in _ends(profile)]
    if profile.knots:
        words.append(f"{len(profile.knots)} measured points.")
    return " ".join(words)


def tones_in_words(tones: Sequence[float], low: float, high: float) -> str:
    """From which to which fluence the photo's tones lie."""
    most = max(tones, default=0.0)
    used = [i for i, count in enumerate(tones) if most > 0.0 and count >= _SHOWN_TONES * most]
    if not used:
        return ""
    first, last = (low * (high / low) ** (i / len(tones)) for i in (used[0], used[-1] + 1))
    return f"The photo's tones need {first:.2g} to {last:.2g} J/mm\u00b2."


def _ends(profile: GlassProfile) -> tuple[tuple[str, float], tuple[str, float]]:
    setting = profile.setting
    return ("Least", setting.power_min_pct), ("Greatest", setting.power_max_pct)


def _power_words(profile: GlassProfile, word: str, power: float) -> str:
    fluence = profile.fluence_j_mm2(power)
    if fluence <= 0.0:
        return f"{word} power {power:.3g} %: the tube does not fire."
    ((_, frost), _) = characteristic_points(profile, fluence, fluence * 1.01, 2)
    return f"{word} power {power:.3g} %: {fluence:.3g} J/mm\u00b2, {percent(frost)} frost."
