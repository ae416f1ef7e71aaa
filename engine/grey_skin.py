"""The mix of the three records that keeps most detail in skin without clipping.

Our own method. Weights add up to 1, on a grid of 0.1 from -0.5 to 1.5. For a mix w the detail is

    (w' G w) / (w' N w + F)

over the part that counts: G holds the mean products of the tone gradients of the records, N the
part of it that is noise (so a noisy blue record pays for itself) and F the gradient energy of one
step that the eye just tells apart. A mix is ruled out when it clips more than a small share of the
part or of the picture, or moves the mean tone of the part far from its luma.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from engine import colour
from shared.fields import Region

Rgb = NDArray[np.float32]
Mask = NDArray[np.bool_]
Doubles = NDArray[np.float64]

LEAST, MOST, STEP = -0.5, 1.5, 0.1
# BT.601 digital chroma of an encoded 0..1 colour, and the ranges of it that are skin: Chai and Ngan
# 1999, IEEE Trans. Circuits Syst. Video Technol. 9(4) 551-564 (from memory).
CB = (-37.797, -74.203, 112.0, 128.0)
CR = (112.0, -93.786, -18.214, 128.0)
CB_SKIN, CR_SKIN = (77.0, 127.0), (133.0, 173.0)
LEAST_SKIN = 0.02
# Without skin or area the middle counts: from a quarter to three quarters both ways.
MIDDLE: Region = (0.25, 0.25, 0.75, 0.75)
# Gradient energy (two directions) of tones that are one L* apart, about one just visible step.
VISIBLE = 2.0 * 0.01**2
MOST_CLIPPED_PART = 0.005
MOST_CLIPPED_PICTURE = 0.01
MOST_SHIFT = 0.12
CLIP_MARGIN = 1.0 / 255.0
PIXELS_TRIED = 2048
_GRADIENTS = (np.array([[0, -1, 1]]), np.array([[0], [-1], [1]]))
_NOISE = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]])


def skin_weights(sample: Rgb, area: Region | None) -> tuple[float, float, float]:
    """The three weights, which add up to 1.

    `sample`: float32, rows x columns x 3, encoded sRGB 0..1. `area`: left, top, right, bottom as
    shares of the photo; without one, skin is looked for.
    """
    part = _part(sample, area)
    mixes = _mixes()
    clipped = _excess_clipping(sample, part, mixes)
    means = sample[part].mean(axis=0)
    shift = np.abs((mixes - colour.LUMA_601) @ means)
    usable = (clipped <= 0.0) & (shift <= MOST_SHIFT)
    best = np.where(usable, _detail(sample, part, mixes), -1.0 - clipped).argmax()
    red, green, blue = (round(float(weight), 4) for weight in mixes[best])
    return red, green, blue


def skin_mask(rgb: Rgb) -> Mask:
    """Where the chroma is that of skin; rgb as above, result rows x columns.

    The ranges were drawn up from photographs of their time: deep shade and strongly coloured light
    fall outside, wood and sand inside.
    """
    chroma = cv2.transform(rgb, np.array([CB, CR], np.float32))
    low = np.array([CB_SKIN[0], CR_SKIN[0]])
    high = np.array([CB_SKIN[1], CR_SKIN[1]])
    return np.asarray(cv2.inRange(chroma, low, high) > 0)


def _part(sample: Rgb, area: Region | None) -> Mask:
    rows, columns = sample.shape[:2]
    if area is None:
        skin = skin_mask(sample)
        if np.count_nonzero(skin) >= LEAST_SKIN * skin.size:
            return skin
    left, top, right, bottom = area or MIDDLE
    part = np.zeros((rows, columns), bool)
    first_row, first_column = min(int(top * rows), rows - 1), min(int(left * columns), columns - 1)
    last_row = max(first_row + 1, round(bottom * rows))
    last_column = max(first_column + 1, round(right * columns))
    part[first_row:last_row, first_column:last_column] = True
    return part


def _mixes() -> Doubles:
    """All weight triples, mixes x 3, the nearest to luma first so that ties go to it."""
    steps = np.arange(round((MOST - LEAST) / STEP) + 1) * STEP + LEAST
    red, green = (grid.ravel() for grid in np.meshgrid(steps, steps))
    triples = np.stack([red, green, 1.0 - red - green], axis=1)
    inside = (triples[:, 2] > LEAST - STEP / 2) & (triples[:, 2] < MOST + STEP / 2)
    triples = triples[inside]
    return triples[np.argsort(((triples - colour.LUMA_601) ** 2).sum(axis=1), kind="stable")]


def _detail(sample: Rgb, part: Mask, mixes: Doubles) -> Doubles:
    across, down = (cv2.filter2D(sample, -1, kernel)[part] for kernel in _GRADIENTS)
    strength = (across**2 + down**2).sum(axis=1)
    # The operator of Immerkaer 1996 (Comput. Vis. Image Underst. 64, 300-302) takes out smooth
    # forms; white noise of variance v leaves 36 v in it, and 2 v in each of the two gradients. The
    # calmer half of the part is used, where little but noise is left.
    calm = strength <= np.median(strength)
    noise = cv2.filter2D(sample, -1, _NOISE)[part][calm]
    forms = _spread(across, mixes) + _spread(down, mixes)
    return np.asarray(forms / (_spread(noise, mixes) * (4.0 / 36.0) + VISIBLE))


def _spread(values: Rgb, mixes: Doubles) -> Doubles:
    """Mean square of every mix of values (pixels x 3), from the 3 x 3 mean products."""
    products = (values.T @ values).astype(np.float64) / len(values)
    return np.asarray(((mixes @ products) * mixes).sum(axis=1))


def _excess_clipping(sample: Rgb, part: Mask, mixes: Doubles) -> Doubles:
    """By how much the share of clipped pixels goes beyond what is allowed, 0 or less is well."""
    in_part = _clipped_share(sample[part], mixes) - MOST_CLIPPED_PART
    in_picture = _clipped_share(sample.reshape(-1, 3), mixes) - MOST_CLIPPED_PICTURE
    return np.maximum(in_part, in_picture)


def _clipped_share(pixels: Rgb, mixes: Doubles) -> Doubles:
    """Share of pixels that a mix drives to an end, though at least one record is short of it."""
    pixels = pixels[:: max(1, len(pixels) // PIXELS_TRIED)]
    lost = (pixels.min(axis=1) >= 1.0 - CLIP_MARGIN) | (pixels.max(axis=1) <= CLIP_MARGIN)
    greys = mixes.astype(np.float32) @ pixels[~lost].T
    greys -= 0.5
    off = np.abs(greys, out=greys) >= 0.5 - CLIP_MARGIN
    return np.asarray(np.count_nonzero(off, axis=1) / len(pixels))
