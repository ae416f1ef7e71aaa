"""Undo and redo on the page of the test strip, by the keys of the studio."""

from collections.abc import Callable, Sequence

from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from app import theme
from app.actions import native
from app.strip.parts import push

_UNDO = ("Ctrl+Z",)
_REDO = ("Ctrl+Shift+Z", "Ctrl+Y")


class UndoRow(QWidget):
    """Each button tells what it would do; it is grey while there is nothing."""

    def __init__(self, undo: Callable[[], object], redo: Callable[[], object]) -> None:
        super().__init__()
        self.undo = _button("Undo", undo, _UNDO)
        self.redo = _button("Redo", redo, _REDO)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.GRID)
        row.addWidget(self.undo)
        row.addWidget(self.redo)

    def show_names(self, undo: str | None, redo: str | None) -> None:
        """What each would take back or do again; None for nothing."""
        for button, name, keys in ((self.undo, undo, _UNDO), (self.redo, redo, _REDO)):
            said = f"{button.text()}: {name}" if name else button.text()
            button.setEnabled(name is not None)
            button.setToolTip(f"{said} ({native(QKeySequence(keys[0]))})")
            button.setAccessibleName(said)


def _button(text: str, do: Callable[[], object], keys: Sequence[str]) -> QPushButton:
    button = push(text, do)
    for sequence in keys:
        QShortcut(QKeySequence(sequence), button).activated.connect(button.click)
    return button
