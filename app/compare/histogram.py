"""How many pixels have which tone, with both ends and what is lost beyond them."""

from collections.abc import Sequence
from typing import Literal

from PySide6.QtCore import QLocale, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app import theme
from shared.fields import infos
from shared.operators import Tone

BINS = 256
HEIGHT_PX = 64
WORRYING_SHARE = 0.01
GRAB_PX = 6.0
LEAST_GAP = 0.1
_INSET = 4.0
_BARE, _FULL = (infos(Tone)[name] for name in ("bare_point", "full_point"))

End = Literal["bare", "full"]


class HistogramView(QWidget):
    """256 tones from bare glass on the left to full frost on the right, root scale upwards.

    Dragging one of the two point marks emits `point_began`, then `bare_point_moved` or
    `full_point_moved` (0 to 1), then `point_ended`: one step of undo.
    """

    point_began = Signal()
    bare_point_moved = Signal(float)
    full_point_moved = Signal(float)
    point_ended = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._counts: tuple[int, ...] = ()
        self._shares = (0.0, 0.0)
        self._points: tuple[float, float] | None = None
        self._mark: float | None = None
        self._held: End | None = None
        self.setFixedHeight(HEIGHT_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(True)
        self.setAccessibleName("Histogram")
        self._describe()

    def set_data(
        self,
        counts: Sequence[int],
        bare_share: float,
        full_share: float,
        bare_point: float | None = None,
        full_point: float | None = None,
    ) -> None:
        """Pixels per tone, darkest first; shares beyond both ends; the points, where they apply.

        Shares and points run from 0 to 1. Raises ValueError unless there are 256 counts.
        """
        if len(counts) != BINS:
            raise ValueError(f"a histogram has {BINS} counts, not {len(counts)}")
        self._counts = tuple(int(count) for count in counts)
        self._shares = (bare_share, full_share)
        self._points = None
        if bare_point is not None and full_point is not None:
            self._points = (bare_point, full_point)
        self._describe()
        self.update()

    def clear(self) -> None:
        """There is no picture."""
        self._counts = ()
        self._points = self._mark = None
        self._describe()
        self.update()

    def set_mark(self, value: float | None) -> None:
        """The tone of the pixel under the pointer, 0 to 1."""
        if value != self._mark:
            self._mark = value
            self.update()

    def sizeHint(self) -> QSize:
        """As wide as the pane."""
        return QSize(256, HEIGHT_PX)

    @property
    def plot(self) -> QRectF:
        """Where the tones are drawn; the line of words lies beneath."""
        words = QFontMetricsF(theme.caption_font()).height()
        return QRectF(_INSET, _INSET, self.width() - 2 * _INSET, self.height() - words - 10.0)

    def x_of(self, tone: float) -> float:
        """Where a tone from 0 to 1 lies across the widget."""
        return self.plot.left() + tone * self.plot.width()

    def words(self) -> tuple[str, str]:
        """What is said at both ends."""
        return f"bare {_percent(self._shares[0])}", f"full frost {_percent(self._shares[1])}"

    def _describe(self) -> None:
        if not self._counts:
            self.setAccessibleDescription("No picture yet")
            return
        total = max(1, sum(self._counts))
        mean = sum(i * count for i, count in enumerate(self._counts)) / total / (BINS - 1)
        parts = [*self.words(), f"mean tone {_percent(mean)}"]
        if self._points is not None:
            parts.append(f"bare-glass point {_percent(self._points[0])}")
            parts.append(f"full-frost point {_percent(self._points[1])}")
        self.setAccessibleDescription(", ".join(parts))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Tones, marks, words."""
        del event
        painter = QPainter(self)
        painter.fillRect(self.plot, QColor(theme.PANE))
        if not self._counts:
            return
        self._paint_tones(painter)
        self._paint_marks(painter)
        self._paint_words(painter)
        painter.end()

    def _paint_tones(self, painter: QPainter) -> None:
        """The two ends, where whatever is clipped piles up, may be cut off at the top."""
        plot = self.plot
        most = max(1, *self._counts[1:-1])
        step = plot.width() / BINS
        path = QPainterPath(plot.bottomLeft())
        for tone, count in enumerate(self._counts):
            top = plot.bottom() - plot.height() * min(1.0, count / most) ** 0.5
            path.lineTo(plot.left() + tone * step, top)
            path.lineTo(plot.left() + (tone + 1) * step, top)
        path.lineTo(plot.bottomRight())
        painter.fillPath(path, QColor(theme.QUIET))

    def _paint_marks(self, painter: QPainter) -> None:
        plot = self.plot
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._points is not None:
            for point in self._points:
                x = self.x_of(point)
                painter.setPen(QPen(QColor(theme.TEXT), 1.0))
                painter.drawLine(QPointF(x, plot.top()), QPointF(x, plot.bottom()))
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(QColor(theme.TEXT))
                painter.drawPolygon(_triangle(QPointF(x, plot.top() + 5.0), 5.0))
        if self._mark is not None:
            x = self.x_of(self._mark)
            painter.setPen(QPen(QColor(0, 0, 0, 150), 3.0))
            painter.drawLine(QPointF(x, plot.top()), QPointF(x, plot.bottom()))
            painter.setPen(QPen(QColor(theme.ACCENT), 1.0))
            painter.drawLine(QPointF(x, plot.top()), QPointF(x, plot.bottom()))

    def _paint_words(self, painter: QPainter) -> None:
        painter.setFont(theme.caption_font())
        line = QRectF(_INSET, self.plot.bottom(), self.width() - 2 * _INSET, 0.0)
        line.setBottom(self.height())
        sides = (Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight)
        for text, share, side in zip(self.words(), self._shares, sides, strict=True):
            worrying = share > WORRYING_SHARE
            colour = QColor(theme.WARN if worrying else theme.QUIET)
            box = QRectF(line)
            if worrying:
                size = painter.fontMetrics().ascent() * 0.9
                left = line.left()
                if side == Qt.AlignmentFlag.AlignRight:
                    left = line.right() - painter.fontMetrics().horizontalAdvance(text) - size - 4
                _paint_warning(painter, QRectF(left, line.center().y() - size / 2, size, size))
                if side == Qt.AlignmentFlag.AlignLeft:
                    box.setLeft(left + size + 4)
            painter.setPen(colour)
            painter.drawText(box, side | Qt.AlignmentFlag.AlignVCenter, text)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of a point mark."""
        self._held = self._near(event.position().x())
        if self._held is None or event.button() != Qt.MouseButton.LeftButton:
            self._held = None
            super().mousePressEvent(event)
            return
        self.point_began.emit()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag the mark that is held; show where one could be taken."""
        if self._held is None or self._points is None:
            near = self._near(event.position().x()) is not None
            self.setCursor(Qt.CursorShape.SizeHorCursor if near else Qt.CursorShape.ArrowCursor)
            return
        tone = (event.position().x() - self.plot.left()) / max(1.0, self.plot.width())
        bare, full = self._points
        if self._held == "bare":
            most = min(_BARE.high, full - LEAST_GAP)
            self.bare_point_moved.emit(max(_BARE.low, min(tone, most)))
        else:
            least = max(_FULL.low, bare + LEAST_GAP)
            self.full_point_moved.emit(min(_FULL.high, max(tone, least)))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go of the mark."""
        if self._held is None:
            super().mouseReleaseEvent(event)
            return
        self._held = None
        self.point_ended.emit()

    def _near(self, x: float) -> End | None:
        if self._points is None:
            return None
        bare, full = (abs(self.x_of(point) - x) for point in self._points)
        if min(bare, full) > GRAB_PX:
            return None
        return "bare" if bare <= full else "full"


def _percent(share: float) -> str:
    return f"{QLocale().toString(share * 100.0, 'f', 1)} %"


def _triangle(tip: QPointF, size: float) -> QPolygonF:
    return QPolygonF(
        [tip, QPointF(tip.x() + size, tip.y() - size), QPointF(tip.x() - size, tip.y() - size)]
    )


def _paint_warning(painter: QPainter, box: QRectF) -> None:
    """A triangle with a stroke in it."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(theme.WARN))
    middle = box.center().x()
    painter.drawPolygon(
        QPolygonF([QPointF(middle, box.top()), box.bottomRight(), box.bottomLeft()])
    )
    painter.setPen(QPen(QColor(theme.PANE), 1.5))
    top = box.top() + box.height() * 0.4
    painter.drawLine(QPointF(middle, top), QPointF(middle, box.top() + box.height() * 0.65))
    painter.drawPoint(QPointF(middle, box.top() + box.height() * 0.85))
