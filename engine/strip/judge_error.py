"""The lightness error that a setting would leave: a plate burnt on its own profile's model."""

import math
from collections.abc import Sequence

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import burning, drive, glass, screens
from engine.colour import lightness_from_luminance
from engine.filters import Floats
from engine.strip.fit import BACKING
from engine.viewing import eye_sigma_mm
from shared.profile import GlassProfile
from shared.recipe import Glass, Recipe, Screen

Doubles = NDArray[np.float64]

RIM_MM = 1.5
"""Left out at the border, where the blur does not know what goes on."""


MODEL_SHARE = 0.3
"""How much of the variance of the dots' texture on the model is left on glass, whose own spread is
wider. This and the next four were found on nine virtual sheets, five of them the tests' own."""
OWN_SHARE, COMMON_SHARE = 0.05, 0.3
"""How much of the variance of the texture that a camera sees counts: on a setting's own patches,
and on all settings' alike, since most of what is seen the grain of the glass makes in all."""
FIT_L = 0.5
"""What any fitted profile is off, L*, standard deviation."""
FEWER_L = 0.02
"""What a setting with fewer patches of its own is off more, L*."""
EVEN_TONES = 32


@attrs.frozen(eq=False)
class Predicted:
    """What a setting would leave of a look, L*, as seen."""

    texture: float
    """Standard deviation that dots make on the model's glass."""
    off: Doubles
    """For each tone of the picture, how far off the nearest is that the setting can make."""
    weight: Doubles
    """How often each of the tones comes; sum 1."""


def seen_lightness(frost: Floats, ends: glass.Ends, pitch_mm: float) -> Floats:
    """CIE L* of frost (rows x columns) seen from the viewing distance; the rim is cut off."""
    light = ends.unmarked + (ends.marked - ends.unmarked) * np.maximum(frost, np.float32(0.0))
    blurred = burning.blur_mm(light, eye_sigma_mm(), pitch_mm)
    return within_rim(np.asarray(lightness_from_luminance(blurred), np.float32), pitch_mm)


def within_rim(picture: Floats, pitch_mm: float) -> Floats:
    """The picture without its border, as far as it is larger than that."""
    rim = min(round(RIM_MM / pitch_mm), (min(picture.shape) - 2) // 3)
    return picture[rim:-rim, rim:-rim] if rim > 0 else picture


def predicted(
    look: Floats, profile: GlassProfile, screen: Screen, pitch_mm: float, tones: Sequence[float]
) -> Predicted:
    """A look made into a plate with the profile, burnt on the profile's model and seen.

    look: float32, rows x columns, 0 to 1, from the front: of one cell, whose dots count. tones: of
    the whole picture, as in a strip's description; all tones alike without.
    """
    recipe = Recipe(glass=Glass(backing=BACKING), screen=screen)
    recipe = recipe.changed(plate__pitch_mm=pitch_mm)
    aim = drive.aim_of(recipe, profile)
    asked = drive.frost_asked(look, aim, pitch_mm)
    dots = screens.screen(drive.drive_of_frost(asked, aim), screen, pitch_mm=pitch_mm)
    burnt, reachable = (
        seen_lightness(frost, aim.ends, pitch_mm)
        for frost in (
            burning.burn_codes(dots, profile, pitch_mm),
            drive.frost_wanted(look, aim),
        )
    )
    weight = np.asarray(tones if sum(tones) > 0.0 else np.ones(EVEN_TONES), np.float64)
    asked_for = ((np.arange(weight.size) + 0.5) / weight.size).astype(np.float32)[None, :]
    wanted, reached = (
        glass.lightness_of_mark(frost, aim.ends)[0].astype(np.float64)
        for frost in (
            glass.mark_from_look(asked_for, aim.ends),
            drive.frost_wanted(asked_for, aim),
        )
    )
    return Predicted(float((burnt - reachable).std()), reached - wanted, weight / weight.sum())


def expected(found: Predicted, own: float, common: float, fewer: bool = False) -> float:
    """The mean error to be expected of a burnt piece, L*.

    At every tone the error is normal: its mean is what cannot be reached, its spread the texture
    and what the profile is off. own, common: standard deviations, L*, that the setting's own
    patches and those of a usual setting show. fewer: whether another setting has more patches. The
    mean amount of such an error is the folded normal's (Leone, Nelson, Nottingham, Technometrics
    3(4), 1961; from memory).
    """
    variance = MODEL_SHARE * found.texture**2 + OWN_SHARE * own**2 + COMMON_SHARE * common**2
    spread = math.sqrt(variance + FIT_L**2)
    share = found.off / spread
    tail = np.exp(-0.5 * np.square(share)) * math.sqrt(2.0 / math.pi)
    inner = share * np.array([math.erf(s / math.sqrt(2.0)) for s in share])
    return float(found.weight @ (spread * (tail + inner))) + FEWER_L * fewer


def at_pitch(look: NDArray[np.uint16], rows: int, columns: int) -> Floats:
    """A look of 16 bits as float32 of 0 to 1, on a grid of that many rows and columns."""
    values = look.astype(np.float32) / np.float32(65535.0)
    if values.shape == (rows, columns):
        return values
    shrinks = rows < values.shape[0]
    way = cv2.INTER_AREA if shrinks else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(values, (columns, rows), interpolation=way), np.float32)
