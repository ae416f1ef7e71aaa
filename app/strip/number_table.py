"""A small table of numbers that can be edited: pairs of powers, speeds."""

from collections.abc import Sequence

import attrs
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QTableWidgetItem, QWidget

from app.glass.row_table import STORED, Row, RowTable
from app.strip.words import refused_words
from shared import units


@attrs.frozen
class Column:
    """A heading with its unit, and the reach of its numbers."""

    label: str
    unit: str
    low: float
    high: float

    @property
    def heading(self) -> str:
        """Above the numbers."""
        return f"{self.label}, {self.unit}"


class NumberTable(RowTable):
    """Numbers stay within their reach, and one row always stays; `refused(sentence)` when what was
    typed is no such number and the one before stays."""

    refused = Signal(str)

    def __init__(
        self,
        name: str,
        row: str,
        columns: Sequence[Column],
        rows_shown: int,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(name, row, [c.heading for c in columns], parent)
        self._columns = tuple(columns)
        self.show_lines(rows_shown)

    def set_columns(self, columns: Sequence[Column]) -> None:
        """The same columns with another reach."""
        self._columns = tuple(columns)

    def rows(self) -> tuple[Row, ...]:
        """The numbers as they stand."""
        return tuple(
            tuple(self._number(row, column) for column in range(len(self._columns)))
            for row in range(self.table.rowCount())
        )

    def set_rows(self, rows: Sequence[Row]) -> None:
        """Show other numbers, without telling anybody."""
        if tuple(rows) != self.rows():
            self._fill(rows)

    def _counted(self) -> None:
        self.remove.setEnabled(self.table.rowCount() > 1)

    def _number(self, row: int, column: int) -> float:
        return float(self._item(row, column).data(STORED))

    def _put(self, row: int, column: int, value: float) -> None:
        item = self._item(row, column)
        item.setData(STORED, value)
        item.setText(f"{value:g}")

    def _item_edited(self, item: QTableWidgetItem) -> None:
        """Take a number within its reach, and nothing else."""
        column, before = self._columns[item.column()], float(item.data(STORED))
        text = item.text().strip()
        try:
            number = units.parse_number(text.removesuffix(column.unit))
        except ValueError:
            number = float("nan")
        taken = column.low <= number <= column.high
        self.table.blockSignals(True)
        self._put(item.row(), item.column(), number if taken else before)
        self.table.blockSignals(False)
        if not taken:
            self.refused.emit(refused_words(text, column.heading, column.low, column.high))
        elif number != before:
            self.edited.emit()

    def _next(self) -> Row:
        """Like the chosen row, or the last."""
        row = self.table.currentRow()
        return self.rows()[row if row >= 0 else -1]

    def _remove(self) -> None:
        if self.table.rowCount() < 2:
            return
        if self.table.currentRow() < 0:
            self.table.setCurrentCell(self.table.rowCount() - 1, 0)
        super()._remove()
