"""Screens: how a drive becomes machine pixels. One file a family."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from engine.screens import bluenoise, continuous, diffusion, threshold
from shared.recipe import Screen


def screen(
    drive: NDArray[np.float32],
    wish: Screen,
    *,
    top: int = 0,
    left: int = 0,
    pitch_mm: float = 0.1,
    progress: Callable[[float], None] | None = None,
) -> NDArray[np.uint8]:
    """Machine pixels for a drive, seen from the front.

    drive: rows x columns, 0 (no power) to 1 (full power).
    top, left: place of the drive's first pixel on the plate, in etch pixels. The blue-noise screen
        then gives the same pixels in a window as on the whole plate. Error diffusion always starts
        at the drive's own corner, so for it a window is only like the plate, not equal to it.
    progress: called with the share that is done, 0 to 1; what it raises ends the work.

    Returns uint8, rows x columns: for dots 0 (none) or 255 (burn), for the continuous screen the
    power from 0 to 255.
    """
    match wish.kind:
        case "continuous":
            pixels = continuous.follow(drive)
        case "threshold":
            pixels = threshold.cut(drive, wish.level)
        case "bluenoise":
            pixels = bluenoise.scatter(drive, top=top, left=left)
        case "diffusion":
            return diffusion.diffuse(drive, progress)
        case unknown:
            raise ValueError(f"no such screen: {unknown}")
    if progress is not None:
        progress(1.0)
    return pixels


def is_dots(wish: Screen) -> bool:
    """Whether the screen gives only bare glass and full power, which 1 bit a pixel can hold."""
    return wish.kind != "continuous"


def follows_neighbours(wish: Screen) -> bool:
    """Whether a dot depends on all that lies above it, so that no window stands for itself."""
    return wish.kind in ("diffusion", "mixed")
