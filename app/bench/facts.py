"""Small rows of facts between the controls of a step."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from app import theme


class Facts(QWidget):
    """Names on the left, values on the right, in the smaller size."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: list[tuple[QLabel, QLabel]] = []
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(theme.GRID)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(1, 1)

    def set_rows(self, rows: Sequence[tuple[str, str]]) -> None:
        """Show these (name, value) pairs."""
        while len(self._rows) < len(rows):
            self._add_row()
        for number, (name, value) in enumerate(self._rows):
            used = number < len(rows)
            name.setVisible(used)
            value.setVisible(used)
            if used:
                name.setText(rows[number][0])
                value.setText(rows[number][1])
                value.setAccessibleName(" ".join(rows[number]))

    def _add_row(self) -> None:
        name, value = QLabel(self), QLabel(self)
        for column, label in enumerate((name, value)):
            theme.as_caption(label)
            self._grid.addWidget(label, len(self._rows), column, Qt.AlignmentFlag.AlignTop)
        value.setWordWrap(True)
        value.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
        self._grid.setAlignment(value, Qt.AlignmentFlag(0))
        self._rows.append((name, value))
