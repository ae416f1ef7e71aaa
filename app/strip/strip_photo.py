"""A picture that can be enlarged and moved, with one place of it marked."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app import theme
from app.compare import overlays

_MOST_ZOOM = 12.0
_STEP = 1.25
_MOVE = 40.0
_MOVES = {
    Qt.Key.Key_Left: (_MOVE, 0.0),
    Qt.Key.Key_Right: (-_MOVE, 0.0),
    Qt.Key.Key_Up: (0.0, _MOVE),
    Qt.Key.Key_Down: (0.0, -_MOVE),
}


class StripPhoto(QWidget):
    """The wheel and + and - zoom, a drag and the arrows move; `pressed` gives the picture's x, y in
    pixels."""

    pressed = Signal(float, float)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._image: QImage | None = None
        self._message = ""
        self._zoom = 1.0
        self._middle = QPointF(0.5, 0.5)
        self._mark: QRectF | None = None
        self._grip: QPointF | None = None
        self._moved = False
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setToolTip("Wheel, + and - zoom; drag and arrow keys move; 0 shows the whole")

    @property
    def image(self) -> QImage | None:
        """What is shown."""
        return self._image

    @property
    def zoom(self) -> float:
        """1 when the whole picture fits."""
        return self._zoom

    def show_image(self, image: QImage | None, message: str = "") -> None:
        """Another picture, whole; or why there is none."""
        self._image, self._message, self._mark = image, message, None
        self.setAccessibleDescription("" if image else message)
        self._set_zoom(1.0)

    def mark(self, place: QRectF | None, words: str = "") -> None:
        """Frame a place, in pixels of the picture, and move it into view."""
        self._mark = place
        self.setAccessibleDescription(words)
        if place is not None and self._image is not None and self._zoom > 1.0:
            middle = place.center()
            self._middle = QPointF(
                middle.x() / self._image.width(), middle.y() / self._image.height()
            )
            self._keep_in()
        self.update()

    def sizeHint(self) -> QSize:
        """Room for a picture."""
        return QSize(460, 420)

    def minimumSizeHint(self) -> QSize:
        """Still of use."""
        return QSize(160, 160)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The picture and the mark."""
        del event
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(theme.PANE))
        if self._image is None:
            overlays.paint_message(painter, QRectF(self.rect()), self._message)
        else:
            scale, corner = self._view()
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, scale < 3.0)
            size = QPointF(self._image.width(), self._image.height()) * scale
            painter.drawImage(QRectF(corner, corner + size), self._image)
            if self._mark is not None:
                place = QRectF(
                    self._mark.topLeft() * scale + corner, self._mark.bottomRight() * scale + corner
                )
                painter.setPen(QPen(QColor(theme.ACCENT), 2.5))
                painter.drawRect(place.adjusted(-3, -3, 3, 3))
        if self.hasFocus():
            overlays.paint_ring(painter, QRectF(self.rect()))
        painter.end()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer."""
        turns = event.angleDelta().y() / 120.0
        self._zoom_at(event.position(), self._zoom * _STEP**turns)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Zoom and move."""
        key = Qt.Key(event.key())
        middle = QPointF(self.width() / 2.0, self.height() / 2.0)
        if key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self._zoom_at(middle, self._zoom * _STEP)
        elif key == Qt.Key.Key_Minus:
            self._zoom_at(middle, self._zoom / _STEP)
        elif key == Qt.Key.Key_0:
            self._set_zoom(1.0)
        elif key in _MOVES:
            self._move(QPointF(*_MOVES[key]))
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A drag or a click begins."""
        self._grip, self._moved = event.position(), False

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """The picture follows."""
        if self._grip is None:
            return
        by = event.position() - self._grip
        if self._moved or by.manhattanLength() > 4:
            self._moved = True
            self._move(by)
            self._grip = event.position()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A click says where."""
        self._grip = None
        if not self._moved and self._image is not None:
            scale, corner = self._view()
            spot = (event.position() - corner) / scale
            self.pressed.emit(spot.x(), spot.y())

    def _view(self) -> tuple[float, QPointF]:
        """Widget pixels per picture pixel, and where the picture's corner lies."""
        assert self._image is not None
        fit = min(self.width() / self._image.width(), self.height() / self._image.height())
        scale = fit * self._zoom
        middle = QPointF(
            self._middle.x() * self._image.width(), self._middle.y() * self._image.height()
        )
        return scale, QPointF(self.width() / 2.0, self.height() / 2.0) - middle * scale

    def _zoom_at(self, spot: QPointF, zoom: float) -> None:
        if self._image is None:
            return
        scale, corner = self._view()
        held = (spot - corner) / scale
        self._zoom = min(max(zoom, 1.0), _MOST_ZOOM)
        scale, corner = self._view()
        self._move(spot - (held * scale + corner))

    def _move(self, by: QPointF) -> None:
        if self._image is None:
            return
        scale, _ = self._view()
        self._middle -= QPointF(
            by.x() / scale / self._image.width(), by.y() / scale / self._image.height()
        )
        self._keep_in()
        self.update()

    def _set_zoom(self, zoom: float) -> None:
        self._zoom, self._middle = zoom, QPointF(0.5, 0.5)
        self.update()

    def _keep_in(self) -> None:
        """Let no more surround in than the whole picture has."""
        reach = 0.5 - 0.5 / self._zoom
        self._middle = QPointF(
            min(max(self._middle.x(), 0.5 - reach), 0.5 + reach),
            min(max(self._middle.y(), 0.5 - reach), 0.5 + reach),
        )
