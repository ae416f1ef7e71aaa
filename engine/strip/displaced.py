"""Whether every run lies where it should beside run 1, whose markers tell where the strip lies.

The glass or the origin may have been moved between two runs. A run's patches are looked for around
their places: where it lies they stand out from what surrounds them, each as much as it was fired.
"""

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.strip.even import Light
from engine.strip.read_patches import middle
from engine.strip.rectify import Shot
from engine.strip.refuse import Refusal
from shared.strip import Box, Patch, Strip

PITCH_MM = 0.25
REACH_MM, RING_MM = 4.5, 0.75
LEAST_MM = 0.75
"""From which on a run is said to be displaced; what lies nearer is read as it should be."""
CLEARER = 1.3
"""How many times more the patches stand out where a displaced run lies than where it should."""
LEAST_RISE, LEAST_ALIKE = 0.3, 0.72
"""Frost that full firing adds and its correlation with what was fired, where a run is taken as
found; by chance they reach 0.2 and 0.69 (virtual photos)."""
_FEWEST = 6
_HALF = round(REACH_MM / PITCH_MM)

Picture = NDArray[np.float32]


def check_places(strip: Strip, shot: Shot, light: Light) -> None:
    """Raises Refusal that names the runs which do not lie where they should."""
    if len(strip.runs) < 2:
        return
    whole = Box(0.0, 0.0, *strip.size_mm)
    level = shot.straight(whole, PITCH_MM)
    frost = np.clip(light.frost_picture(level, 0.0, 0.0, PITCH_MM), 0.0, 1.2)
    off = {run: _off_mm(strip, run, frost) for run in range(1, len(strip.runs))}
    away = {run: far for run, far in off.items() if far >= LEAST_MM}
    if away:
        names = [str(run + 1) for run in away]
        many = len(names) > 1
        runs = (
            f"Runs {', '.join(names[:-1])} and {names[-1]} lie" if many else f"Run {names[0]} lies"
        )
        raise Refusal("displaced", runs=runs, found=max(away.values()))


def _off_mm(strip: Strip, run: int, frost: Picture) -> float:
    """How far a run lies from its place; 0 where that cannot be told."""
    patches = [p for p in strip.patches if p.run == run and p.kind in ("solid", "power", "screen")]
    fired = np.array([patch.fired for patch in patches])
    if len(patches) < _FEWEST or not fired.std():
        return 0.0
    around = np.stack([_standing_out(frost, patch) for patch in patches])
    fired -= fired.mean()
    rise = np.tensordot(fired, around, 1) / (fired @ fired)
    scatter = np.sqrt(np.square(around - around.mean(axis=0)).sum(axis=0))
    alike = rise * math.sqrt(fired @ fired) / np.maximum(scatter, 1e-6)
    row, column = np.unravel_index(int(rise.argmax()), rise.shape)
    clear = rise[row, column] > max(CLEARER * rise[_HALF, _HALF], LEAST_RISE)
    if not clear or alike[row, column] < LEAST_ALIKE:
        return 0.0
    return PITCH_MM * math.hypot(row - _HALF, column - _HALF)


def _standing_out(frost: Picture, patch: Patch) -> Picture:
    """How much lighter a patch's box would be than a ring around it, were it displaced by up to the
    reach: rows x columns of displacements, none in the middle."""
    sides = patch.box.width_mm, patch.box.height_mm
    wide, tall = (2 * int(mm / PITCH_MM / 2.0) + 1 for mm in sides)  # odd, so as to be centred
    ring = 2 * round(RING_MM / PITCH_MM)
    x, y = middle(patch.box)
    edge = _HALF + max(wide, tall) // 2 + ring
    side = 2 * edge + 1
    centre = x / PITCH_MM - 0.5, y / PITCH_MM - 0.5
    part = cv2.getRectSubPix(np.ascontiguousarray(frost, np.float32), (side, side), centre)
    inner = cv2.boxFilter(part, -1, (wide, tall))
    outer = cv2.boxFilter(part, -1, (wide + ring, tall + ring))
    share = (wide * tall) / ((wide + ring) * (tall + ring))
    over = np.asarray((inner - outer) / (1.0 - share), np.float32)
    return over[edge - _HALF : edge + _HALF + 1, edge - _HALF : edge + _HALF + 1]
