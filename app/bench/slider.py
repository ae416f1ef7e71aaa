"""A slider in the shape of a rule: a hairline, a notch at the default and a cursor."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF, QWheelEvent
from PySide6.QtWidgets import QSlider, QWidget

from app import theme

_STEPS = 10_000
_NOTCH = 120
_HALF_CURSOR = 5.0
_HEIGHT = 24


class Slider(QSlider):
    """Chooses a fraction from 0 to 1; `notch` is the fraction of the default.

    The keys are left to the owner, who knows what a step is.
    """

    pressed_at = Signal(float)
    dragged_to = Signal(float)
    let_go = Signal()
    double_clicked = Signal()
    wheel_turned = Signal(int)

    def __init__(self, notch: float, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._notch = notch
        self._grip = 0.0
        self._held = False
        self._turned = 0
        self.setRange(0, _STEPS)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFixedHeight(_HEIGHT)

    def fraction(self) -> float:
        """Where the cursor stands."""
        return self.value() / _STEPS

    def set_fraction(self, fraction: float) -> None:
        """Move the cursor without telling anybody."""
        self.blockSignals(True)
        self.setValue(round(fraction * _STEPS))
        self.blockSignals(False)
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(120, _HEIGHT)

    def minimumSizeHint(self) -> QSize:
        return QSize(60, _HEIGHT)

    def x_of(self, fraction: float) -> float:
        """The place of a fraction, in px from the left."""
        return self._start() + fraction * self._length()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton:
            event.ignore()
            return
        x = event.position().x()
        off = x - self.x_of(self.fraction())
        self._grip = off if abs(off) <= _HALF_CURSOR + 2 else 0.0
        self._held = True
        self.pressed_at.emit(self._fraction_at(x))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._held:
            self.dragged_to.emit(self._fraction_at(event.position().x()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._held and event.button() == Qt.MouseButton.LeftButton:
            self._held = False
            self.let_go.emit()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.double_clicked.emit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        if not self.hasFocus():
            event.ignore()
            return
        self._turned += event.angleDelta().y()
        notches = int(self._turned / _NOTCH)
        self._turned -= notches * _NOTCH
        if notches:
            self.wheel_turned.emit(notches)
        event.accept()

    def paintEvent(self, event: QPaintEvent) -> None:
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = self.height() / 2
        enabled = self.isEnabled()
        cursor, notch = self.x_of(self.fraction()), self.x_of(self._notch)
        rule = QColor(theme.EDGE if enabled else theme.LINE)
        painter.setPen(QPen(rule, 1.5))
        painter.drawLine(QPointF(self.x_of(0), middle), QPointF(self.x_of(1), middle))
        painter.setPen(QPen(QColor(theme.QUIET if enabled else theme.LINE), 1.5))
        painter.drawLine(QPointF(notch, middle + 3), QPointF(notch, middle + 8))
        painter.setPen(QPen(QColor(theme.TEXT if enabled else theme.LINE), 3))
        painter.drawLine(QPointF(notch, middle), QPointF(cursor, middle))
        self._paint_cursor(painter, cursor, middle, enabled)

    def _paint_cursor(self, painter: QPainter, x: float, middle: float, enabled: bool) -> None:
        top, shoulder, tip = middle - 8, middle + 1, middle + 6
        outline = QPolygonF(
            [
                QPointF(x - _HALF_CURSOR, top),
                QPointF(x + _HALF_CURSOR, top),
                QPointF(x + _HALF_CURSOR, shoulder),
                QPointF(x, tip),
                QPointF(x - _HALF_CURSOR, shoulder),
            ]
        )
        painter.setPen(QPen(QColor(theme.PANEL), 1.5))
        painter.setBrush(QColor(theme.TEXT if enabled else theme.EDGE))
        painter.drawPolygon(outline)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(theme.ACCENT), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 3, 3)

    def _start(self) -> float:
        return _HALF_CURSOR + 1

    def _length(self) -> float:
        return max(1.0, self.width() - 2 * self._start())

    def _fraction_at(self, x: float) -> float:
        return min(max((x - self._grip - self._start()) / self._length(), 0.0), 1.0)
