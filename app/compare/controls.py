"""Small controls that the rows round the pictures are made of."""

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeySequence, QPainter, QPaintEvent, QShortcut, QWheelEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QToolButton,
    QWidget,
)

from app.compare.viewport import Viewport
from shared import units

PERCENTS = (25, 50, 100, 200, 300, 400, 800, 1600)


class QuietCombo(QComboBox):
    """A combo box that the wheel turns only while it has the focus."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to what lies behind unless the user is here."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()


class ElidedLabel(QLabel):
    """One line that is shortened, never cut off, and gives way to its neighbours."""

    def minimumSizeHint(self) -> QSize:
        """No width is too small."""
        return QSize(0, super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """As much of the text as there is room for."""
        del event
        painter = QPainter(self)
        text = self.fontMetrics().elidedText(
            self.text(), Qt.TextElideMode.ElideRight, self.contentsRect().width()
        )
        self.style().drawItemText(
            painter,
            self.contentsRect(),
            self.alignment().value,
            self.palette(),
            self.isEnabled(),
            text,
            self.foregroundRole(),
        )
        painter.end()


class Segments(QWidget):
    """Buttons side by side of which one is chosen."""

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(1, 0, 0, 0)
        self._row.setSpacing(0)
        self._group = QButtonGroup(self)
        self.buttons: dict[str, QToolButton] = {}

    def add(self, value: str, text: str, *, name: str, tip: str, key: str = "") -> None:
        """One more answer; `name` is what a screen reader says, `key` its shortcut."""
        button = text_button(text, name=name, tip=tip, key=key)
        button.setCheckable(True)
        button.setProperty("role", "segment")
        button.clicked.connect(lambda: self.chosen.emit(value))
        self._group.addButton(button)
        self._row.addWidget(button)
        self.buttons[value] = button
        if len(self.buttons) == 1:
            button.setChecked(True)

    @property
    def value(self) -> str:
        """The answer that is chosen."""
        return next(value for value, button in self.buttons.items() if button.isChecked())

    def set_value(self, value: str) -> None:
        """Show another answer, without telling anybody."""
        self.buttons[value].setChecked(True)


def text_button(text: str, *, name: str, tip: str, key: str = "") -> QToolButton:
    """A button with words on it; the tip ends with the shortcut, which acts at once."""
    button = QToolButton()
    button.setText(text)
    button.setAccessibleName(name)
    button.setToolTip(f"{tip} ({key})" if key else tip)
    if key:
        QShortcut(QKeySequence(key), button).activated.connect(button.click)
    return button


class ZoomField(QuietCombo):
    """Shows the zoom in percent of etch pixels, and takes another."""

    def __init__(self, viewport: Viewport, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._viewport = viewport
        self._shown = ""
        line = QLineEdit()
        line.setStyleSheet("border: none; padding: 0; min-height: 0; background: transparent;")
        line.setAccessibleName("Zoom")
        line.setAcceptDrops(False)
        self.setEditable(True)
        self.setLineEdit(line)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.setCompleter(None)  # type: ignore[arg-type]
        self.addItems([f"{percent} %" for percent in PERCENTS])
        self.setAccessibleName("Zoom")
        self.setToolTip(
            "100 % shows each etch pixel as one pixel of this display (Ctrl+Plus, Ctrl+Minus)"
        )
        widest = self.fontMetrics().horizontalAdvance("16000 %")
        self.setFixedWidth(widest + 40)
        self.activated.connect(self._take)
        line.editingFinished.connect(self._take)
        viewport.changed.connect(self.show_zoom)
        self.show_zoom()

    def show_zoom(self) -> None:
        """Follow the viewport."""
        percent = self._viewport.percent
        digits = 0 if percent >= 10 or percent == round(percent) else 1
        self._shown = f"{percent:.{digits}f} %"
        self.setEditText(self._shown)

    def _take(self) -> None:
        """Zoom to what was typed or picked; anything that is not a number is taken back."""
        text = self.currentText()
        if text == self._shown:
            return
        try:
            percent = units.parse_number(text.replace("%", ""))
        except ValueError:
            percent = 0.0
        if percent > 0.0:
            self._viewport.zoom_to_percent(percent)
        self.show_zoom()
