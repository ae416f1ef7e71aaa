"""The tone curve as a picture whose points can be dragged or moved by keys."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.bench import curve_points
from app.bench.curve_picture import paint_curve
from app.bench.curve_points import Points
from shared.fields import IDENTITY_CURVE

Shape = Callable[[Points], Sequence[float]]

_STEP = 0.01
_FINE_STEP = 0.001
_REACH = 10.0
_OFF = 28.0
_EDGE = 7.0
WEDGE = 8.0
"""Thickness of the step wedges along the inputs and the outputs, in px."""
_ARROWS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Down: (0, -1),
    Qt.Key.Key_Up: (0, 1),
}


class CurveEditor(QWidget):
    """Click on the line to add a point, drag it off the picture to take it away.

    By keyboard: Tab goes from point to point, arrows move (with Shift finely), Insert adds a
    point after the chosen one, Delete takes it away. A drag, or a key until it is let go, is one
    `started`, several `edited(points)`, one `finished`.
    """

    edited = Signal(object)
    started = Signal()
    finished = Signal()
    reset_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.points: Points = IDENTITY_CURVE
        self.chosen = 0
        self._base: Points | None = None
        self._grabbed = 0
        self._busy = False
        self._counts: Sequence[float] = ()
        self._shape: Shape | None = None
        self._table: Sequence[float] = ()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(True)
        self._refresh()

    def sizeHint(self) -> QSize:
        return QSize(240, 184)

    def minimumSizeHint(self) -> QSize:
        return QSize(120, 184)

    def set_points(self, points: Points) -> None:
        """Show a curve; nothing is reported."""
        if points != self.points:
            self.points = points
            self.chosen = min(self.chosen, len(points) - 1)
            self._refresh()

    def set_shape(self, shape: Shape) -> None:
        """Take the line from `shape(points)`: outputs at even inputs from 0 to 1."""
        self._shape = shape
        self._refresh()

    def set_histogram(self, counts: Sequence[float]) -> None:
        """Draw how often each tone comes, from bare glass to full frost, behind the curve."""
        if counts != self._counts:
            self._counts = counts
            self.update()

    def area(self) -> QRectF:
        """Where inputs and outputs from 0 to 1 lie, in px."""
        return QRectF(self.rect()).adjusted(_EDGE + WEDGE, _EDGE, -_EDGE, -_EDGE - WEDGE)

    def place_of(self, x: float, y: float) -> QPointF:
        """The place of an input and an output, in px."""
        area = self.area()
        return QPointF(area.left() + x * area.width(), area.bottom() - y * area.height())

    def height_at(self, x: float) -> float:
        """The output of the line as drawn, at an input."""
        place = min(max(x, 0.0), 1.0) * (len(self._table) - 1)
        left = min(int(place), len(self._table) - 2)
        share = place - left
        return self._table[left] * (1 - share) + self._table[left + 1] * share

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton:
            event.ignore()
            return
        index = self._point_at(event.position())
        if index is None:
            index = self._add_at(event.position())
        if index is not None:
            self._base, self._grabbed = self.points, index
            self._choose(index)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._base is None:
            self._point_out(event.position())
            return
        x, y = self._share_at(event.position())
        if self._is_off(event.position()):
            self._change(curve_points.removed(self._base, self._grabbed))
        else:
            self._change(curve_points.moved(self._base, self._grabbed, x, y))
            self._choose(self._grabbed)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self._base is not None:
            self._base = None
            self._end()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        if key in _ARROWS:
            fine = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            self._nudge(*_ARROWS[key], _FINE_STEP if fine else _STEP)
        elif key == Qt.Key.Key_Insert:
            self._insert()
        elif key == Qt.Key.Key_Delete:
            self._change(curve_points.removed(self.points, self.chosen))
        elif key == Qt.Key.Key_Backspace:
            self.reset_wanted.emit()
        elif key == Qt.Key.Key_Home:
            self._choose(0)
        elif key == Qt.Key.Key_End:
            self._choose(len(self.points) - 1)
        else:
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if not event.isAutoRepeat() and self._base is None:
            self._end()
        super().keyReleaseEvent(event)

    def focusNextPrevChild(self, forward: bool) -> bool:
        there = self.chosen + (1 if forward else -1)
        if 0 <= there < len(self.points):
            self._choose(there)
            return True
        return super().focusNextPrevChild(forward)

    def focusInEvent(self, event: QFocusEvent) -> None:
        if event.reason() == Qt.FocusReason.TabFocusReason:
            self._choose(0)
        elif event.reason() == Qt.FocusReason.BacktabFocusReason:
            self._choose(len(self.points) - 1)
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        self._end()
        super().focusOutEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        if event.type() == QEvent.Type.EnabledChange:
            self.update()
        super().changeEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        del event
        paint_curve(self, self._table, self._counts)

    def _point_at(self, place: QPointF) -> int | None:
        distances = [(self.place_of(*p) - place).manhattanLength() for p in self.points]
        nearest = min(range(len(distances)), key=distances.__getitem__)
        return nearest if distances[nearest] <= _REACH else None

    def _is_on_line(self, place: QPointF) -> bool:
        x, _ = self._share_at(place)
        return abs(self.place_of(x, self.height_at(x)).y() - place.y()) <= _REACH

    def _add_at(self, place: QPointF) -> int | None:
        if not self._is_on_line(place):
            return None
        x, _ = self._share_at(place)
        return self._add(x, self.height_at(x))

    def _add(self, x: float, y: float) -> int | None:
        more = curve_points.added(self.points, x, y)
        if more is None:
            return None
        points, index = more
        self._change(points)
        return index

    def _insert(self) -> None:
        after = min(self.chosen, len(self.points) - 2)
        x = (self.points[after][0] + self.points[after + 1][0]) / 2
        index = self._add(x, self.height_at(x))
        if index is not None:
            self._choose(index)

    def _nudge(self, right: int, up: int, step: float) -> None:
        x, y = self.points[self.chosen]
        self._change(curve_points.moved(self.points, self.chosen, x + right * step, y + up * step))

    def _point_out(self, place: QPointF) -> None:
        on_point = self._point_at(place) is not None
        shape = Qt.CursorShape.SizeAllCursor if on_point else Qt.CursorShape.ArrowCursor
        if not on_point and self._is_on_line(place):
            shape = Qt.CursorShape.CrossCursor
        self.setCursor(shape)

    def _share_at(self, place: QPointF) -> tuple[float, float]:
        area = self.area()
        return (
            (place.x() - area.left()) / area.width(),
            (area.bottom() - place.y()) / area.height(),
        )

    def _is_off(self, place: QPointF) -> bool:
        return not self.area().adjusted(-_OFF, -_OFF, _OFF, _OFF).contains(place)

    def _choose(self, index: int) -> None:
        self.chosen = index
        self._refresh()

    def _change(self, points: Points) -> None:
        if points == self.points:
            return
        if not self._busy:
            self._busy = True
            self.started.emit()
        self.points = points
        self.chosen = min(self.chosen, len(points) - 1)
        self._refresh()
        self.edited.emit(points)

    def _end(self) -> None:
        if self._busy:
            self._busy = False
            self.finished.emit()

    def _refresh(self) -> None:
        self._table = self._shape(self.points) if self._shape else _straight(self.points)
        self.setAccessibleDescription(curve_points.in_words(self.points, self.chosen))
        self.update()


def _straight(points: Points, places: int = 257) -> list[float]:
    """Outputs of straight lines from point to point."""
    table = []
    left = 0
    for place in range(places):
        x = place / (places - 1)
        while left < len(points) - 2 and points[left + 1][0] <= x:
            left += 1
        (x0, y0), (x1, y1) = points[left], points[left + 1]
        table.append(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
    return table
