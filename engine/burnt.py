"""The frost that burnt dots leave on a measured glass: the forward model, brought to the dot gain
that was measured."""

import math
from functools import lru_cache

import attrs
import numpy as np
from numpy.typing import NDArray

from engine import burning
from engine.colour import look_up
from engine.filters import Floats
from engine.linearise import drive_of_frost_table, gain_is_measured, tone_curve
from shared.profile import GlassProfile
from shared.recipe import Screen

LOCAL_PX = 1.5
"""Standard deviation of the neighbourhood over which dots make a tone, in etch pixels."""
LEAST_FROST = 1e-3
"""Below this frost of the model the tone counts as the one that has it."""


def frost_of_dots(
    codes: NDArray[np.uint8],
    profile: GlassProfile,
    screen: Screen,
    pitch_mm: float,
    sub: int = burning.SUB,
    *,
    mirrored: bool = False,
) -> Floats:
    """Frost, float32 from 0 to 1, rows x columns, that a screen's drive codes leave on the glass.

    As `burning.burn_codes`, which does not know all that makes dots gain. Where the profile holds
    the screen's measured dot gain, each tone is brought to what was measured: the frost is
    multiplied by measured over modelled frost of an even patch that has the mean of the
    neighbourhood.
    """
    burnt = burning.burn_codes(codes, profile, pitch_mm, sub, mirrored=mirrored)
    if not gain_is_measured(profile, screen.kind):
        return burnt
    local = burning.blur_mm(burnt, LOCAL_PX * pitch_mm, pitch_mm)
    burnt *= look_up(local, _gain_table(profile, screen, pitch_mm))
    return np.minimum(burnt, np.float32(1.0), out=burnt)


def reach_mm(profile: GlassProfile, screen: Screen, pitch_mm: float) -> float:
    """How far one pixel of the machine can reach into the frost of a screen's dots."""
    local = math.ceil(4.0 * LOCAL_PX) + 1 if gain_is_measured(profile, screen.kind) else 0
    return burning.reach_mm(profile) + local * pitch_mm


@lru_cache(maxsize=32)
def _gain_table(profile: GlassProfile, screen: Screen, pitch_mm: float) -> Floats:
    """For 65536 even frosts of an even patch on the model, measured over modelled frost."""
    model = attrs.evolve(profile, gains=())
    frost = np.maximum(np.linspace(0.0, 1.0, 65536, dtype=np.float32), np.float32(LEAST_FROST))
    drive = look_up(frost[None, :], drive_of_frost_table(model, screen, pitch_mm))[0]
    curve = tone_curve(profile, screen, pitch_mm)
    return np.asarray(np.interp(drive, curve.drives, curve.frost) / frost, np.float32)
