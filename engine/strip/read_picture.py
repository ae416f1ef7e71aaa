"""The strip seen straight on, with what was read drawn over it, for the user to believe."""

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.strip.find_view import View
from engine.strip.read_result import PatchReading
from engine.strip.rectify import straight_pixels
from shared.strip import Box, Strip

MOST_PX_PER_MM = 10.0
MOST_SIDE = 3000.0
READ, LEFT_OUT, FRAME = (90, 220, 120), (255, 90, 80), (110, 170, 255)


def drawn(
    pixels: NDArray[Any],
    view: View,
    strip: Strip,
    readings: tuple[PatchReading, ...],
    rim_mm: float,
) -> tuple[NDArray[np.uint8], float]:
    """Rows x columns x 3, uint8, and its pixels per mm: the photo straightened, not evened; each
    patch framed where it was measured, with its frost in per cent; crossed out if left out."""
    scale = min(MOST_PX_PER_MM, max(6.0, view.px_per_mm), MOST_SIDE / max(strip.size_mm))
    whole = Box(0.0, 0.0, *strip.size_mm)
    picture = straight_pixels(pixels, view, whole, 1.0 / scale)
    for box in [marker.box for marker in strip.markers] + [cell.box for cell in strip.cells]:
        _frame(picture, box, 0.0, scale, FRAME)
    for patch, reading in zip(strip.patches, readings, strict=True):
        colour = READ if reading.counts else LEFT_OUT
        corners = _frame(picture, patch.box, rim_mm, scale, colour)
        if not reading.counts:
            cv2.line(picture, corners[0], corners[1], colour, 1, cv2.LINE_AA)
        if np.isfinite(reading.frost):
            _write(picture, f"{round(100.0 * reading.frost)}", corners, colour)
    return picture, scale


def _frame(
    picture: NDArray[np.uint8], box: Box, rim_mm: float, scale: float, colour: tuple[int, ...]
) -> tuple[tuple[int, int], tuple[int, int]]:
    first = round((box.left_mm + rim_mm) * scale), round((box.top_mm + rim_mm) * scale)
    last = (
        round((box.left_mm + box.width_mm - rim_mm) * scale),
        round((box.top_mm + box.height_mm - rim_mm) * scale),
    )
    cv2.rectangle(picture, first, last, colour, 1)
    return first, last


def _write(
    picture: NDArray[np.uint8],
    text: str,
    corners: tuple[tuple[int, int], tuple[int, int]],
    colour: tuple[int, ...],
) -> None:
    """The text in the middle of the frame, on a dark rim so that it shows on frost too."""
    (left, top), (right, bottom) = corners
    face, size = cv2.FONT_HERSHEY_SIMPLEX, max(0.25, (bottom - top) / 80.0)
    (width, height), _ = cv2.getTextSize(text, face, size, 1)
    place = (left + right - width) // 2, (top + bottom + height) // 2
    for thickness, ink in ((3, (0, 0, 0)), (1, colour)):
        cv2.putText(picture, text, place, face, size, ink, thickness, cv2.LINE_AA)
