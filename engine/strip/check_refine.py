"""A glass profile refined by what a finished piece has shown."""

from typing import Any

import attrs
import numpy as np

from engine import glass
from engine.linearise import gain_is_measured, tone_curve
from engine.strip.check import Check
from engine.strip.fit import BACKING
from engine.strip.fit_curve import fit_rising
from engine.strip.fit_values import frost_of_tone, tone_of
from shared.errors import InputError
from shared.profile import Gain, GlassProfile, ScreenGains
from shared.recipe import Screen

REFINED = "Refined by a finished piece."
"""Stands in the note of a profile that was."""
FEWEST_TONES = 3
"""Both ends, which are taken to have come out right, and one between."""
_NO_TONES = (
    "The profile cannot be refined with this piece, which has too few tones between bare glass and "
    "full frost: take a larger one, of another screen than line art."
)
_DRIVES = tuple(number / 16.0 for number in range(1, 17))
"""At which dot gain is begun from the model."""


def refined(profile: GlassProfile, screen: Screen, pitch_mm: float, check: Check) -> GlassProfile:
    """The profile with its tones moved to what came out; its points keep their drives.

    For a screen that makes tones by dots its dot gains are changed, or begun from the model where
    nobody measured any; else the characteristic curve. Raises InputError for a profile without
    measured points, and for a piece that tells nothing of the tones between its ends.
    """
    if not profile.knots:
        raise InputError("Only a measured profile can be refined; burn a test strip first.")
    if screen.kind == "threshold" or len(check.expected) < FEWEST_TONES:
        raise InputError(_NO_TONES)
    seen = glass.ends(profile.light, BACKING, "light")
    expected, found = np.array(check.expected), np.array(check.found)
    nodes = np.linspace(0.0, 1.0, 21)
    scatter = np.maximum(np.array(check.scatter), 0.004)
    curve = fit_rising(
        tone_of(expected, seen), tone_of(found, seen), scatter, nodes, nodes, from_zero=True
    )

    def moved(frost: float) -> float:
        tone = curve(tone_of(np.array([frost]), seen))
        return float(np.clip(frost_of_tone(tone, seen)[0], 0.0, 1.0))

    note = f"{profile.note} {REFINED}"[-200:]
    if screen.kind == "continuous":
        knots: Any = [attrs.evolve(knot, frost=moved(knot.frost)) for knot in profile.knots]
        return attrs.evolve(profile, knots=knots, note=note)
    gains = profile.gains_of(screen.kind)
    if not gain_is_measured(profile, screen.kind):
        model = tone_curve(profile, screen, pitch_mm)
        begun = np.interp(_DRIVES, model.drives, model.frost)
        gains = tuple(Gain(*point) for point in zip(_DRIVES, begun.tolist(), strict=True))
    points: Any = [attrs.evolve(gain, frost=moved(gain.frost)) for gain in gains]
    others: Any = [g for g in profile.gains if g.screen != screen.kind]
    others.append(ScreenGains(screen.kind, points))
    return attrs.evolve(profile, gains=others, note=note)
