"""Text and fiducial markers as dots, as seen from the front."""

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from shared.strip import Run

Dots = NDArray[np.bool_]

MARKER_CELLS = 6
"""Modules along a marker's side: four of code and a border of one (OpenCV, DICT_4X4_50)."""
SETS = 12
"""Sets of four markers in the dictionary's fifty."""
LEAST_LINE_PX = 13
"""Height of the lowest line whose figures can still be told apart: 6 from 8, 0 from 9."""
_DARK_ENOUGH = 100


def marker_ids(number: int) -> tuple[int, int, int, int]:
    """The markers of a strip, clockwise from the top left; strips of other numbers have others.

    The dictionary has room for twelve sets, so one strip in twelve shares them.
    """
    first = 4 * (number % SETS)
    return first, first + 1, first + 2, first + 3


def marker_dots(marker_id: int, module: int) -> Dots:
    """Where a marker with its quiet zone is burnt: square, 8 modules of `module` pixels.

    The code's white is frost and its black bare glass.
    """
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    code = cv2.aruco.generateImageMarker(dictionary, marker_id, MARKER_CELLS)
    framed = np.pad(np.asarray(code) > 127, 1, constant_values=True)
    return np.repeat(np.repeat(framed, module, axis=0), module, axis=1)


def setting_text(run: Run) -> str:
    """A run's setting as people say it."""
    return f"{run.power_max_pct:g}/{run.power_min_pct:g} % {run.speed_mm_s:g} mm/s"


def setting_lines(run: Run) -> tuple[str, str]:
    """The same in two lines."""
    power, _, speed = setting_text(run).partition("% ")
    return f"{power}%", speed


@lru_cache(maxsize=256)
def text_dots(text: str, height_px: int) -> Dots:
    """A line of text, rows x columns, without empty columns at its sides; `height_px` rows."""
    font = ImageFont.load_default(0.9 * height_px)
    left, _, right, _ = font.getbbox(text)
    image = Image.new("L", (round(right - left) + 4, height_px))
    ImageDraw.Draw(image).text((2 - left, 0.8 * height_px), text, 255, font, anchor="ls")
    dots = np.asarray(image) > _DARK_ENOUGH
    used = np.flatnonzero(dots.any(axis=0))
    return dots[:, used[0] : used[-1] + 1] if used.size else dots[:, :1]


def fitting_height(
    texts: tuple[str, ...], width_px: int, most_px: int, least_px: int
) -> int | None:
    """The largest height of line with which no text is wider than `width_px`; None if none is."""
    for height in range(most_px, least_px - 1, -1):
        if all(text_dots(text, height).shape[1] <= width_px for text in texts):
            return height
    return None
