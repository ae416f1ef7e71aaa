"""The controls for a yes or no and for a colour."""

from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QIcon, QPixmap
from PySide6.QtWidgets import QCheckBox, QColorDialog, QHBoxLayout, QPushButton, QWidget

from app.bench.control import Control, FieldLabel

_SWATCH = QSize(28, 14)


class FlagControl(Control):
    """A box to tick."""

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(key, parent)
        self.box = QCheckBox(self.info.label, self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.box)
        row.addStretch(1)
        self.describe(self.box)
        self.display()
        self.box.toggled.connect(self.change)

    def display(self) -> None:
        self.box.blockSignals(True)
        self.box.setChecked(self.value)
        self.box.blockSignals(False)


class ColourControl(Control):
    """A button that shows the colour and opens a dialog; the picture follows while choosing."""

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(key, parent)
        self.label = FieldLabel(self.info, self)
        self.label.double_clicked.connect(self.ask_for_default)
        self.button = QPushButton(self)
        self.button.setIconSize(_SWATCH)
        self.label.setBuddy(self.button)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.label, 1)
        row.addWidget(self.button, 0)
        self.describe(self.button)
        self.display()
        self.button.clicked.connect(self.open_dialog)

    def display(self) -> None:
        swatch = QPixmap(_SWATCH)
        swatch.fill(QColor(self.value))
        self.button.setIcon(QIcon(swatch))
        self.button.setText(f" {self.value}")
        self.button.setAccessibleName(f"{self.info.label}: {self.value}")

    def open_dialog(self) -> None:
        """Let the user choose; Cancel brings the earlier colour back."""
        before = self.value
        dialog = QColorDialog(QColor(before), self)
        dialog.setOption(QColorDialog.ColorDialogOption.DontUseNativeDialog)
        dialog.setWindowTitle(self.info.label)
        dialog.currentColorChanged.connect(self._follow)
        dialog.rejected.connect(lambda: self._follow(QColor(before)))
        dialog.finished.connect(self.end)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()

    def _follow(self, colour: QColor) -> None:
        if colour.name() != QColor(self.value).name():
            self.begin()
            self.change(colour.name())
