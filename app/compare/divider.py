"""The line between the two pictures of a wipe."""

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app import theme

WIDTH_PX = 24
STEP = 0.02
FINE_STEP = 0.002


class Divider(QWidget):
    """A handle over a pane that is dragged, or moved with the left and right arrows."""

    moved = Signal(float)

    def __init__(self, pane: QWidget) -> None:
        super().__init__(pane)
        self._pane = pane
        self._share = 0.5
        self._grip = 0.0
        self.setCursor(Qt.CursorShape.SplitHCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Wipe divider")
        self.setToolTip("Drag, or press Left and Right, to wipe between the two pictures")
        self._describe()

    @property
    def share(self) -> float:
        """How much of the pane's width lies left of the line, 0 to 1."""
        return self._share

    def set_share(self, share: float) -> None:
        """Put the line somewhere; announced by `moved` when that is another place."""
        share = min(max(share, 0.0), 1.0)
        if share != self._share:
            self._share = share
            self._describe()
            self.place()
            self.moved.emit(share)

    def place(self) -> None:
        """Take the place that the share asks for."""
        line = round(self._share * self._pane.width())
        self.setGeometry(line - WIDTH_PX // 2, 0, WIDTH_PX, self._pane.height())

    def _describe(self) -> None:
        self.setAccessibleDescription(
            f"The left picture fills {self._share * 100:.0f} % of the width"
        )

    def paintEvent(self, event: QPaintEvent) -> None:
        """A line, and a grip in its middle."""
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = QPointF(WIDTH_PX / 2, self.height() / 2)
        painter.setPen(QPen(QColor(0, 0, 0, 150), 3.0))
        painter.drawLine(QPointF(middle.x(), 0), QPointF(middle.x(), self.height()))
        accent = QColor(theme.ACCENT)
        painter.setPen(QPen(accent, 1.0))
        painter.drawLine(QPointF(middle.x(), 0), QPointF(middle.x(), self.height()))
        grip = QRectF(0.0, 0.0, 10.0, 36.0)
        grip.moveCenter(middle)
        painter.setBrush(accent if self.hasFocus() else QColor(theme.PANEL))
        painter.drawRoundedRect(grip, 5.0, 5.0)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold where the pointer is."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._grip = event.position().x() - WIDTH_PX / 2
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the hand."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            line = self.mapToParent(event.position()).x() - self._grip
            self.set_share(line / max(1, self._pane.width()))

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Back to the middle."""
        self.set_share(0.5)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Left and right by steps, finely with Shift."""
        fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        step = FINE_STEP if fine else STEP
        if event.key() == Qt.Key.Key_Left:
            self.set_share(self._share - step)
        elif event.key() == Qt.Key.Key_Right:
            self.set_share(self._share + step)
        else:
            super().keyPressEvent(event)
