"""The control for a tone curve."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.bench.control import Control, FieldLabel
from app.bench.curve_editor import CurveEditor


class CurveControl(Control):
    """The field's name above the curve editor; a double click on the name asks for the default."""

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(key, parent)
        self.label = FieldLabel(self.info, self)
        self.editor = CurveEditor(self)
        self.label.setBuddy(self.editor)
        self.label.double_clicked.connect(self.ask_for_default)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.label)
        column.addWidget(self.editor)
        self.setToolTip(
            f"{self.info.help}\nClick the line for a new point; drag a point off to remove it."
        )
        self.editor.setAccessibleName(self.info.label)
        self.editor.started.connect(self.begin)
        self.editor.edited.connect(self.change)
        self.editor.finished.connect(self.end)
        self.editor.reset_wanted.connect(self.ask_for_default)
        self.display()

    def display(self) -> None:
        self.editor.set_points(self.value)
