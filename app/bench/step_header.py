"""The row that stands for a step: icon, name, summary, and a mark when something was changed."""

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

from app import theme
from app.bench.steps import StepInfo

RAIL = 36
"""Width of the strip at the left in which the icons stand, in px."""
_ICON = 18
_CHANGED = "changed"


class StepHeader(QPushButton):
    """Opens its step; Up and Down go to the neighbouring headers."""

    neighbour_wanted = Signal(int)

    def __init__(self, step: StepInfo, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._step = step
        self.summary = ""
        self.is_changed = False
        self.is_open = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setProperty("role", "step")
        self.setAccessibleName(step.label)

    def set_state(self, summary: str, *, is_changed: bool) -> None:
        """Show what the step does now."""
        if (summary, is_changed) != (self.summary, self.is_changed):
            self.summary, self.is_changed = summary, is_changed
            self._describe()

    def set_open(self, is_open: bool) -> None:
        """Show whether the step is the open one."""
        self.is_open = is_open
        self._describe()

    def sizeHint(self) -> QSize:
        return QSize(240, max(32, self.fontMetrics().height() + 2 * theme.GRID))

    def minimumSizeHint(self) -> QSize:
        return QSize(120, self.sizeHint().height())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.neighbour_wanted.emit(-1 if key == Qt.Key.Key_Up else 1)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        raised = self.is_open or self.underMouse()
        painter.fillRect(self.rect(), QColor(theme.RAISED if raised else theme.PANEL))
        painter.setPen(QPen(QColor(theme.WINDOW), 1))
        painter.drawLine(0, self.height() - 1, self.width(), self.height() - 1)
        if self.is_open:
            painter.fillRect(QRect(0, 0, 3, self.height()), QColor(theme.ACCENT))
        self._paint_icon(painter)
        self._paint_words(painter)
        if self.hasFocus():
            painter.setPen(QPen(QColor(theme.ACCENT), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))

    def _paint_icon(self, painter: QPainter) -> None:
        colour = theme.ACCENT if self.is_open else theme.QUIET
        pixmap = theme.icon_pixmap(self._step.name, colour, _ICON, self.devicePixelRatioF())
        painter.drawPixmap(QPointF((RAIL - _ICON) / 2, (self.height() - _ICON) / 2), pixmap)

    def _paint_words(self, painter: QPainter) -> None:
        rect = self.rect().adjusted(RAIL, 0, -theme.GRID, 0)
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.setPen(QColor(theme.TEXT))
        name = painter.boundingRect(rect, middle, self._step.label)
        painter.drawText(rect, middle, self._step.label)
        if self.is_changed:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.TEXT))
            painter.drawEllipse(QPointF(name.right() + 9, self.height() / 2 + 1), 2.5, 2.5)
        rest = rect.adjusted(name.width() + 2 * theme.GRID + 4, 0, 0, 0)
        font = theme.caption_font()
        text = QFontMetrics(font).elidedText(
            self.summary, Qt.TextElideMode.ElideRight, rest.width()
        )
        painter.setFont(font)
        painter.setPen(QColor(theme.QUIET))
        painter.drawText(rest, middle | Qt.AlignmentFlag.AlignRight, text)

    def _describe(self) -> None:
        words = [self.summary, _CHANGED if self.is_changed else "", "open" if self.is_open else ""]
        self.setAccessibleDescription(", ".join(word for word in words if word))
        self.setToolTip(f"{self.summary} ({_CHANGED})" if self.is_changed else self.summary)
        self.update()
