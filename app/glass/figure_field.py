"""Fields of the profile form: a number with its unit in it, a line of words, a box to tick."""

from typing import Any

from PySide6.QtCore import QRect, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QCheckBox, QLineEdit, QWidget

from app import theme
from shared import units
from shared.errors import ProfileError
from shared.profile_fields import MOST_LETTERS, Figure

_SIDE = 6
_LETTERS = 11


class FigureField(QLineEdit):
    """A number with its unit. A value that was only looked at is never rounded."""

    edited = Signal()

    def __init__(self, figure: Figure, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.figure = figure
        self._value = 0.0
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        words = self.fontMetrics()
        self._unit_room = words.horizontalAdvance(figure.unit) + _SIDE if figure.unit else 0
        self.setTextMargins(0, 0, self._unit_room, 0)
        self.setMinimumWidth(words.horizontalAdvance("0" * _LETTERS) + self._unit_room)
        describe(self, figure)
        self.textEdited.connect(self.edited)

    def set_value(self, value: float) -> None:
        """Show a stored value, without telling anybody."""
        self._value = value
        self.setText(self.figure.digits(value))

    def value(self) -> float:
        """The stored value; ProfileError when what stands there is no number."""
        text = self.text().strip().removesuffix(self.figure.unit).strip()
        if text == self.figure.digits(self._value):
            return self._value
        try:
            return units.parse_number(text) / self.figure.factor
        except ValueError:
            raise ProfileError(f"{self.figure.label} needs a number.") from None

    def paintEvent(self, event: QPaintEvent) -> None:
        """The number, and its unit quietly behind it."""
        super().paintEvent(event)
        if not self.figure.unit:
            return
        painter = QPainter(self)
        painter.setPen(QColor(theme.QUIET if self.isEnabled() else theme.EDGE))
        room = QRect(0, 0, self.width() - _SIDE - 1, self.height())
        painter.drawText(
            room, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self.figure.unit
        )
        painter.end()


class WordsField(QLineEdit):
    """A line of words."""

    edited = Signal()

    def __init__(self, figure: Figure, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMaxLength(MOST_LETTERS)
        describe(self, figure)
        self.textEdited.connect(self.edited)

    def set_value(self, value: str) -> None:
        """Show words, from their beginning."""
        self.setText(value)
        self.setCursorPosition(0)

    def value(self) -> str:
        """The words."""
        return self.text()


class FlagField(QCheckBox):
    """Yes or no."""

    edited = Signal()

    def __init__(self, figure: Figure, parent: QWidget | None = None) -> None:
        super().__init__(figure.label, parent)
        describe(self, figure)
        self.clicked.connect(self.edited)

    def set_value(self, value: bool) -> None:
        """Tick or not."""
        self.setChecked(value)

    def value(self) -> bool:
        """Whether it is ticked."""
        return self.isChecked()


Field = FigureField | WordsField | FlagField


def field_for(figure: Figure) -> Field:
    """The field for a figure, by its kind."""
    kinds: dict[str, Any] = {"number": FigureField, "text": WordsField, "flag": FlagField}
    field: Field = kinds[figure.kind](figure)
    return field


def describe(widget: QWidget, figure: Figure) -> None:
    """Name, help and range, for the eye and for the ear."""
    reach = f"From {figure.reach}." if figure.kind == "number" else ""
    words = " ".join(part for part in (figure.help, reach) if part)
    widget.setToolTip(words)
    widget.setAccessibleName(figure.label)
    widget.setAccessibleDescription(words)
