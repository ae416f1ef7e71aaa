"""A table of figures that can be edited; a figure that was only looked at is never rounded."""

from collections.abc import Sequence
from typing import Any

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
from shared.errors import ProfileError
from shared.profile_fields import Figure

Row = tuple[float, ...]
_STORED = Qt.ItemDataRole.UserRole
_ROWS = 6


class ExactTable(QWidget):
    """Insert adds a row, Delete takes it away."""

    edited = Signal()

    def __init__(
        self, name: str, one: str, columns: Sequence[Figure], parent: QWidget | None = None
    ) -> None:
        """`one` is what a row is called, such as a point."""
        super().__init__(parent)
        self._columns = tuple(columns)
        self._one = one
        self.table = QTableWidget(0, len(columns))
        self.table.setAccessibleName(name)
        self.table.setHorizontalHeaderLabels([f"{c.label}\n{c.unit}" for c in columns])
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        plain(self.table)
        row_high = self.table.verticalHeader().defaultSectionSize()
        self.table.setFixedHeight(
            row_high * _ROWS + self.table.horizontalHeader().sizeHint().height()
        )
        self.table.itemChanged.connect(self._item_edited)
        self.add = QPushButton("Add a point")
        self.add.clicked.connect(self._add)
        self.remove = QPushButton("Remove")
        self.remove.setAccessibleName("Remove the point of the chosen row")
        self.remove.clicked.connect(self._remove)
        row = QHBoxLayout()
        row.setSpacing(theme.GRID)
        row.addWidget(self.add)
        row.addWidget(self.remove)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.GRID)
        column.addWidget(self.table)
        column.addLayout(row)

    def set_rows(self, rows: Sequence[Row]) -> None:
        """Show other figures, without telling anybody."""
        self.table.blockSignals(True)
        self.table.setRowCount(0)
        for values in rows:
            self._append(values)
        self.table.blockSignals(False)

    def rows(self) -> tuple[Row, ...]:
        """The figures as they stand; ProfileError when one is none."""
        return tuple(
            tuple(self._stored(row, column) for column in range(len(self._columns)))
            for row in range(self.table.rowCount())
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Insert and Delete."""
        if event.key() == Qt.Key.Key_Insert:
            self._add()
        elif event.key() == Qt.Key.Key_Delete:
            self._remove()
        else:
            super().keyPressEvent(event)

    def _next(self) -> Row:
        """What a row that is added holds, to be typed over."""
        raise NotImplementedError

    def _typed(self, row: int, column: int) -> None:
        """Something was typed; signals are blocked."""

    def _append(self, values: Row) -> None:
        row = self.table.rowCount()
        self.table.insertRow(row)
        for column, value in enumerate(values):
            item = QTableWidgetItem()
            item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            item.setToolTip(self._columns[column].help)
            self.table.setItem(row, column, item)
            self._put(row, column, value)

    def _put(self, row: int, column: int, value: float) -> None:
        item = self._item(row, column)
        item.setText(self._columns[column].digits(value))
        item.setData(_STORED, value)

    def _item(self, row: int, column: int) -> QTableWidgetItem:
        item = self.table.item(row, column)
        assert item is not None
        return item

    def _stored(self, row: int, column: int) -> float:
        """The exact value behind a cell, or what was typed over it."""
        item = self._item(row, column)
        kept: Any = item.data(_STORED)
        if isinstance(kept, float):
            return kept
        try:
            return units.parse_number(item.text().replace("%", "")) / self._columns[column].factor
        except ValueError:
            label = self._columns[column].label.lower()
            raise ProfileError(f"{self._one} {row + 1} needs a number as {label}.") from None

    def _item_edited(self, item: QTableWidgetItem) -> None:
        self.table.blockSignals(True)
        item.setData(_STORED, None)
        self._typed(item.row(), item.column())
        self.table.blockSignals(False)
        self.edited.emit()

    def _add(self) -> None:
        self.table.blockSignals(True)
        self._append(self._next())
        self.table.blockSignals(False)
        self.table.setCurrentCell(self.table.rowCount() - 1, len(self._columns) > 3)
        self.table.setFocus()
        self.edited.emit()

    def _remove(self) -> None:
        row = self.table.currentRow()
        if row >= 0:
            self.table.removeRow(row)
            self.edited.emit()
