"""The five steps as a row at the top of the page."""

from collections.abc import Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from app.compare.controls import Segments
from app.strip.parts import prose


class StepRow(QWidget):
    """`chosen(step)` when the user goes to one; `words` says what it is for."""

    chosen = Signal(str)

    def __init__(self, steps: Mapping[str, tuple[str, str]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._steps = steps
        self.words = prose()
        self.buttons = Segments()
        for number, (name, (label, words)) in enumerate(steps.items(), start=1):
            self.buttons.add(
                name,
                f"{number}  {label}",
                name=f"Step {number}, {label}",
                tip=words,
                key=f"Alt+{number}",
            )
        self.buttons.chosen.connect(self.chosen)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.buttons)

    def show_step(self, step: str) -> None:
        """Mark the step that is open."""
        held = any(button.hasFocus() for button in self.buttons.buttons.values())
        self.buttons.set_value(step)
        if held:
            self.buttons.buttons[step].setFocus()
        self.words.setText(self._steps[step][1])

    def take_focus(self) -> None:
        """Let the keyboard begin at the step that is open."""
        self.buttons.buttons[self.buttons.value].setFocus()

    def set_open(self, step: str, on: bool) -> None:
        """Whether a step can be gone to."""
        self.buttons.buttons[step].setEnabled(on)
