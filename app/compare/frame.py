"""A rendered picture of a part of the plate, and how it is painted into a view."""

import math

import attrs
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter

from app.compare.viewport import View

NEAREST_FROM_RATIO = 2.0
_HALF = 0.5


@attrs.frozen(eq=False)
class Frame:
    """A picture and the part of the plate that it covers, in mm as seen from the front.

    A `mirrored` picture holds its columns the other way round, as the file does: its first column
    lies at the right end of that part. It is painted as it is, in a mirrored view.
    """

    image: QImage
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    mirrored: bool = False


class Picture:
    """A frame with its reductions, made when a view first asks for them."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self._levels = [frame.image]

    def paint(self, painter: QPainter, view: View, seen: QRectF) -> None:
        """Paint into a painter whose unit is one device pixel, with 0, 0 at the pane's corner.

        Nothing is painted outside of `seen`, which is in device pixels.
        Reduced pictures are smoothed; from two device pixels per picture pixel on, pixels are
        squares. A picture at a whole ratio to the view lies on whole device pixels.
        """
        frame = self.frame
        left, top, right, bottom = view.device_rect(
            frame.left_mm,
            frame.top_mm,
            frame.left_mm + frame.width_mm,
            frame.top_mm + frame.height_mm,
        )
        if frame.image.isNull() or right <= left or bottom <= top:
            return
        across, exact_across = _ratio(right - left, frame.image.width())
        down, exact_down = _ratio(bottom - top, frame.image.height())
        exact = exact_across and exact_down
        if exact:
            left, top = math.floor(left + _HALF), math.floor(top + _HALF)
        image = self._level(min(across, down))
        across *= frame.image.width() / image.width()
        down *= frame.image.height() / image.height()
        smooth = not exact and min(across, down) < NEAREST_FROM_RATIO
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, smooth)
        source = _visible_part(image, seen, left, top, across, down)
        if source.isEmpty():
            return
        target = QRectF(
            left + source.left() * across,
            top + source.top() * down,
            source.width() * across,
            source.height() * down,
        )
        painter.save()
        painter.setClipRect(seen)
        painter.drawImage(target, image, source)
        painter.restore()

    def _level(self, ratio: float) -> QImage:
        """The picture, halved as long as it stays finer than the view."""
        level = max(0, math.floor(-math.log2(ratio) + 1e-6))
        while len(self._levels) <= level and min(_size(self._levels[-1])) > 1:
            last = self._levels[-1]
            self._levels.append(
                last.scaled(
                    (last.width() + 1) // 2,
                    (last.height() + 1) // 2,
                    Qt.AspectRatioMode.IgnoreAspectRatio,
                    Qt.TransformationMode.SmoothTransformation,
                )
            )
        return self._levels[min(level, len(self._levels) - 1)]


def _size(image: QImage) -> tuple[int, int]:
    return image.width(), image.height()


def _ratio(device_px: float, image_px: int) -> tuple[float, bool]:
    """Device pixels per picture pixel; whole, when that is right to half a pixel at the far end."""
    ratio = device_px / image_px
    whole = round(ratio)
    if whole >= 1 and abs(ratio - whole) * image_px < _HALF:
        return float(whole), True
    return ratio, False


def _visible_part(
    image: QImage, seen: QRectF, left: float, top: float, across: float, down: float
) -> QRectF:
    """The whole picture pixels that the view shows, with one more on each side for smoothing."""
    first = max(0, math.floor((seen.left() - left) / across) - 1)
    upper = max(0, math.floor((seen.top() - top) / down) - 1)
    last = min(image.width(), math.ceil((seen.right() - left) / across) + 1)
    lower = min(image.height(), math.ceil((seen.bottom() - top) / down) + 1)
    return QRectF(first, upper, max(0, last - first), max(0, lower - upper))
