"""A table of figures that can be edited; a figure that was only looked at is never rounded."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtWidgets import QTableWidgetItem, QWidget

from app.glass.row_table import STORED, Row, RowTable
from shared import units
from shared.errors import ProfileError
from shared.profile_fields import Figure

_DIGITS = 4
"""Figures of a cell that are shown; what is stored keeps all."""
_FEWEST, _MOST = 3, 8
"""Rows that are shown before the table scrolls."""


class ExactTable(RowTable):
    """As high as its points, within reason."""

    def __init__(
        self, name: str, one: str, columns: Sequence[Figure], parent: QWidget | None = None
    ) -> None:
        """`one` is what a row is called in a sentence, such as Measured point."""
        super().__init__(name, "point", [f"{c.label}\n{c.unit}" for c in columns], parent)
        self._columns = tuple(columns)
        self._one = one
        self._counted()

    def set_rows(self, rows: Sequence[Row]) -> None:
        """Show other figures, without telling anybody."""
        self._fill(rows)

    def rows(self) -> tuple[Row, ...]:
        """The figures as they stand; ProfileError when one is none."""
        return tuple(
            tuple(self._stored(row, column) for column in range(len(self._columns)))
            for row in range(self.table.rowCount())
        )

    def _counted(self) -> None:
        self.show_lines(min(max(self.table.rowCount(), _FEWEST), _MOST))
        self.remove.setEnabled(self.table.rowCount() > 0)

    def _typed(self, row: int, column: int) -> None:
        """Something was typed; signals are blocked."""

    def _put(self, row: int, column: int, value: float) -> None:
        item = self._item(row, column)
        item.setToolTip(self._columns[column].help)
        shown = float(f"{value * self._columns[column].factor:.{_DIGITS}g}")
        item.setText(f"{shown:.10f}".rstrip("0").rstrip("."))
        item.setData(STORED, value)

    def _stored(self, row: int, column: int) -> float:
        """The exact value behind a cell, or what was typed over it."""
        item = self._item(row, column)
        kept: Any = item.data(STORED)
        if isinstance(kept, float):
            return kept
        try:
            return units.parse_number(item.text().replace("%", "")) / self._columns[column].factor
        except ValueError:
            label = self._columns[column].label.lower()
            raise ProfileError(f"{self._one} {row + 1} needs a number as {label}.") from None

    def _item_edited(self, item: QTableWidgetItem) -> None:
        self.table.blockSignals(True)
        item.setData(STORED, None)
        self._typed(item.row(), item.column())
        self.table.blockSignals(False)
        self.edited.emit()
