"""The control for a choice: a row of segments for a few short answers, a list for many."""

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QHBoxLayout,
    QSizePolicy,
    QStyledItemDelegate,
    QToolButton,
    QWidget,
)

from app.bench.control import Control, FieldLabel
from shared.fields import Info, Option

_MOST_SEGMENTS = 3
_MOST_LETTERS = 24


class ChoiceControl(Control):
    """One of the field's options."""

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(key, parent)
        self.label = FieldLabel(self.info, self)
        self.label.double_clicked.connect(self.ask_for_default)
        self.picker: Segments | OptionList = (
            Segments(self.info, self) if fits_segments(self.info) else OptionList(self.info, self)
        )
        self.label.setBuddy(self.picker)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.label, 1)
        row.addWidget(self.picker, 0)
        self.describe(self.picker)
        self.display()
        self.picker.connect_to(self._pick)

    def display(self) -> None:
        self.picker.blockSignals(True)
        self.picker.choose([option.value for option in self.info.options].index(self.value))
        self.picker.blockSignals(False)

    def _pick(self, index: int) -> None:
        self.change(self.info.options[index].value)


def fits_segments(info: Info) -> bool:
    """Whether the options are few and short enough to be shown side by side."""
    letters = sum(len(option.label) for option in info.options)
    return len(info.options) <= _MOST_SEGMENTS and letters <= _MOST_LETTERS


class Segments(QWidget):
    """Exclusive buttons in a row; the arrow keys move between them."""

    def __init__(self, info: Info, parent: QWidget) -> None:
        super().__init__(parent)
        self.buttons = QButtonGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(1, 0, 0, 0)
        row.setSpacing(0)
        for number, option in enumerate(info.options):
            button = self._make(info, option)
            self.buttons.addButton(button, number)
            row.addWidget(button)

    def _make(self, info: Info, option: Option) -> QToolButton:
        button = QToolButton(self)
        button.setText(option.label)
        button.setCheckable(True)
        button.setProperty("role", "segment")
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        button.setToolTip(option.help)
        button.setAccessibleName(f"{info.label}: {option.label}")
        button.setAccessibleDescription(option.help)
        return button

    def choose(self, index: int) -> None:
        """Mark an option."""
        self.buttons.blockSignals(True)
        self.buttons.button(index).setChecked(True)
        self.buttons.blockSignals(False)

    def connect_to(self, pick: Callable[[int], None]) -> None:
        """Call `pick(index)` when the user chooses."""
        self.buttons.idToggled.connect(lambda number, on: pick(number) if on else None)


class OptionList(QComboBox):
    """A list that opens; each option carries its help, and the wheel needs the focus."""

    def __init__(self, info: Info, parent: QWidget) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.setItemDelegate(QStyledItemDelegate(self))
        self.setMaxVisibleItems(len(info.options))
        for number, option in enumerate(info.options):
            self.addItem(option.label)
            self.setItemData(number, option.help, Qt.ItemDataRole.ToolTipRole)
            self.setItemData(number, option.help, Qt.ItemDataRole.AccessibleDescriptionRole)

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def choose(self, index: int) -> None:
        """Show an option."""
        self.setCurrentIndex(index)

    def connect_to(self, pick: Callable[[int], None]) -> None:
        """Call `pick(index)` when the user chooses."""
        self.currentIndexChanged.connect(pick)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()
