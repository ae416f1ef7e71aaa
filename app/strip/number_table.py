"""A small table of numbers that can be edited: pairs of powers, speeds."""

from collections.abc import Sequence

import attrs
from PySide6.QtWidgets import QTableWidgetItem, QWidget

from app.glass.row_table import STORED, Row, RowTable
from shared import units


@attrs.frozen
class Column:
    """A heading with its unit, and the reach of its numbers."""

    label: str
    unit: str
    low: float
    high: float


class NumberTable(RowTable):
    """Numbers stay within their reach, and one row always stays."""

    def __init__(
        self,
        name: str,
        row: str,
        columns: Sequence[Column],
        rows_shown: int,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(name, row, [f"{c.label}, {c.unit}" for c in columns], parent)
        self._columns = tuple(columns)
        self.show_lines(rows_shown)

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
        """Keep the number within its reach; what is none is taken back."""
        column = self._columns[item.column()]
        before = float(item.data(STORED))
        try:
            typed = units.parse_number(item.text().replace(column.unit, ""))
        except ValueError:
            typed = before
        number = min(max(typed, column.low), column.high)
        self.table.blockSignals(True)
        self._put(item.row(), item.column(), number)
        self.table.blockSignals(False)
        if number != before:
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
