"""What every control of the bench has in common."""

from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtGui import QContextMenuEvent, QMouseEvent
from PySide6.QtWidgets import QLabel, QMenu, QWidget

from app.bench.scale import Units, scale_for
from shared.fields import Info
from shared.recipe import default_of, field_info


class FieldLabel(QLabel):
    """The name of a field; a double click on it asks for the default."""

    double_clicked = Signal()

    def __init__(self, info: Info, parent: QWidget | None = None) -> None:
        super().__init__(info.label, parent)
        self.setWordWrap(True)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        del event
        self.double_clicked.emit()


class Control(QWidget):
    """Shows one field of the recipe and reports what the user wants it to be.

    One gesture (a drag, a held key, a typed value) is `started`, any number of `edited`, and
    `finished`; a gesture that changes nothing is silent.
    """

    edited = Signal(str, object)
    started = Signal(str)
    finished = Signal(str)
    reset_wanted = Signal(str)

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.key = key
        self.info = field_info(key)
        self.default: Any = default_of(key)
        self.value: Any = self.default
        self._busy = False

    def show_value(self, value: Any) -> None:
        """Show a value of the recipe; nothing is reported, and an equal one is ignored."""
        if value != self.value:
            self.value = value
            self.display()

    def display(self) -> None:
        """Bring the parts of the control in line with `value`."""
        raise NotImplementedError

    def set_units(self, shown_units: Units) -> None:
        """Show lengths in mm or inches; only numbers have units."""

    def change(self, value: Any) -> None:
        """Report a new value, inside the current gesture or as one of its own."""
        if value == self.value:
            return
        alone = not self._busy
        self.begin()
        self.value = value
        self.display()
        self.edited.emit(self.key, value)
        if alone:
            self.end()

    def begin(self) -> None:
        """A change is about to come."""
        if not self._busy:
            self._busy = True
            self.started.emit(self.key)

    def end(self) -> None:
        """The gesture is over."""
        if self._busy:
            self._busy = False
            self.finished.emit(self.key)

    def describe(self, *parts: QWidget) -> None:
        """Give the parts that take the focus the field's name and help."""
        for part in parts:
            part.setAccessibleName(self.info.label)
            part.setAccessibleDescription(self.info.help)
        self.setToolTip(f"{self.info.help}\nDefault: {self.default_text()}.")

    def default_text(self) -> str:
        """The default in words."""
        if self.info.kind == "number":
            return scale_for(self.key).text(self.default)
        if self.info.kind == "choice":
            return self.info.option(self.default).label
        if self.info.kind == "flag":
            return "yes" if self.default else "no"
        if self.info.kind == "curve":
            return "a straight line"
        return "none" if self.default is None else str(self.default)

    def ask_for_default(self) -> None:
        """Report the wish for the default, unless it is there already."""
        if self.value != self.default:
            self.reset_wanted.emit(self.key)

    def make_menu(self) -> QMenu:
        """The menu of the control, which offers the default."""
        menu = QMenu(self)
        action = menu.addAction(f"Back to the default: {self.default_text()}")
        action.setEnabled(self.value != self.default)
        action.triggered.connect(self.ask_for_default)
        menu.aboutToHide.connect(menu.deleteLater)
        return menu

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        self.make_menu().popup(event.globalPos())
        event.accept()
