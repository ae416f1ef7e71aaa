"""Dots that follow a measured glass: changed until the burnt picture looks as it is wanted.

dots -> frost on the glass -> what is seen wrongly, counted in dots -> dots changed; ROUNDS times

A screen places its dots for glass on which each counts alike. Burnt, those that stand close frost
more or less than those apart, and a lagging tube parts the lines. Where the screen's dot gain was
measured, the model knows enough of that to make it good: least-squares model-based halftoning
(Pappas and Neuhoff, Proc. SPIE 1666 (1992) 165-176; from memory) by the moves of `settling`, and by
single dots added or taken where the tone is off.
"""

import math
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from engine import burnt, drive
from engine.colour import look_up
from engine.drive import Aim
from engine.filters import Floats
from engine.linearise import CORNERS, gain_is_measured
from engine.progress import Progress, unheard
from engine.screens import mixed
from engine.screens.settling import BLOCK_ROWS, Loop, disturbance
from engine.screens.settling_text import REACH, TAPS, UNIT
from shared.recipe import Screen

ROUNDS = 4
"""Each takes away about half as much as the one before (measured on virtual sheets)."""
COVERED = {"diffusion": (1.0, 255), "mixed": (CORNERS["mixed"], mixed.LEAST)}
"""For each screen whose dots may be moved: the drive at which they cover all, and what a dot is."""
LEAST_SLOPE = 0.15
"""A dot counts at least so much frost, where the curve is flatter."""
_BLOCK_PIXELS, _LEAST_ROWS = 400_000, 64
"""Worked on at once, so that memory stays bounded."""
_SLOPE_NODES, _NEAR_PX = 60.0, 2.0
_ALONE = UNIT * TAPS[REACH] ** 2
"""What a single dot is seen as where it stands."""
_WORTH = 0.075
"""Share of that by which a dot more or less has to better things."""
_APART = 9
"""Side of the square in which at most one dot is added or taken in a round."""


def follows(aim: Aim) -> bool:
    """Whether the dots of this screen follow this glass: both are made for it, and measured."""
    kind = aim.screen.kind
    settles = kind != "diffusion" or aim.screen.serpentine
    return kind in COVERED and settles and gain_is_measured(aim.profile, kind)


def follow(
    dots: NDArray[np.uint8],
    look: NDArray[np.uint16],
    asked: Floats,
    aim: Aim,
    *,
    mirrored: bool = False,
    progress: Progress | None = None,
) -> None:
    """Change the dots of a screen in place; rows x columns, from the front.

    look: what they shall show, 0 to 65535. asked: the drive they were made from, 0 to 1; where it
    is 0 or covers all, they stay. mirrored: as the machine sees them, for the lag. progress: called
    with a share from 0 to 1; may raise `Cancelled`. Does nothing unless `follows`.
    """
    if not follows(aim) or not dots.size:
        return
    report = progress or unheard
    rows, columns = dots.shape
    loop = Loop(columns)
    reach = burnt.reach_mm(aim.profile, aim.screen, aim.pitch_mm)
    pad = math.ceil(reach / aim.pitch_mm) + REACH
    height = min(BLOCK_ROWS, max(_LEAST_ROWS, _BLOCK_PIXELS // columns))
    tops = range(0, rows, height)
    for number in range(ROUNDS * len(tops)):
        top = tops[number % len(tops)]
        bottom = min(top + height, rows)
        first = max(0, top - pad) // 2 * 2  # even, so that lines keep their direction
        wide = slice(first, bottom + pad)
        disturbed = disturbance(_error(dots[wide], look[wide], asked[wide], aim, mirrored))
        inner = slice(top - first, bottom - first)
        _change(loop, dots[top:bottom], asked[top:bottom], aim.screen, disturbed[inner])
        report((number + 1) / (ROUNDS * len(tops)))


def _error(
    dots: NDArray[np.uint8], look: NDArray[np.uint16], asked: Floats, aim: Aim, mirrored: bool
) -> Floats:
    """Frost too much, in UNIT a dot, rounded; float32."""
    frost = burnt.frost_of_dots(dots, aim.profile, aim.screen, aim.pitch_mm, mirrored=mirrored)
    frost -= drive.frost_wanted(look * np.float32(1.0 / 65535.0), aim)
    near = cv2.GaussianBlur(asked, (0, 0), _NEAR_PX)
    frost *= look_up(np.asarray(near, np.float32), _dots_a_frost(aim))
    return np.rint(frost, out=frost)


@lru_cache(maxsize=8)
def _dots_a_frost(aim: Aim) -> Floats:
    """For 65536 even drives, how many dots, in UNIT, a pixel's full frost is."""
    curve = aim.curve
    covering, _ = COVERED[aim.screen.kind]
    slope = covering * np.gradient(curve.frost, curve.drives)
    inside = curve.drives < covering
    slope = np.where(inside, slope, slope[inside][-1]).astype(np.float32)[None, :]
    smooth = cv2.GaussianBlur(slope, (0, 0), _SLOPE_NODES, borderType=cv2.BORDER_REPLICATE)[0]
    drives = np.linspace(0.0, 1.0, 65536)
    frost = np.interp(drives, curve.drives, np.maximum(smooth, LEAST_SLOPE))
    return np.asarray(UNIT / frost, np.float32)


def _change(
    loop: Loop,
    dots: NDArray[np.uint8],
    asked: Floats,
    screen: Screen,
    disturbed: Floats,
) -> None:
    """Add and take single dots, then move dots by a place, in one block of rows."""
    covering, dot = COVERED[screen.kind]
    fixed = (asked <= 0.0) | (asked >= covering)
    places = np.where(dots > 0, np.uint8(255), np.uint8(0))
    better = np.where(places > 0, 2.0 * disturbed, -2.0 * disturbed) - np.float32(_ALONE)
    better[fixed] = -np.inf
    best = cv2.dilate(better, np.ones((_APART, _APART), np.uint8))
    picked = (better == best) & (better > _WORTH * _ALONE)
    more = np.where(picked, np.where(places > 0, -UNIT, UNIT), 0.0).astype(np.float32)
    places[picked] ^= 255
    loop.settle(places, fixed, disturbed + disturbance(more), 1)
    np.copyto(dots, np.minimum(places, np.uint8(dot)), where=~fixed)
