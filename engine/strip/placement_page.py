"""A page of paper as pixels: text that wraps, tables, pictures; saved as PDF."""

import io
from collections.abc import Sequence
from functools import lru_cache
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from shared.units import MM_PER_INCH

A4_MM = (210.0, 297.0)
DPI = 300
_LEADING = 1.35
"""Line to line, in heights of the font."""
_QUALITY = 90


class Page:
    """An A4 page in grey. Everything is placed and measured in mm, from the top left corner."""

    def __init__(self) -> None:
        size = tuple(round(_px(side)) for side in A4_MM)
        self._image = Image.new("L", (size[0], size[1]), 255)
        self._draw = ImageDraw.Draw(self._image)

    def text(
        self, x: float, y: float, text: str, size: float, *, bold: bool = False, anchor: str = "ls"
    ) -> None:
        """One line on the base line y; `size` is the font's height in mm."""
        stroke = _px(size * 0.025) if bold else 0.0
        self._draw.text((_px(x), _px(y)), text, 0, _font(size), anchor, stroke_width=stroke)

    def paragraph(self, x: float, y: float, width: float, text: str, size: float) -> float:
        """Text wrapped to a width, the first line's top at y; returns where the next begins."""
        for line in wrapped(text, width, size):
            self.text(x, y + size, line, size)
            y += size * _LEADING
        return y

    def line(self, x0: float, y0: float, x1: float, y1: float, width: float = 0.2) -> None:
        """A straight line."""
        self._draw.line([_px(x0), _px(y0), _px(x1), _px(y1)], 0, max(1, round(_px(width))))

    def polygon(self, *corners: tuple[float, float]) -> None:
        """A filled shape."""
        self._draw.polygon([(_px(x), _px(y)) for x, y in corners], 0)

    def picture(
        self, x: float, y: float, width: float, height: float, grey: NDArray[np.uint8]
    ) -> None:
        """Grey codes, rows x columns, reduced or enlarged to a size."""
        size = round(_px(width)), round(_px(height))
        shown = Image.fromarray(grey).resize(size, Image.Resampling.BOX)
        self._image.paste(shown, (round(_px(x)), round(_px(y))))

    def pdf(self, title: str) -> bytes:
        """The page as a PDF file without a date, so that the same page gives the same bytes."""
        data = io.BytesIO()
        self._image.save(
            data, "PDF", resolution=DPI, quality=_QUALITY, title=title,
            creationDate=None, modDate=None,
        )  # fmt: skip
        return data.getvalue()


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Text broken into lines no wider than `width` mm, where a word allows it."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def columns(
    rows: Sequence[Sequence[str]], width: float, size: float, gap: float
) -> tuple[float, list[float]]:
    """Where the columns of a table begin, in mm from its left, as wide as their widest text.

    Comes after the height of its font: `size`, or less where the table would be wider than
    `width`. The gap shrinks with it.
    """
    widths = [max(text_width(text, size) for text in column) for column in zip(*rows, strict=True)]
    scale = min(1.0, width / (sum(widths) + gap * (len(widths) - 1)))
    lefts = accumulate((scale * (wide + gap) for wide in widths[:-1]), initial=0.0)
    return scale * size, list(lefts)


def text_width(text: str, size: float) -> float:
    """Of one line, in mm."""
    return float(_font(size).getlength(text)) * MM_PER_INCH / DPI


@lru_cache(maxsize=16)
def _font(size: float) -> ImageFont.FreeTypeFont:
    font = ImageFont.load_default(_px(size))
    assert isinstance(font, ImageFont.FreeTypeFont)
    return font


def _px(mm: float) -> float:
    return mm * DPI / MM_PER_INCH
