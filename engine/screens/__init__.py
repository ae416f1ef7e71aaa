"""Screens: how a drive becomes machine pixels. One file a family."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from engine.screens import bluenoise, clustered, continuous, diffusion, mixed, settling, threshold
from shared.recipe import Screen


def screen(
    drive: NDArray[np.float32],
    wish: Screen,
    *,
    pitch_mm: float,
    top: int = 0,
    left: int = 0,
    progress: Callable[[float], None] | None = None,
) -> NDArray[np.uint8]:
    """Machine pixels for a drive, seen from the front.

    drive: rows x columns, 0 (no power) to 1 (full power).
    pitch_mm: distance between pixels on the glass.
    top, left: place of the drive's first pixel on the plate, in etch pixels. See `fits_windows`.
    progress: called with the share that is done, 0 to 1; what it raises ends the work.

    Returns uint8, rows x columns: for dots 0 (none) or 255 (burn); for the continuous screen the
    power from 0 to 255; for the mixed screen 0 (not fired), 1 (least power) to 255 (full power).
    """
    match wish.kind:
        case "continuous":
            pixels = continuous.follow(drive)
        case "mixed":
            return mixed.mix(drive, top=top, left=left, progress=progress)
        case "threshold":
            pixels = threshold.cut(drive, wish.level)
        case "diffusion":
            pixels = diffusion.diffuse(
                drive,
                wish.kernel,
                serpentine=wish.serpentine,
                top=top,
                left=left,
                progress=progress,
            )
            if wish.serpentine:
                settling.settle(pixels, drive)
            return pixels
        case "bluenoise":
            pixels = bluenoise.scatter(drive, top=top, left=left)
        case "clustered":
            pixels = clustered.cluster(
                drive,
                wish.ruling_per_cm,
                wish.angle_deg,
                pitch_mm=pitch_mm,
                top=top,
                left=left,
            )
        case unknown:
            raise ValueError(f"no such screen: {unknown}")
    if progress is not None:
        progress(1.0)
    return pixels


def fits_windows(wish: Screen) -> bool:
    """Whether a window gets the very pixels of the whole plate.

    Error diffusion starts at the drive's own corner, so of a window it gives what is only like
    the plate.
    """
    return wish.kind not in ("diffusion", "mixed")
