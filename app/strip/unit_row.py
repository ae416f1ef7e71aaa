"""Without a camera: what the typed values are, and the printed grey scale they are held against."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from app import theme
from app.compare.controls import QuietCombo
from app.strip.parts import caption
from app.strip.typed_units import UNITS
from engine.strip.corrections import EYE, Corrections
from shared import units


class UnitRow(QWidget):
    """`chosen(unit, scale)` when the user says another."""

    chosen = Signal(str, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.box = QuietCombo()
        self.box.setAccessibleName("What the typed values are")
        for name, unit in UNITS.items():
            self.box.addItem(unit.label, name)
        self.box.activated.connect(lambda _: self._tell())
        self.scale = QLineEdit()
        self.scale.setAccessibleName("L* of the grey scale's steps, in their order")
        self.scale.setPlaceholderText("L* of its steps: 95, 85, 75, ...")
        self.scale.setAcceptDrops(False)
        self.scale.editingFinished.connect(self._tell)
        label = caption("Typed")
        label.setBuddy(self.box)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(theme.GRID // 2)
        grid.setColumnStretch(1, 1)
        grid.addWidget(label, 0, 0)
        grid.addWidget(self.box, 0, 1)
        grid.addWidget(self.scale, 1, 0, 1, 2)

    def show_corrections(self, corrections: Corrections) -> None:
        """Show what holds, without telling anybody."""
        self.box.setCurrentIndex(max(0, self.box.findData(corrections.unit)))
        if not self.scale.hasFocus():
            self.scale.setText(", ".join(f"{step:g}" for step in corrections.scale))
        self.scale.setVisible(corrections.unit == EYE)

    def _tell(self) -> None:
        self.chosen.emit(str(self.box.currentData()), _numbers(self.scale.text()))


def _numbers(text: str) -> tuple[float, ...]:
    """The numbers of a list; none if one of them is no number."""
    try:
        return tuple(units.parse_number(w) for w in text.replace(";", ",").split(",") if w.strip())
    except ValueError:
        return ()
