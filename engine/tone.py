"""Tone: how light each grey becomes.

The point operations are composed into one table, which is applied once; local contrast follows,
and least frost comes last of all, after detail.
"""

import math

import attrs
import cv2
import numpy as np
import numpy.typing as npt

from engine import filters
from engine.filters import Floats
from engine.grid import CELL
from engine.monotone import monotone_curve
from engine.scratch import borrowed
from shared.fields import Point
from shared.operators import Tone

Doubles = npt.NDArray[np.float64]

TABLE_SIZE = 65536

# The lightest tones that holding the highlights works on: those above 1 - HIGHLIGHTS.
HIGHLIGHTS = 0.4

# Bend of shadows and highlights at full amount: the slope at the end is 1 + BEND, and it is
# nowhere below 1 - BEND / 4, which keeps all tones apart.
BEND = 3.0

# Local contrast leaves alone what is finer than this share of the form size: detail's field.
FINEST_SHARE = 0.125
# Standard deviation under the window, in tone, from which on a form counts as an edge.
EDGE = 0.1

# Pixels to a form's radius that are enough to compute it: larger forms are taken on whole cells of
# pixels. This is the step that K. He and J. Sun, "Fast guided filter" (arXiv:1505.00996, 2015),
# take for a and b; here the form is smooth enough for all of it.
_ENOUGH_PX = 8
# Of those: two windows of the filter, two boxes of the bell, and the cells' own width.
_SPARE_CELLS = 5 * filters.SPARE_PX


@attrs.frozen
class EndShares:
    """Shares of the greys that end as bare glass and as the fullest frost, 0 to 1."""

    bare: float
    full: float


def tone_table(wish: Tone) -> Floats:
    """The tone of every grey: float32, 65536 entries, for the codes round(grey x 65535).

    In this order: bare-glass and full-frost point, open shadows, hold highlights, middle tone,
    curve. It never falls and stays within 0 to 1.
    """
    bare, full = _code(wish.bare_point), _code(wish.full_point)
    tones = np.clip((np.arange(TABLE_SIZE) - bare) / (full - bare), 0.0, 1.0)
    tones = _bend(tones, wish.lift, wish.lift_reach)
    tones = 1.0 - _bend(1.0 - tones, wish.hold, HIGHLIGHTS)
    if wish.middle != 0.5:
        tones = tones ** (math.log(wish.middle) / math.log(0.5))
    if wish.has_curve:
        tones = _follow_curve(tones, wish.curve)
    tones = np.maximum.accumulate(np.clip(tones, 0.0, 1.0))
    return tones.astype(np.float32)


def apply_table(grey: Floats, table: Floats) -> Floats:
    """Each grey (float32 rows x columns, beyond 0 to 1 counts as the end) through a table."""
    return np.asarray(cv2.LUT(_codes(grey), table), dtype=np.float32)


def local_contrast(tone: Floats, wish: Tone, pitch_mm: float) -> Floats:
    """Strengthens forms of about `wish.local_radius_mm`, without halos at strong edges.

    The form at each place is what a guided filter of that radius would smooth away. It is taken
    from the picture without its finest detail, so that neither noise nor the pitch matters, and
    is added again `wish.local` times, ever less towards 0 and 1, so that nothing clips.

    `tone` float32 rows x columns, 0 to 1; larger `wish.local` gives harder modelling. The result
    has the same shape and range. `local` 0 gives an exact copy. A part of the plate begins on
    multiples of `grid.CELL` pixels, so that its cells are those of the whole.
    """
    if wish.local == 0.0:
        return tone.copy()
    radius = wish.local_radius_mm / pitch_mm
    cell = _cell(radius)
    small = filters.reduced(tone, cell)
    with borrowed(tone.shape, 1) as (change,), borrowed(small.shape, 1) as (form,):
        _write_forms(small, radius / cell, form)
        np.multiply(form, np.float32(wish.local), out=form)
        filters.enlarged(form, cell, change)
        return filters.soften(tone, change, 0.0, 1.0, np.empty_like(tone))


def local_reach_px(wish: Tone, pitch_mm: float) -> int:
    """How many pixels off one place can influence another by local contrast."""
    if wish.local == 0.0:
        return 0
    radius = wish.local_radius_mm / pitch_mm
    smoothing = math.sqrt(6.0) * FINEST_SHARE  # half width of the bell that smooths, per radius
    return math.ceil(radius * (2.0 + smoothing)) + _SPARE_CELLS * _cell(radius)


def _cell(radius: float) -> int:
    """How many pixels a way are taken together for forms of a radius in pixels: 1, 2, 4 or 8."""
    cell = 1
    while cell < CELL and radius >= 2 * cell * _ENOUGH_PX:
        cell *= 2
    return cell


def _write_forms(tone: Floats, radius: float, out: Floats) -> None:
    """What the guided filter of a radius in pixels would smooth away, finest detail excepted."""
    # Both the pixel itself, a box of width 1, and the smoothing take away fine detail.
    smoothing = max(0.0, (radius * FINEST_SHARE) ** 2 - 1.0 / 12.0)
    with borrowed(tone.shape, 2) as (form, base):
        filters.weigh(tone, filters.bell_taps(smoothing), form)
        # A box that reaches the radius to both sides has a third of its square as variance.
        filters.guided_base(form, radius * radius / 3.0, EDGE, base)
        np.subtract(form, base, out=out)


def keep_least_frost(look: Floats, wish: Tone) -> Floats:
    """Raises the darkest tone to `wish.least_frost` and all others in proportion, 1 staying 1."""
    least = wish.least_frost
    raised = np.multiply(look, np.float32(1.0 - least))
    raised += np.float32(least)
    return raised


def end_shares(grey: Floats, wish: Tone) -> EndShares:
    """Shares of the greys at or below the bare-glass point, and at or above the full-frost point.

    `grey` float32 rows x columns; compared to one code of 65535, as the table sees it.
    """
    codes = _codes(grey)
    bare = np.count_nonzero(codes <= _code(wish.bare_point))
    full = np.count_nonzero(codes >= _code(wish.full_point))
    return EndShares(bare / codes.size, full / codes.size)


def _bend(tones: Doubles, amount: float, reach: float) -> Doubles:
    """Lightens the tones below `reach`, most at a quarter of it; C2 at the reach, 0 stays 0.

    With x = tone / reach it adds amount x BEND x (1 - x)^3 x, whose slope is steepest at 0 and
    lowest, 1 - amount BEND / 4, at x = 1/2. Our own formula.
    """
    if amount == 0.0:
        return tones
    x = np.minimum(tones / reach, 1.0)
    left = 1.0 - x
    return tones + reach * amount * BEND * x * left * left * left


def _follow_curve(tones: Doubles, curve: tuple[Point, ...]) -> Doubles:
    """Tones through a curve that never overshoots its points, by monotone cubic interpolation.

    Fritsch and Carlson, SIAM J. Numer. Anal. 17(2), 1980. Points closer than one code, and
    differences beyond the ninth digit, would only divide by nearly nothing.
    """
    points = {_code(x): round(y, 9) for x, y in curve}
    steps = np.array(list(points)) / (TABLE_SIZE - 1)
    return monotone_curve(steps, np.array(list(points.values())), tones)


def _code(grey: float) -> int:
    return round(grey * (TABLE_SIZE - 1))


def _codes(grey: Floats) -> npt.NDArray[np.uint16]:
    codes = np.empty(grey.shape, dtype=np.uint16)
    filters.to_codes(grey, TABLE_SIZE - 1.0, codes)
    return codes
