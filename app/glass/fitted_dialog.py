"""What is fitted at the machine now, against which measured profiles are held."""

from typing import Any

import attrs
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.fitted_file import MACHINE, SHEET
from app.glass.figure_field import Field, field_for
from shared.errors import ProfileError
from shared.profile import GlassProfile, Machine, Sheet
from shared.profile_fields import Figure, figures

ASKED: dict[str, tuple[type, tuple[str, ...]]] = {
    "machine": (Machine, MACHINE),
    "sheet": (Sheet, SHEET),
}
NOTE = (
    "Change this when a tube, lens, focus, glass or masking is changed. New test strips are made "
    "for it, and the ticket says of every profile that was measured with another one that it may "
    "not hold any more. The thickness is the plate's."
)


class FittedDialog(QDialog):
    """After OK, `profile` holds the machine and the glass of today."""

    def __init__(self, profile: GlassProfile, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Fitted now")
        self.profile = profile
        self.fields: dict[str, Field] = {}
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(theme.GRID * 2)
        self._grid.setVerticalSpacing(theme.GRID)
        self._grid.setColumnStretch(1, 1)
        for part, (cls, names) in ASKED.items():
            described = figures(cls)
            for name in names:
                self._add(f"{part}.{name}", described[name], getattr(getattr(profile, part), name))
        note = QLabel(NOTE)
        note.setWordWrap(True)
        theme.as_caption(note)
        self.problem = QLabel()
        self.problem.setProperty("role", "warning")
        self.problem.setWordWrap(True)
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        self.ok = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.setSpacing(theme.GRID * 2)
        column.addLayout(self._grid)
        column.addWidget(note)
        column.addWidget(self.problem)
        column.addWidget(self.buttons)
        self.setMinimumWidth(460)
        self._follow()

    def _add(self, key: str, figure: Figure, value: Any) -> None:
        field = self.fields[key] = field_for(figure)
        field.set_value(value)
        field.edited.connect(self._follow)
        label = QLabel(figure.label)
        label.setBuddy(field)
        row = self._grid.rowCount()
        self._grid.addWidget(label, row, 0)
        self._grid.addWidget(field, row, 1)

    def _follow(self) -> None:
        try:
            self.profile = self._made()
            problem = ""
        except ProfileError as found:
            problem = str(found)
        self.problem.setText(problem)
        self.problem.setVisible(bool(problem))
        self.ok.setEnabled(not problem)

    def _made(self) -> GlassProfile:
        parts = {
            part: attrs.evolve(
                getattr(self.profile, part),
                **{name: self.fields[f"{part}.{name}"].value() for name in names},
            )
            for part, (_, names) in ASKED.items()
        }
        return attrs.evolve(self.profile, **parts)
