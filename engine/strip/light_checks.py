"""What makes the light on a strip unfit to be evened out: reflections, shadows, a wrong strip."""

import numpy as np
from numpy.typing import NDArray

from engine.strip.even import Light, Values
from engine.strip.read_edges import Edges
from engine.strip.read_patches import Bare, middles
from engine.strip.refuse import Refusal
from engine.strip.robust import medians, spread
from engine.strip.veil import Veil
from shared.strip import Box, Strip

LEAST_STEP = 0.88
"""Light that no smooth surface follows leaves patches' edges lower or higher than 1."""
GLARE_ON_PATCH, GLARE_AROUND, GLARE_ANYWHERE, MOST_GLARE = 0.03, 0.25, 0.15, 0.02
GLARE_NEAR, MOST_SPOILT = 0.1, 0.06
"""Share of bad tiles beside a patch that is left out where another one has more; and share of
patches that a blemish may touch so that the rest is read."""
NEAR_MM = 3.5
SHADOW, READABLE, MOST_UNDER = 0.7, 0.008, 0.03
"""Bare glass below this share of what is expected lies in a shadow, if it is light enough to
tell."""
MOST_SPREAD, SUSPICIOUS_SPREAD = 0.03, 0.011
"""Of patches burnt alike after evening out, as a robust standard deviation of their frost; the
lesser one counts when neighbours are off together, as they are at a shadow's edge."""
TOGETHER = 0.25
"""Correlation of what patches are off with what their neighbours are off."""
SHADED_SPREAD, SHADED_TOGETHER = 0.006, 0.2
"""The same for patches that are off in step with the bare glass beside them."""
_BESIDE, _MOST_OFF_STEP = 12, 0.4
MOST_UNEVEN = 0.15
"""Of bare glass against frost, as in engine.strip.veil.Veil; without a reflection it stays below
0.03 (virtual photos)."""
MOST_GAIN_RATIO = 4.5
MOST_OFF = 0.09
MOST_LEFT_OUT = 0.15
STEP, MOST_STEPPED = 0.2, 0.1
"""Of bare glass beside a smooth surface, and the share of tiles that are, in a shadow."""
UNLIKE = 0.2
"""Spread of patches burnt alike over that of all, from which on they are another strip's: one of
the same markers has 0.35, a dirty one of its own 0.01 (virtual photos)."""


def check_strip(
    strip: Strip, frost: Values, group: NDArray[np.intp], light: Light, bare: Bare
) -> None:
    """Raises Refusal for another strip of the same markers, on which patches that are alike on this
    one are not although bare glass is even."""
    apart = np.nan_to_num(_apart(frost, group))
    counts = _repeated(group) & (frost > 0.1)
    stepped = np.abs(bare.over) > STEP * light.dark(bare.x_mm, bare.y_mm)
    if not counts.any() or stepped.mean() > MOST_STEPPED:
        return
    unlike = spread(apart[counts]) > UNLIKE * spread(frost[counts] - np.median(frost[counts]))
    if unlike and _together(strip, apart, counts) < TOGETHER:
        raise Refusal("wrong_strip", number=strip.number)


def beside_glare(strip: Strip, light: Light, bare: Bare) -> NDArray[np.bool_]:
    """Which patches lie beside bare glass that a reflection, dirt or damage lightens. Raises
    Refusal where it lies on much of the strip or on a cell."""
    over = bare.over / light.gain(bare.x_mm, bare.y_mm)
    if np.mean(over > GLARE_ANYWHERE) > MOST_GLARE:
        raise Refusal("glare")
    return _spoilt(strip, bare, over > GLARE_ON_PATCH, "glare")


def check_bare(veil: Veil) -> None:
    """Raises Refusal for a reflection so wide that it lifts bare glass smoothly."""
    if veil.uneven > MOST_UNEVEN:
        raise Refusal("glare")


def beside_shadow(strip: Strip, light: Light, bare: Bare, found: Edges) -> NDArray[np.bool_]:
    """Which patches lie beside bare glass that a shadow or dirt darkens. Raises Refusal where it
    lies on much of the strip or on a cell, and for light too uneven to be evened out."""
    if found.step < LEAST_STEP:
        raise Refusal("uneven")
    dark = light.dark(bare.x_mm, bare.y_mm)
    under = (bare.level < SHADOW * dark) & (dark > READABLE)
    if under.mean() > MOST_UNDER:
        raise Refusal("uneven")
    spoilt = _spoilt(strip, bare, under, "uneven")
    x, y = np.meshgrid(np.linspace(0, strip.size_mm[0], 9), np.linspace(0, strip.size_mm[1], 9))
    gain = light.gain(x, y)
    if gain.max() > MOST_GAIN_RATIO * gain.min():
        raise Refusal("uneven")
    return spoilt


def _spoilt(strip: Strip, bare: Bare, bad: NDArray[np.bool_], reason: str) -> NDArray[np.bool_]:
    """Which patches lie beside bad tiles of bare glass. Raises Refusal for many, or for a cell."""
    patches = np.array([_share_beside(patch.box, bare, bad) for patch in strip.patches])
    cells = np.array([_share_beside(cell.box, bare, bad) for cell in strip.cells])
    sure = patches > GLARE_AROUND
    perhaps = patches > GLARE_NEAR if sure.any() else np.zeros(len(patches), bool)
    many = np.mean(sure) > MOST_SPOILT or np.mean(perhaps) > MOST_LEFT_OUT
    if many or (cells > GLARE_AROUND).any():
        raise Refusal(reason)
    return np.asarray(perhaps)


def _share_beside(box: Box, bare: Bare, bad: NDArray[np.bool_]) -> float:
    x = np.abs(bare.x_mm - box.left_mm - box.width_mm / 2.0) < box.width_mm / 2.0 + NEAR_MM
    y = np.abs(bare.y_mm - box.top_mm - box.height_mm / 2.0) < box.height_mm / 2.0 + NEAR_MM
    beside = x & y
    return float(np.mean(bad[beside])) if beside.any() else 0.0


def odd_ones(frost: Values, group: NDArray[np.intp], off: Values) -> NDArray[np.bool_]:
    """Patches that differ too much from the median of those burnt alike."""
    apart = _apart(frost, group)
    apart = np.where(np.abs(frost * off) > np.abs(apart), frost * off, apart)
    return np.asarray(np.abs(np.nan_to_num(apart)) > MOST_OFF, bool)


def check_shadows(
    strip: Strip, frost: Values, group: NDArray[np.intp], light: Light, bare: Bare
) -> None:
    """Raises Refusal for a shadow's edge, which no smooth surface follows: it dims bare glass and
    frost by the same share, so that patches and the bare glass beside them are off in step. A
    reflection adds the same to both, which is far less of the frost's share."""
    apart = np.nan_to_num(_apart(frost, group))
    counts = _repeated(group) & (frost > 0.1)
    if counts.sum() < 8 or len(bare.over) < _BESIDE or spread(apart[counts]) < SHADED_SPREAD:
        return
    dark = light.dark(bare.x_mm, bare.y_mm)
    step = bare.over / np.maximum(dark, 1e-6)
    x, y = middles(strip.patches)
    far = np.hypot(x[:, None] - bare.x_mm, y[:, None] - bare.y_mm)
    beside = step[np.argsort(far, axis=1)[:, :_BESIDE]].mean(axis=1)[counts]
    off = np.clip(apart[counts] / frost[counts], -_MOST_OFF_STEP, _MOST_OFF_STEP)
    if not beside.std() or not off.std():
        return
    in_step = float(np.corrcoef(off, beside)[0, 1])
    slope = float((off * beside).sum() / (beside**2).sum())
    of_reflection = float(np.median(dark / light.gain(bare.x_mm, bare.y_mm)))
    if in_step > SHADED_TOGETHER and slope > 2.0 * of_reflection:
        raise Refusal("uneven")


def check_repeats(
    strip: Strip,
    frost: Values,
    group: NDArray[np.intp],
    odd: NDArray[np.bool_],
) -> None:
    """Raises Refusal when too many patches differ from their like: for the light's sake where
    neighbours are off together, else for the strip's."""
    apart = np.nan_to_num(_apart(frost, group))
    counts = _repeated(group) & (frost > 0.1)
    width = spread(apart[counts]) if counts.any() else 0.0
    together = _together(strip, apart, counts)
    many = odd.sum() > max(1, MOST_LEFT_OUT * len(odd)) or width > MOST_SPREAD
    if together < TOGETHER:
        if many:
            raise Refusal("disagree", number=strip.number)
        return
    if many or width > SUSPICIOUS_SPREAD:
        lighter = np.median(apart[odd | (np.abs(apart) > width)]) > 0.0
        raise Refusal("glare" if lighter and odd.any() else "uneven")


def _repeated(group: NDArray[np.intp]) -> NDArray[np.bool_]:
    return np.asarray(np.bincount(group)[group] > 1, bool)


def _together(strip: Strip, apart: Values, counts: NDArray[np.bool_]) -> float:
    """Correlation of each patch with the mean of the four nearest ones."""
    x, y = middles(strip.patches)
    far = np.hypot(x[:, None] - x, y[:, None] - y) + 1e9 * np.eye(len(x))
    beside = apart[np.argsort(far, axis=1)[:, :4]].mean(axis=1)
    if counts.sum() < 8 or not apart[counts].std() or not beside[counts].std():
        return 0.0
    return float(np.corrcoef(apart[counts], beside[counts])[0, 1])


def _apart(frost: Values, group: NDArray[np.intp]) -> Values:
    return frost - medians(frost, group)
