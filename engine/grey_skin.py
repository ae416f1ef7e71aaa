"""The mix of the three records that keeps most detail in skin without clipping.

Our own method. Weights add up to 1, on a grid of 0.1 from -0.5 to 1.5. For a mix w the detail is

    (w' G w - w' N w) / (w' N w + F)

over the part that counts: G holds the mean products of the tone gradients of the records, N what
noise adds to them (so a noisy blue record gains nothing and pays) and F the gradient energy of one
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
# How lively the surroundings of a pixel are tells what it shows: noise alone in the calmest
# quarter, outlines that any mix would show in the liveliest fifth.
CALM_AROUND = (9, 9)
CALM_SHARE, MILD_SHARE = 0.25, 0.8
# Pixels that the filters below reach; the outline of skin is not detail in it.
_TOUCHED = np.ones((3, 3), np.uint8)
_ACROSS = np.array([[0.0, -1.0, 1.0]])
_DOWN = _ACROSS.T
_NOISE = np.outer((1.0, -2.0, 1.0), (1.0, -2.0, 1.0))


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
    red, green, blue = (round(float(weight), 4) + 0.0 for weight in mixes[best])
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
        skin = cv2.erode(skin_mask(sample).astype(np.uint8), _TOUCHED) > 0
        if np.count_nonzero(skin) >= LEAST_SKIN * skin.size:
            return np.asarray(skin)
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
    across, down = _filtered(sample, _ACROSS), _filtered(sample, _DOWN)
    around = cv2.blur((across**2 + down**2).sum(axis=2), CALM_AROUND)[part]
    calm, mild = (around <= np.quantile(around, share) for share in (CALM_SHARE, MILD_SHARE))
    # The operator of Immerkaer 1996 (Comput. Vis. Image Underst. 64, 300-302) takes out smooth
    # forms; white noise of variance v leaves 36 v in it, and 2 v in each of the two gradients. The
    # calmest places of pure noise show 0.7 of it or more (measured), hence the divisor.
    noise = _spread(_filtered(sample, _NOISE)[part][calm], mixes) * (4.0 / 36.0) / 0.7
    forms = _spread(across[part][mild], mixes) + _spread(down[part][mild], mixes)
    return np.asarray(np.maximum(forms - noise, 0.0) / (noise + VISIBLE))


def _filtered(sample: Rgb, kernel: Doubles) -> Rgb:
    return np.asarray(cv2.filter2D(sample, -1, kernel), np.float32)


def _spread(values: Rgb, mixes: Doubles) -> Doubles:
    """Mean square of every mix of values (pixels x 3), from the 3 x 3 mean products."""
    products = cv2.mulTransposed(values, True, dtype=cv2.CV_64F) / len(values)
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
    # Not a matrix product: on busy cores the threads of one wait for each other for up to 50 ms.
    records = np.ascontiguousarray(pixels[~lost].T)
    greys = np.einsum("mr,rp->mp", mixes.astype(np.float32), records)
    off = np.abs(greys - 0.5) >= 0.5 - CLIP_MARGIN
    return np.asarray(np.count_nonzero(off, axis=1) / len(pixels))
