"""A glass whose dots gain otherwise than the model's, for tests."""

import attrs
import numpy as np

from engine.linearise import tone_curve
from shared.profile import GENERIC, Gain, GlassProfile, ScreenGains
from shared.recipe import Screen

DIFFUSION, MIXED = (Screen(kind=kind) for kind in ("diffusion", "mixed"))


def gained(kind: str, power: float, profile: GlassProfile = GENERIC) -> GlassProfile:
    """The profile with measured dot gain of a screen: the model's frost raised to a power."""
    plain = attrs.evolve(profile, gains=())
    curve = tone_curve(plain, Screen(kind=kind), 0.1)
    drives = np.linspace(0.0, 1.0, 21)[1:]
    frost = np.interp(drives, curve.drives, curve.frost) ** power
    points = [Gain(float(d), float(f), 0.0) for d, f in zip(drives, frost, strict=True)]
    return attrs.evolve(plain, gains=[ScreenGains(kind, points)], origin="measured")
