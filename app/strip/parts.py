"""Small widgets that the steps of the test strip share."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QDoubleSpinBox, QHBoxLayout, QLabel, QPushButton, QWidget

from app import theme
from shared.units import MM_PER_INCH


class NumberField(QDoubleSpinBox):
    """A number with its unit; the wheel acts only on what has the focus."""

    def __init__(self, name: str, unit: str, low: float, high: float, *, digits: int = 1) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.lineEdit().setTextMargins(4, 0, 4, 0)
        self.setDecimals(digits)
        self.setSuffix(f" {unit}")
        self.setKeyboardTracking(False)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setRange(low, high)

    def show_value(self, value: float) -> None:
        """Show another number, without telling anybody."""
        self.blockSignals(True)
        self.setValue(value)
        self.blockSignals(False)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to what lies behind unless the user is here."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()


class LengthField(NumberField):
    """A length, kept in mm and shown in mm or inches; what is shown is rounded, what is kept is
    not."""

    def __init__(self, name: str, low_mm: float, high_mm: float, *, inches: bool) -> None:
        self._per = MM_PER_INCH if inches else 1.0
        self._reach_mm = low_mm, high_mm
        self._mm = low_mm
        reach = low_mm / self._per, high_mm / self._per
        super().__init__(name, "in" if inches else "mm", *reach, digits=3 if inches else 1)
        self.setSingleStep(0.1 if inches else 1.0)
        self.valueChanged.connect(self._edited)

    @property
    def mm(self) -> float:
        """The length."""
        return self._mm

    def set_mm(self, mm: float) -> None:
        """Show another length, without telling anybody."""
        self._mm = mm
        self.show_value(mm / self._per)

    def _edited(self, shown: float) -> None:
        low, high = self._reach_mm
        self._mm = min(max(round(shown * self._per, 3), low), high)


def heading(text: str) -> QLabel:
    """A heading above a group."""
    label = QLabel(text)
    font = label.font()
    font.setBold(True)
    label.setFont(font)
    return label


def prose(text: str = "") -> QLabel:
    """Plain words that wrap."""
    label = QLabel(text)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def caption(text: str = "") -> QLabel:
    """Quiet words that wrap."""
    label = prose(text)
    theme.as_caption(label)
    return label


def push(text: str, do: Callable[[], object], *, name: str = "", main: bool = False) -> QPushButton:
    """A button that Return in a field does not press."""
    button = QPushButton(text)
    button.setAutoDefault(False)
    if main:
        button.setProperty("role", "main")
    if name:
        button.setAccessibleName(name)
    button.clicked.connect(lambda _=False: do())
    return button


def keep_focus(*widgets: QWidget) -> None:
    """Let the keyboard stay at the first of them that can be used."""
    usable = (w for w in widgets if w.isEnabled() and w.isVisibleTo(w.window()))
    kept = next(usable, None)
    if kept is not None:
        kept.setFocus()


class Sentence(QLabel):
    """What is wrong, or what went well; its room stays when there is nothing to say."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setMinimumHeight(2 * self.fontMetrics().height())
        self.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)

    def warn(self, sentence: str) -> None:
        """Something is wrong; an empty sentence for nothing."""
        self._say(f"\u26a0 {sentence}" if sentence else "", sentence, "warning")

    def warn_of(self, sentences: Sequence[str]) -> None:
        """All of them; without any it takes no room."""
        self.warn(" ".join(sentences))
        self.setVisible(bool(sentences))

    def tell(self, sentence: str) -> None:
        """Something is good to know."""
        self._say(sentence, sentence, "caption")

    def _say(self, shown: str, spoken: str, role: str) -> None:
        self.setText(shown)
        self.setAccessibleName(spoken)
        self.setProperty("role", role)
        self.style().polish(self)


def side_by_side(*widgets: QWidget) -> QHBoxLayout:
    """A row of widgets that begins at the left."""
    row = QHBoxLayout()
    row.setSpacing(theme.GRID)
    for widget in widgets:
        row.addWidget(widget)
    row.addStretch(1)
    return row
