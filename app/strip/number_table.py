"""A small table of numbers that can be edited: pairs of powers, speeds."""

from collections.abc import Sequence

import attrs
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.glass.plain_table import plain
from shared import units

Row = tuple[float, ...]
_STORED = Qt.ItemDataRole.UserRole


@attrs.frozen
class Column:
    """A heading with its unit, and the reach of its numbers."""

    label: str
    unit: str
    low: float
    high: float


class NumberTable(QWidget):
    """Insert adds a row like the chosen one, Delete takes it away; one row always stays."""

    edited = Signal()

    def __init__(
        self, name: str, columns: Sequence[Column], rows_shown: int, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._columns = tuple(columns)
        self.table = QTableWidget(0, len(columns))
        self.table.setAccessibleName(name)
        self.table.setAccessibleDescription("Insert adds a row, Delete takes one away.")
        self.table.setHorizontalHeaderLabels([f"{c.label}, {c.unit}" for c in columns])
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        plain(self.table)
        self.table.verticalHeader().setDefaultSectionSize(26)
        self.table.setFixedHeight(26 * rows_shown + 30)
        self.table.itemChanged.connect(self._item_edited)
        self.add = QPushButton("Add")
        self.add.setAccessibleName(f"Add a row to {name.lower()}")
        self.add.clicked.connect(self._add)
        self.remove = QPushButton("Remove")
        self.remove.setAccessibleName(f"Remove the chosen row of {name.lower()}")
        self.remove.clicked.connect(self._remove)
        for button in (self.add, self.remove):
            button.setAutoDefault(False)
        below = QHBoxLayout()
        below.setSpacing(theme.GRID)
        below.addWidget(self.add)
        below.addWidget(self.remove)
        below.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.GRID // 2)
        column.addWidget(self.table)
        column.addLayout(below)

    def rows(self) -> tuple[Row, ...]:
        """The numbers as they stand."""
        return tuple(
            tuple(self._number(row, column) for column in range(len(self._columns)))
            for row in range(self.table.rowCount())
        )

    def set_rows(self, rows: Sequence[Row]) -> None:
        """Show other numbers, without telling anybody."""
        if tuple(rows) == self.rows():
            return
        self.table.blockSignals(True)
        self.table.setRowCount(0)
        for numbers in rows:
            self._append(numbers)
        self.table.blockSignals(False)
        self._follow()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Insert and Delete, when no cell is being edited."""
        if event.key() == Qt.Key.Key_Insert:
            self._add()
        elif event.key() == Qt.Key.Key_Delete:
            self._remove()
        else:
            super().keyPressEvent(event)

    def _number(self, row: int, column: int) -> float:
        item = self.table.item(row, column)
        return float(item.data(_STORED)) if item is not None else 0.0

    def _append(self, numbers: Row) -> None:
        row = self.table.rowCount()
        self.table.insertRow(row)
        for column, number in enumerate(numbers):
            item = QTableWidgetItem()
            item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            self.table.setItem(row, column, item)
            self._store(item, number)

    def _store(self, item: QTableWidgetItem, number: float) -> None:
        was = self.table.blockSignals(True)
        item.setData(_STORED, number)
        item.setText(f"{number:g}")
        self.table.blockSignals(was)

    def _item_edited(self, item: QTableWidgetItem) -> None:
        """Keep the number within its reach; what is none is taken back."""
        column = self._columns[item.column()]
        before = float(item.data(_STORED))
        try:
            typed = units.parse_number(item.text().replace(column.unit, ""))
        except ValueError:
            typed = before
        number = min(max(typed, column.low), column.high)
        self._store(item, number)
        if number != before:
            self.edited.emit()

    def _add(self) -> None:
        """One more row, like the chosen one, ready to be typed over."""
        last = self.table.rowCount() - 1
        row = self.table.currentRow() if self.table.currentRow() >= 0 else last
        self.table.blockSignals(True)
        self._append(self.rows()[row])
        self.table.blockSignals(False)
        new = self.table.rowCount() - 1
        self.table.setCurrentCell(new, 0)
        self.table.setFocus()
        self._follow()
        self.edited.emit()

    def _remove(self) -> None:
        count, row = self.table.rowCount(), self.table.currentRow()
        if count < 2:
            return
        self.table.removeRow(row if row >= 0 else count - 1)
        self._follow()
        self.edited.emit()

    def _follow(self) -> None:
        self.remove.setEnabled(self.table.rowCount() > 1)
