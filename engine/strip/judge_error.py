"""The lightness error that a setting would leave: a plate burnt on its own profile's model."""

import math

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import burning, drive, glass, screens
from engine.colour import lightness_from_luminance
from engine.filters import Floats
from engine.strip.fit import BACKING
from shared.profile import GlassProfile
from shared.recipe import Glass, Recipe, Screen

VIEWING_MM = 450.0
"""Reading distance, at which a framed portrait in the hand is seen (common practice)."""
EYE_ARCMIN = 1.2
"""Standard deviation of the eye's blur, minutes of arc."""
RIM_MM = 1.5
"""Left out at the border, where the blur does not know what goes on."""


@attrs.frozen
class Predicted:
    """What a setting would leave of a look; mean differences in L*, as seen."""

    error: float
    """On the model's glass, dots and all."""
    out_of_reach: float
    """Of the tones alone: what the setting cannot make."""


def eye_sigma_mm(distance_mm: float = VIEWING_MM) -> float:
    """Standard deviation of the eye's blur on the glass."""
    return distance_mm * math.tan(math.radians(EYE_ARCMIN / 60.0))


def seen_lightness(frost: Floats, ends: glass.Ends, pitch_mm: float) -> Floats:
    """CIE L* of frost (rows x columns) seen from the viewing distance; the rim is cut off."""
    light = ends.unmarked + (ends.marked - ends.unmarked) * np.maximum(frost, np.float32(0.0))
    blurred = burning.blur_mm(light, eye_sigma_mm(), pitch_mm)
    return within_rim(np.asarray(lightness_from_luminance(blurred), np.float32), pitch_mm)


def within_rim(picture: Floats, pitch_mm: float) -> Floats:
    """The picture without its border, as far as it is larger than that."""
    rim = min(round(RIM_MM / pitch_mm), (min(picture.shape) - 2) // 3)
    return picture[rim:-rim, rim:-rim] if rim > 0 else picture


def predicted(look: Floats, profile: GlassProfile, screen: Screen, pitch_mm: float) -> Predicted:
    """A look made into a plate with the profile, burnt on the profile's model and seen.

    look: float32, rows x columns, 0 to 1, from the front.
    """
    recipe = Recipe(glass=Glass(backing=BACKING), screen=screen)
    recipe = recipe.changed(plate__pitch_mm=pitch_mm)
    aim = drive.aim_of(recipe, profile)
    asked = drive.frost_asked(look, aim, pitch_mm)
    dots = screens.screen(drive.drive_of_frost(asked, aim), screen, pitch_mm=pitch_mm)
    wanted, burnt, reachable = (
        seen_lightness(frost, aim.ends, pitch_mm)
        for frost in (
            glass.mark_from_look(look, aim.ends),
            burning.burn_codes(dots, profile, pitch_mm),
            drive.frost_wanted(look, aim),
        )
    )
    return Predicted(_apart(burnt, wanted), _apart(reachable, wanted))


def _apart(picture: Floats, wanted: Floats) -> float:
    return float(np.abs(picture - wanted).mean())


def expected(predictions: list[Predicted], grain: float | None) -> float:
    """The mean error to be expected of a burnt piece, L*.

    Squares add. The grain of the cell (standard deviation, L*) holds the dots' texture as it came
    out, the model's error holds it as it was to come; each tells half. Without a cell the model
    alone tells. The factor is the mean amount of normal errors over their standard deviation.
    """
    error = float(np.mean([p.error for p in predictions]))
    if grain is None:
        return error
    reach = float(np.mean([p.out_of_reach for p in predictions]))
    return float(np.sqrt(2.0 / np.pi) * np.sqrt(error**2 / 2.0 + reach**2 + grain**2))


def all_tones(look: Floats) -> Floats:
    """The same picture with its tones spread evenly over the whole scale, in their order.

    A face has few of the dark tones that its background has; the setting has to serve both.
    """
    order = np.empty(look.size, np.float32)
    order[np.argsort(look, axis=None, kind="stable")] = np.linspace(
        0.0, 1.0, look.size, dtype=np.float32
    )
    return order.reshape(look.shape)


def at_pitch(look: NDArray[np.uint16], rows: int, columns: int) -> Floats:
    """A look of 16 bits as float32 of 0 to 1, on a grid of that many rows and columns."""
    values = look.astype(np.float32) / np.float32(65535.0)
    if values.shape == (rows, columns):
        return values
    shrinks = rows < values.shape[0]
    way = cv2.INTER_AREA if shrinks else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(values, (columns, rows), interpolation=way), np.float32)
