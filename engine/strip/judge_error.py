"""The lightness error that a setting would leave: a plate burnt on its own profile's model."""

import math

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import burning, burnt, dots_on_glass, drive, glass, screens
from engine.colour import lightness_from_luminance
from engine.filters import Floats
from engine.strip.fit import BACKING
from engine.strip.judge_tones import Doubles, middles, nearness
from engine.viewing import eye_sigma_mm
from shared.profile import GlassProfile
from shared.recipe import Glass, Recipe, Screen

RIM_MM = 1.5
"""Left out at the border, where the blur does not know what goes on."""


MODEL_SHARE = 0.2
"""How much of the variance that dots make on the model counts beside what was seen on glass. This
and the next four were found on five virtual sheets with two grids of settings."""
OWN_SHARE, COMMON_SHARE = 0.3, 0.6
"""How much of the variance of the texture that a camera sees counts: on a setting's own patches of
dots, and on all settings' alike, since most of what is seen the grain of the glass makes in all.
Where power follows the tone, patches of one setting tell nothing of their own."""
FIT_L = 0.2
"""What any fitted profile is off, L*, standard deviation."""
FEWER_L = 0.01
"""What a setting with fewer patches of its own is off more, L*."""
ALIKE, FEW_PIXELS = 1.5 / 32.0, 200.0
"""Share of the look over which a mean error is smoothed, and pixels that count for no error, so
that a tone that hardly comes in the cell says little."""


@attrs.frozen(eq=False)
class Predicted:
    """What a setting would leave of a look, L*, as seen."""

    texture: float
    """Standard deviation that dots make on the model's glass, round the mean of each tone."""
    off: Doubles
    """For each tone of the picture, how far off it comes out on the mean: what cannot be reached,
    and what dots that follow a picture give less or more than on an even patch."""
    weight: Doubles
    """How often each of the tones comes; what is missing to 1 is bare glass, which stays right."""


@attrs.frozen
class Unsure:
    """What is not known of a setting beside its prediction: standard deviations, L*."""

    own: float
    """That its own patches show."""
    common: float
    """That those of a usual setting show."""
    fewer: bool = False
    """Whether another setting has more patches."""
    by_hand: float = 0.0
    """What readings by hand leave unknown of the tones."""


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
    look: NDArray[np.uint16],
    profile: GlassProfile,
    screen: Screen,
    pitch_mm: float,
    weight: Doubles,
) -> Predicted:
    """A look made into a plate with the profile, burnt on the profile's model and seen.

    look: uint16, rows x columns, from the front: of one cell, whose dots count. weight: how often
    each of even tones comes.
    """
    recipe = Recipe(glass=Glass(backing=BACKING), screen=screen)
    recipe = recipe.changed(plate__pitch_mm=pitch_mm)
    aim = drive.aim_of(recipe, profile)
    texture, bias = _dots_off(look, aim, weight.size)
    tones = middles(weight.size).astype(np.float32)[None, :]
    wanted = glass.lightness_of_mark(glass.mark_from_look(tones, aim.ends), aim.ends)[0]
    reached = glass.lightness_of_mark(drive.frost_wanted(tones, aim), aim.ends)[0]
    return Predicted(texture, reached - wanted + bias, weight)


def _dots_off(look: NDArray[np.uint16], aim: drive.Aim, tones: int) -> tuple[float, Doubles]:
    """What dots do to a picture on the model's glass, L*: the texture, and each tone's mean error.

    Dots of a picture lie less evenly than those of a patch, so they frost more or less than the
    measured curve says.
    """
    pitch_mm = aim.pitch_mm
    shares = at_pitch(look, *look.shape)
    asked = drive.drive_of_frost(drive.frost_asked(shares, aim, pitch_mm), aim)
    dots = screens.screen(asked, aim.screen, pitch_mm=pitch_mm)
    dots_on_glass.follow(dots, look, asked, aim)
    left, wanted = (
        seen_lightness(frost, aim.ends, pitch_mm)
        for frost in (
            burnt.frost_of_dots(dots, aim.profile, aim.screen, pitch_mm),
            drive.frost_wanted(shares, aim),
        )
    )
    apart = (left - wanted).astype(np.float64).ravel()
    low, high = glass.lightness_of_mark(np.array([0.0, 1.0]), aim.ends)
    tone = (tones * (wanted.ravel() - low) / (high - low)).astype(np.int64)
    tone = np.clip(tone, 0, tones - 1)
    count = np.bincount(tone, minlength=tones)
    total = np.bincount(tone, apart, tones)
    texture = float(np.std(apart - (total / np.maximum(count, 1))[tone]))
    looks = middles(tones)
    near = nearness(looks, looks, ALIKE)
    return texture, np.asarray(near @ total / (near @ count + FEW_PIXELS))


def expected(found: Predicted, unsure: Unsure) -> float:
    """The mean error to be expected of a burnt piece, L*.

    At every tone the error is normal: its mean is `off`, its spread the texture and what the
    profile is off. The mean amount of such an error is the folded normal's (Leone, Nelson,
    Nottingham, Technometrics 3(4), 1961; from memory).
    """
    variance = MODEL_SHARE * found.texture**2 + OWN_SHARE * unsure.own**2
    variance += COMMON_SHARE * unsure.common**2
    spread = math.sqrt(variance + FIT_L**2 + unsure.by_hand**2)
    share = found.off / spread
    tail = np.exp(-0.5 * np.square(share)) * math.sqrt(2.0 / math.pi)
    inner = share * np.array([math.erf(s / math.sqrt(2.0)) for s in share])
    return float(found.weight @ (spread * (tail + inner))) + FEWER_L * unsure.fewer


def at_pitch(look: NDArray[np.uint16], rows: int, columns: int) -> Floats:
    """A look of 16 bits as float32 of 0 to 1, on a grid of that many rows and columns."""
    values = look.astype(np.float32) / np.float32(65535.0)
    if values.shape == (rows, columns):
        return values
    shrinks = rows < values.shape[0]
    way = cv2.INTER_AREA if shrinks else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(values, (columns, rows), interpolation=way), np.float32)
