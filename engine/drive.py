"""From look to drive on one glass: the screen's curve inverted, and the spread made up for."""

import attrs
import numpy as np

from engine import burning, glass
from engine.colour import look_up
from engine.compensate import Doses, compensate, compensation_reach_mm, shown
from engine.filters import Floats
from engine.linearise import (
    ToneCurve,
    doses,
    drive_of_frost_table,
    frost_of_look_table,
    tone_curve,
)
from shared.profile import GlassProfile
from shared.recipe import Recipe, Screen

LEAST_SPREAD_PX = 0.3
"""Below this, in pixels of the grid, the spread is a matter of the next finer grid: five pixels to
the wave, 93 % of a modulation is left."""
LEAST_SHOWN_PX = 0.4
"""The same for grids coarser than the etch, which are only looked at: 88 %."""


@attrs.frozen
class Aim:
    """All that decides what is asked of the laser for a look; comparable and hashable."""

    profile: GlassProfile
    screen: Screen
    pitch_mm: float
    """Of the etch, for which the screen's curve holds."""
    mark: str
    ends: glass.Ends
    unreachable: str
    compensate: float
    halo: float

    @property
    def curve(self) -> ToneCurve:
        """The screen's tone curve on this glass."""
        return tone_curve(self.profile, self.screen, self.pitch_mm)

    @property
    def is_line_art(self) -> bool:
        """Whether the look is cut in two instead of followed."""
        return self.screen.kind == "threshold"

    @property
    def doses(self) -> Doses | None:
        """What the tones of this screen are in fluence; None for dots of full power."""
        return doses(self.profile, self.screen, self.pitch_mm)


def aim_of(recipe: Recipe, profile: GlassProfile) -> Aim:
    """What a recipe asks for on a glass."""
    return Aim(
        profile=profile,
        screen=recipe.screen,
        pitch_mm=recipe.plate.pitch_mm,
        mark=recipe.plate.mark,
        ends=glass.ends(profile.light, recipe.glass.backing, recipe.plate.mark),
        unreachable=recipe.glass.unreachable,
        compensate=recipe.glass.compensate,
        halo=recipe.glass.compensate_halo,
    )


def frost_wanted(look: Floats, aim: Aim) -> Floats:
    """The frost that shows a look, within what the setting can reach; float32, 0 to 1."""
    if aim.is_line_art:
        light = look >= np.float32(aim.screen.level)
        burnt = light if aim.mark == "light" else ~light
        return burnt * np.float32(aim.curve.most)
    table = frost_of_look_table(aim.profile, aim.screen, aim.pitch_mm, aim.ends, aim.unreachable)
    return look_up(look, table)


def frost_asked(look: Floats, aim: Aim, pitch_mm: float) -> Floats:
    """The frost to ask for, so that after the spread `frost_wanted` is left.

    `look` lies on a grid of `pitch_mm`; beyond its border nothing is known, so a window needs
    `reach_mm` more on each side.
    """
    wanted = frost_wanted(look, aim)
    if not compensates(aim, pitch_mm):
        return wanted
    return compensate(
        wanted,
        aim.profile,
        pitch_mm,
        strength=aim.compensate,
        halo=aim.halo,
        low=aim.curve.least,
        high=aim.curve.most,
        doses=aim.doses,
    )


def drive_of_frost(frost: Floats, aim: Aim) -> Floats:
    """The drive that gives a frost on this screen; float32, 0 to 1."""
    if aim.is_line_art:
        return (frost > 0.0).astype(np.float32)
    return look_up(frost, drive_of_frost_table(aim.profile, aim.screen, aim.pitch_mm))


def frost_left(asked: Floats, aim: Aim, pitch_mm: float) -> Floats:
    """The frost that is seen, by tone, after beam and fracture spread what was asked for.

    On a grid so coarse that the spread hardly reaches the next pixel, making up for it is taken to
    do what it is asked to, in the share of its strength.
    """
    if seen_as_wanted(aim, pitch_mm):
        return asked
    coarse = not aim.is_line_art and not compensates(aim, pitch_mm)
    blurred = shown(asked, aim.profile, pitch_mm, aim.doses)
    share = np.float32(aim.compensate if coarse else 0.0)
    return share * asked + (1 - share) * blurred if share else blurred


def seen_as_wanted(aim: Aim, pitch_mm: float) -> bool:
    """Whether a grid of `pitch_mm` is so coarse, and the spread made up for so fully, that the
    frost that is wanted is both asked for and seen."""
    return aim.compensate == 1.0 and not aim.is_line_art and not compensates(aim, pitch_mm)


def compensates(aim: Aim, pitch_mm: float) -> bool:
    """Whether making up for the spread changes anything on a grid of `pitch_mm`."""
    least = LEAST_SHOWN_PX if pitch_mm > aim.pitch_mm else LEAST_SPREAD_PX
    reaches = burning.all_softness(aim.profile)[0].deviation_mm / pitch_mm >= least
    return reaches and aim.compensate > 0.0 and not aim.is_line_art


def reach_mm(aim: Aim, pitch_mm: float) -> float:
    """How far one place can influence another on a grid of `pitch_mm`."""
    if not compensates(aim, pitch_mm):
        return 0.0
    return compensation_reach_mm(aim.profile, pitch_mm)
