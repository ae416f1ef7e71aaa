"""The photo, small, with the part of it that the cells will show; dragged, or moved by keys."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QImage, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app import theme
from app.compare import overlays
from shared.fields import Region
from shared.units import percent

LEAST_SHARE = 0.05
_STEP, _FINE = 0.02, 0.005
_SHADE = QColor(0, 0, 0, 150)
_MOVES = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}


class CropPicture(QWidget):
    """`chosen(region)` when the user drew or moved a crop: left, top, right, bottom as shares."""

    chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._image: QImage | None = None
        self.crop: Region = (0.0, 0.0, 1.0, 1.0)
        self._from: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Part of the photo in the cells")
        self.setToolTip("Drag a part; arrow keys move it, + and - change its size, Shift finely")
        self._describe()

    @property
    def image(self) -> QImage | None:
        """The photo."""
        return self._image

    def show_photo(self, image: QImage | None) -> None:
        """Another photo, or none."""
        self._image = image
        self.setCursor(Qt.CursorShape.CrossCursor if image else Qt.CursorShape.ArrowCursor)
        self.update()

    def show_crop(self, crop: Region) -> None:
        """Mark a part, without telling anybody."""
        if self._from is None:
            self.crop = crop
            self._describe()
            self.update()

    def cut_grey(self) -> QImage | None:
        """The part of the photo, without its colours."""
        if self._image is None:
            return None
        width, height = self._image.width(), self._image.height()
        left, top, right, bottom = self.crop
        place = QRectF(left * width, top * height, (right - left) * width, (bottom - top) * height)
        return self._image.copy(place.toRect()).convertToFormat(QImage.Format.Format_Grayscale8)

    def sizeHint(self) -> QSize:
        """Small."""
        return QSize(150, 104)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The photo, shaded outside the crop."""
        del event
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(theme.PANE))
        if self._image is None:
            overlays.paint_message(painter, QRectF(self.rect()), "No photo yet")
        else:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            place, crop = self._place(), self._crop_px()
            painter.drawImage(place, self._image)
            for shade in (
                QRectF(place.topLeft(), QPointF(place.right(), crop.top())),
                QRectF(QPointF(place.left(), crop.bottom()), place.bottomRight()),
                QRectF(QPointF(place.left(), crop.top()), crop.bottomLeft()),
                QRectF(crop.topRight(), QPointF(place.right(), crop.bottom())),
            ):
                painter.fillRect(shade, _SHADE)
            painter.setPen(QPen(QColor(theme.ACCENT), 1.5))
            painter.drawRect(crop)
        if self.hasFocus():
            overlays.paint_ring(painter, QRectF(self.rect()))
        painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A drag begins."""
        if self._image is not None and event.button() == Qt.MouseButton.LeftButton:
            self._from = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """The crop follows."""
        if self._from is None:
            return
        first, last = self._share(self._from), self._share(event.position())
        sides = sorted((first.x(), last.x())), sorted((first.y(), last.y()))
        (left, right), (top, bottom) = sides
        if min(right - left, bottom - top) >= LEAST_SHARE:
            self._set((left, top, right, bottom))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """The drag is over."""
        del event
        if self._from is not None:
            self._from = None
            self.chosen.emit(self.crop)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows move, plus and minus change the size."""
        step = _FINE if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else _STEP
        key = Qt.Key(event.key())
        if self._image is None:
            super().keyPressEvent(event)
        elif key in _MOVES:
            across, down = _MOVES[key]
            self._take(self._moved(across * step, down * step))
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal, Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            larger = key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal)
            self._take(self._grown(step if larger else -step))
        else:
            super().keyPressEvent(event)

    def _take(self, crop: Region) -> None:
        self._set(crop)
        self.chosen.emit(self.crop)

    def _set(self, crop: Region) -> None:
        left, top, right, bottom = (round(side, 4) for side in crop)
        self.crop = left, top, right, bottom
        self._describe()
        self.update()

    def _moved(self, across: float, down: float) -> Region:
        left, top, right, bottom = self.crop
        across = min(max(across, -left), 1.0 - right)
        down = min(max(down, -top), 1.0 - bottom)
        return left + across, top + down, right + across, bottom + down

    def _grown(self, by: float) -> Region:
        left, top, right, bottom = self.crop
        grown = left - by, top - by, right + by, bottom + by
        if min(grown[2] - grown[0], grown[3] - grown[1]) < LEAST_SHARE:
            return self.crop
        return max(grown[0], 0.0), max(grown[1], 0.0), min(grown[2], 1.0), min(grown[3], 1.0)

    def _place(self) -> QRectF:
        assert self._image is not None
        size = self._image.size().scaled(self.size(), Qt.AspectRatioMode.KeepAspectRatio)
        return QRectF(
            (self.width() - size.width()) / 2.0,
            (self.height() - size.height()) / 2.0,
            size.width(),
            size.height(),
        )

    def _crop_px(self) -> QRectF:
        place = self._place()
        left, top, right, bottom = self.crop
        return QRectF(
            place.left() + left * place.width(),
            place.top() + top * place.height(),
            (right - left) * place.width(),
            (bottom - top) * place.height(),
        )

    def _share(self, spot: QPointF) -> QPointF:
        place = self._place()
        x = (spot.x() - place.left()) / place.width()
        y = (spot.y() - place.top()) / place.height()
        return QPointF(min(max(x, 0.0), 1.0), min(max(y, 0.0), 1.0))

    def _describe(self) -> None:
        left, top, right, bottom = self.crop
        self.setAccessibleDescription(
            f"From {percent(left)} to {percent(right)} of the width "
            f"and from {percent(top)} to {percent(bottom)} of the height."
        )
