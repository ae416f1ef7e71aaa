"""A small plot with axes: what the plots of the glass have in common."""

import math
from collections.abc import Iterable, Sequence

import attrs
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app import theme
from app.glass.axis import Axis
from shared.units import percent

FROST = Axis(0.0, 1.0)
_EDGE = 6.0
_SAMPLE = 18.0
_DASHES = (6.0, 3.0)
_TICK_ROOM = 1.9
"""Of its own width, what the text of a tick needs."""

Points = Sequence[tuple[float, float]]


@attrs.frozen
class Line:
    """A curve by its points, and its name; a second one is dashed and quieter."""

    name: str
    points: Points
    second: bool = False

    def pen(self) -> QPen:
        """How it is drawn, in the plot and in its legend."""
        pen = QPen(QColor(theme.QUIET if self.second else theme.TEXT), 1.75)
        if self.second:
            pen.setDashPattern(_DASHES)
        return pen


class Plot(QWidget):
    """Frost, 0 to 100 %, against something; says in words what it shows."""

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.axis = Axis(0.0, 1.0)
        self.title = title
        self.lines: tuple[Line, ...] = ()
        self.caption = ""
        self.message = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(f"Frost against {title}")

    def sizeHint(self) -> QSize:
        """Of a bench step."""
        return QSize(280, 150)

    def minimumSizeHint(self) -> QSize:
        """Below this the words have no room."""
        return QSize(200, 120)

    @property
    def metrics(self) -> QFontMetricsF:
        """Of the words in the plot."""
        return QFontMetricsF(theme.caption_font())

    def area(self) -> QRectF:
        """Where the curves are drawn, in px."""
        left, right = self.sides()
        below = 2 * self.metrics.height() + _EDGE
        top = self.head_room()
        return QRectF(left, top, right - left, max(self.height() - below - top, 1.0))

    def sides(self) -> tuple[float, float]:
        """Where the curves begin and end across, in px."""
        left = math.ceil(self.metrics.horizontalAdvance("100 %") + 2 * _EDGE)
        return left, self.width() - 2 * _EDGE

    def head_room(self) -> float:
        """Height above the curves, for a legend and what else is written there."""
        rows = len(self.lines) if len(self.lines) > 1 else int(bool(self.caption))
        return 2 * _EDGE + rows * self.metrics.height()

    def place_of(self, value: float, frost: float) -> QPointF:
        """The place of a value and a frost, in px."""
        area = self.area()
        x = area.left() + self.axis.share(value) * area.width()
        return QPointF(x, area.bottom() - FROST.share(frost) * area.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Ground, axes, what belongs behind the curves, the curves, what belongs before them."""
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(theme.caption_font())
        painter.setPen(QPen(QColor(theme.LINE), 1))
        painter.setBrush(QColor(theme.PANE))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        self.paint_behind(painter)
        self._paint_frost_axis(painter)
        self._paint_axis(painter)
        for line in reversed(self.lines):
            painter.setPen(line.pen())
            painter.drawPolyline(QPolygonF([self.place_of(*point) for point in line.points]))
        self.paint_before(painter)
        self._paint_legend(painter)
        if self.message:
            painter.setPen(QColor(theme.QUIET))
            painter.drawText(
                self.area(), Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self.message
            )
        painter.end()

    def paint_behind(self, painter: QPainter) -> None:
        """What lies behind the axes."""

    def paint_before(self, painter: QPainter) -> None:
        """What lies before the curves."""

    def paint_counts(self, painter: QPainter, counts: Sequence[float]) -> None:
        """A histogram along the whole axis."""
        most = max(counts, default=0.0)
        if most <= 0.0:
            return
        area = self.area()
        step = area.width() / len(counts)
        path = QPainterPath(area.bottomLeft())
        for number, count in enumerate(counts):
            top = area.bottom() - 0.8 * area.height() * (count / most) ** 0.5
            path.lineTo(area.left() + number * step, top)
            path.lineTo(area.left() + (number + 1) * step, top)
        path.lineTo(area.bottomRight())
        painter.fillPath(path, QColor(theme.LINE))

    def tick_text(self, value: float) -> str:
        """What is written at a place of the axis across."""
        return f"{value:.4g}"

    def _paint_frost_axis(self, painter: QPainter) -> None:
        area, high = self.area(), self.metrics.height()
        for share in FROST.ticks(int(area.height() / (1.6 * high)) + 1):
            y = self.place_of(self.axis.low, share).y()
            painter.setPen(QPen(QColor(theme.LINE), 1))
            painter.drawLine(QPointF(area.left(), y), QPointF(area.right(), y))
            painter.setPen(QColor(theme.QUIET))
            room = QRectF(0.0, y - high / 2, area.left() - _EDGE, high)
            painter.drawText(room, _RIGHT, percent(share))

    def _paint_axis(self, painter: QPainter) -> None:
        area, words = self.area(), self.metrics
        widest = _TICK_ROOM * words.horizontalAdvance("0.15")
        for value in self.axis.ticks(max(int(area.width() / widest), 2)):
            x = self.place_of(value, 0.0).x()
            painter.setPen(QPen(QColor(theme.EDGE), 1))
            painter.drawLine(QPointF(x, area.bottom()), QPointF(x, area.bottom() + 3))
            painter.setPen(QColor(theme.QUIET))
            room = QRectF(x - widest, area.bottom() + 3, 2 * widest, words.height())
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter, self.tick_text(value))
        painter.setPen(QPen(QColor(theme.EDGE), 1))
        painter.drawLine(area.bottomLeft(), area.bottomRight())
        painter.setPen(QColor(theme.QUIET))
        room = QRectF(area.left(), self.height() - words.height() - 3, area.width(), words.height())
        painter.drawText(room, _RIGHT, self.title)
        painter.drawText(room, _LEFT, "Up: frost")

    def _paint_legend(self, painter: QPainter) -> None:
        left, high = self.area().left(), self.metrics.height()
        if len(self.lines) < 2:
            painter.setPen(QColor(theme.QUIET))
            painter.drawText(QRectF(left, _EDGE, self.width() - left, high), _LEFT, self.caption)
            return
        for row, line in enumerate(self.lines):
            middle = _EDGE + (row + 0.5) * high
            painter.setPen(line.pen())
            painter.drawLine(QPointF(left, middle), QPointF(left + _SAMPLE, middle))
            painter.setPen(QColor(theme.TEXT))
            room = QRectF(left + _SAMPLE + _EDGE, middle - high / 2, 0.0, high)
            room.setRight(self.width() - _EDGE)
            name = self.metrics.elidedText(line.name, Qt.TextElideMode.ElideMiddle, room.width())
            painter.drawText(room, _LEFT, name)


_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


def joined(parts: Iterable[str]) -> str:
    """Sentences one after the other, without the empty ones."""
    return " ".join(part for part in parts if part)
