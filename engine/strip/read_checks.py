"""What makes a photograph unfit to be measured, and which patches are left out."""

import numpy as np
from numpy.typing import NDArray

from engine.strip.even import Light, Values
from engine.strip.read_edges import Edges
from engine.strip.read_patches import LEAST_PIXELS, Bare, Field
from engine.strip.refuse import Refusal
from shared.strip import Patch, Strip

CLIPPED_AT = 253.5 / 255.0
MOST_CLIPPED = 0.02
LEAST_SOLID = 0.06
"""Linear light of solid patches below which 8 bits and the noise leave too few steps."""
SAFE_SOLID = 0.6
"""Linear light of solid patches below which none of them reaches white by itself."""
LEAST_CONTRAST = 1.5
MOST_BLUR_MM = 0.26
MOST_SHIFT_MM = 0.3
LEAST_STEP, MOST_MISFIT = 0.88, 0.03
"""A double image leaves a lower step at the edges of solids, or another shape."""
GLARE_ON_PATCH, GLARE_AROUND, GLARE_ANYWHERE, GLARE_TILES = 0.05, 0.25, 0.15, 3
NEAR_MM = 3.5
SHADOW, MOST_SHADOW = 0.75, 0.05
MOST_GAIN_RATIO = 4.5
MOST_OFF = 0.09
MOST_LEFT_OUT = 0.15
MOST_ERROR = 0.008

CLIPPED = "burnt out to white in the photo"
SMALL = "too few pixels"
ODD = "differs too much from patches burnt alike"


def check_exposure(patches: tuple[Patch, ...], fields: list[Field]) -> None:
    """Raises Refusal for a photo that is too dark, burnt out, flat or of another strip."""
    kinds = np.array([patch.kind for patch in patches])
    level = np.array([field.level for field in fields])
    bare, solid = level[kinds == "bare"], level[kinds == "solid"]
    clipped = np.array([is_clipped(field) for field in fields])
    if np.nanmedian(level[kinds == "bare"]) * LEAST_CONTRAST < np.nanmedian(solid):
        if clipped[kinds == "solid"].mean() > 0.1 or clipped.mean() > 0.1:
            raise Refusal("clipped")
        if np.nanmedian(solid) < LEAST_SOLID:
            raise Refusal("dark")
        if clipped.any() and np.nanmedian(solid) < SAFE_SOLID:
            raise Refusal("glare")
    low, high = np.nanpercentile(level, (5.0, 95.0))
    if high < LEAST_CONTRAST * max(low, 1e-6):
        raise Refusal("clipped" if clipped.mean() > 0.1 else "veiled")
    darker = np.mean(bare[:, None] * LEAST_CONTRAST < solid[None, :])
    if darker < 0.8:
        raise Refusal("wrong_strip")


def is_clipped(field: Field) -> bool:
    """Whether too many pixels of a patch are as light as the file can hold."""
    return bool(np.mean(field.samples.brightest >= CLIPPED_AT) > MOST_CLIPPED)


def check_edges(found: Edges) -> None:
    """Raises Refusal for a blurred or double image, or patches that are not where they should."""
    x, y = found.across_x_mm, found.across_y_mm
    if found.step < LEAST_STEP or found.misfit > MOST_MISFIT:
        raise Refusal("moved")
    if max(x, y) > MOST_BLUR_MM:
        raise Refusal("moved" if max(x, y) > 1.5 * min(x, y) else "blurred")
    if found.shift_mm > MOST_SHIFT_MM:
        raise Refusal("distorted")


def check_light(strip: Strip, light: Light, bare: Bare) -> None:
    """Raises Refusal for glare and for light too uneven to be evened out."""
    over = bare.over / light.gain(bare.x_mm, bare.y_mm)
    if (over > GLARE_ANYWHERE).sum() >= GLARE_TILES:
        raise Refusal("glare")
    for box in [patch.box for patch in strip.patches] + [cell.box for cell in strip.cells]:
        beside = np.abs(bare.x_mm - box.left_mm - box.width_mm / 2.0) < box.width_mm / 2 + NEAR_MM
        beside &= np.abs(bare.y_mm - box.top_mm - box.height_mm / 2.0) < box.height_mm / 2 + NEAR_MM
        if beside.any() and np.mean(over[beside] > GLARE_ON_PATCH) > GLARE_AROUND:
            raise Refusal("glare")
    x, y = np.meshgrid(np.linspace(0, strip.size_mm[0], 9), np.linspace(0, strip.size_mm[1], 9))
    gain = light.gain(x, y)
    if gain.max() > MOST_GAIN_RATIO * gain.min():
        raise Refusal("uneven")
    dark = light.dark(bare.x_mm, bare.y_mm)
    readable = dark > 0.004
    shaded = (bare.level < SHADOW * dark) & readable
    if readable.any() and shaded.sum() > MOST_SHADOW * readable.sum():
        raise Refusal("uneven")


def odd_ones(frost: Values, group: NDArray[np.intp], off: Values) -> NDArray[np.bool_]:
    """Patches that differ too much from the median of those burnt alike."""
    apart = frost - np.array([np.nanmedian(frost[group == number]) for number in group])
    apart = np.where(np.abs(frost * off) > np.abs(apart), frost * off, apart)
    return np.asarray(np.abs(np.nan_to_num(apart)) > MOST_OFF, bool)


def check_repeats(
    strip: Strip, frost: Values, group: NDArray[np.intp], odd: NDArray[np.bool_]
) -> None:
    """Raises Refusal when too many patches differ from their like: for the light's sake where
    neighbours are off together, else for the strip's."""
    if odd.sum() <= max(1, MOST_LEFT_OUT * len(odd)):
        return
    apart = frost - np.array([np.nanmedian(frost[group == number]) for number in group])
    apart = np.nan_to_num(apart)
    x = np.array([patch.box.left_mm + patch.box.width_mm / 2.0 for patch in strip.patches])
    y = np.array([patch.box.top_mm + patch.box.height_mm / 2.0 for patch in strip.patches])
    far = np.hypot(x[:, None] - x, y[:, None] - y) + 1e9 * np.eye(len(x))
    nearest = np.argsort(far, axis=1)[:, :4]
    together = float(np.corrcoef(apart, apart[nearest].mean(axis=1))[0, 1])
    if together < 0.4:
        raise Refusal("disagree")
    raise Refusal("glare" if np.median(apart[odd]) > 0.0 else "uneven")


def flags_of(field: Field, odd: bool) -> tuple[str, ...]:
    """Why a patch is left out."""
    reasons = (
        (field.pixels < LEAST_PIXELS, SMALL),
        (is_clipped(field), CLIPPED),
        (odd, ODD),
    )
    return tuple(sentence for holds, sentence in reasons if holds)
