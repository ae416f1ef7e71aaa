"""Detail: exaggerated over-sharpening, since fractured glass swallows most of it."""

from functools import partial

import cv2
import numpy as np

from engine import filters
from engine.filters import Floats
from engine.scratch import borrowed
from shared.operators import Detail

# Standard deviation under the window, in tone, from which on detail counts as an edge, which
# glass shows anyway.
EDGE = 0.2
# Activity in units of the noise floor at which the gain begins, and at which it is complete.
BEGINS = 1.4
COMPLETE = 2.4

# Of the variance, so that the gain rises at all where there is no noise floor.
_LEAST_RISE = 1e-9

SPARE_PX = 2 * filters.SPARE_PX


def exaggerate(tone: Floats, wish: Detail, pitch_mm: float) -> Floats:
    """Adds the detail finer than `wish.radius_mm` again, `wish.amount` times.

    With m and v the mean and variance of the tone t under a bell-shaped window of that radius,
    the detail t - m is taken times amount x G(v) x E^2 / (v + E^2). G rises from 0 to 1 between
    BEGINS and COMPLETE times the noise floor, so flat skin stays as it is. The last factor,
    that of J.-S. Lee's local statistics filter (IEEE TPAMI 2(2), 1980, from memory), spares
    strong edges.
    The result never lies more than `wish.halo` beyond the lightest and darkest tone within the
    radius, nor outside 0 to 1, and nears these bounds softly.

    `tone` float32 rows x columns, 0 to 1; the result has the same shape and range. Where the
    radius is narrower than a pixel the effect fades away. `amount` 0 gives an exact copy.
    """
    if wish.amount == 0.0:
        return tone.copy()
    radius = wish.radius_mm / pitch_mm
    # The bell reaches the radius to both sides.
    taps = filters.bell_taps(radius * radius / 6.0)
    with borrowed(tone.shape, 4) as (mean, squares, low, high):
        filters.weigh(tone, taps, mean)
        np.multiply(tone, tone, out=low)
        filters.weigh(low, taps, squares)
        filters.in_bands(partial(_to_change, wish), tone, mean, squares, spare=2)
        change = mean
        _bounds(tone, wish.halo, radius, low, high)
        return filters.soften(tone, change, low, high, np.empty_like(tone))


def detail_reach_mm(wish: Detail) -> float:
    """How far one place can influence another by detail, in mm.

    Windows end on whole pixels, so a part of a picture needs `SPARE_PX` more pixels.
    """
    return wish.radius_mm if wish.amount else 0.0


def _to_change(
    wish: Detail, tone: Floats, mean: Floats, squares: Floats, gain: Floats, edges: Floats
) -> None:
    """Writes over the mean by how much each tone is to change, before any limit."""
    filters.window_variance(squares, mean, gain)
    np.add(gain, np.float32(EDGE * EDGE), out=edges)
    first = (BEGINS * wish.threshold) ** 2
    last = max((COMPLETE * wish.threshold) ** 2, first + _LEAST_RISE)
    gain -= np.float32(first)
    gain *= np.float32(1.0 / (last - first))
    np.clip(gain, 0.0, 1.0, out=gain)
    gain *= np.float32(wish.amount * EDGE * EDGE)
    gain /= edges
    np.subtract(tone, mean, out=mean)
    mean *= gain


def _bounds(tone: Floats, halo: float, radius: float, low: Floats, high: Floats) -> None:
    """How dark and how light each place may become."""
    side = 2 * round(radius) + 1
    around = np.ones((side, side), dtype=np.uint8)
    cv2.erode(tone, around, dst=low)
    cv2.dilate(tone, around, dst=high)
    low -= np.float32(halo)
    high += np.float32(halo)
    cv2.max(low, filters.ZERO, dst=low)
    cv2.min(high, filters.ONE, dst=high)
