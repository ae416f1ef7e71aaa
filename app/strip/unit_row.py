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
    """`chosen(unit, scale)` when the user says another, `refused(sentence)` for a scale that cannot
    be taken; what was typed of it stays to be mended."""

    chosen = Signal(str, object)
    refused = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._scale: tuple[float, ...] = ()
        self.box = QuietCombo()
        self.box.setAccessibleName("What the typed values are")
        for name, unit in UNITS.items():
            self.box.addItem(unit.label, name)
        self.box.activated.connect(lambda _: self._tell(self._scale))
        self.scale = QLineEdit()
        self.scale.setAccessibleName("L* or density of the grey scale's steps, in their order")
        self.scale.setPlaceholderText(
            "L* of its steps: 95, 85, 75, ..., or densities: 0.05, 0.15, ..."
        )
        self.scale.setAcceptDrops(False)
        self.scale.editingFinished.connect(self._typed)
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
        if corrections.scale != self._scale:
            self._scale = corrections.scale
            self.scale.setText(", ".join(f"{step:g}" for step in corrections.scale))
            self.scale.setCursorPosition(0)
        self.scale.setVisible(corrections.unit == EYE)

    def _typed(self) -> None:
        text = self.scale.text()
        words = [word.strip() for word in text.split(";" if ";" in text else ",")]
        steps = []
        for word in filter(None, words):
            try:
                step = units.parse_number(word)
            except ValueError:
                step = float("nan")
            if not 0.0 <= step <= 100.0:
                self.refused.emit(
                    f"{word} is neither an L* from 0 to 100 nor a density; write those of the grey "
                    "scale's steps with a comma between each two, such as 95, 85, 75, or with a "
                    "semicolon, such as 0,05; 0,15."
                )
                return
            steps.append(step)
        self._scale = tuple(steps)
        self._tell(self._scale)

    def _tell(self, scale: tuple[float, ...]) -> None:
        self.chosen.emit(str(self.box.currentData()), scale)
