"""A table whose rows are added and taken away, by buttons and by keys; what both kinds share."""

from collections.abc import Sequence

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

Row = tuple[float, ...]
STORED = Qt.ItemDataRole.UserRole
"""Where a cell keeps its number, beside the text that shows it."""
_ROW_HIGH = 26


class RowTable(QWidget):
    """Insert adds a row, Delete takes the chosen one away."""

    edited = Signal()

    def __init__(
        self, name: str, row: str, headings: Sequence[str], parent: QWidget | None = None
    ) -> None:
        """`name` is of the table, `row` what one row is called, such as a point."""
        super().__init__(parent)
        self.table = QTableWidget(0, len(headings))
        self.table.setAccessibleName(name)
        self.table.setAccessibleDescription("Insert adds a row, Delete takes one away.")
        self.table.setHorizontalHeaderLabels(list(headings))
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        plain(self.table)
        self.table.verticalHeader().setDefaultSectionSize(_ROW_HIGH)
        self.table.itemChanged.connect(self._item_edited)
        self.add = QPushButton(f"Add a {row}")
        self.add.setAccessibleName(f"{name}: add a {row}")
        self.add.setToolTip("Insert, in the table")
        self.add.clicked.connect(self._add)
        self.remove = QPushButton("Remove")
        self.remove.setAccessibleName(f"{name}: remove the chosen {row}")
        self.remove.setToolTip("Delete, in the table")
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
        column.setSpacing(theme.GRID)
        column.addWidget(self.table)
        column.addLayout(below)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Insert and Delete, when no cell is being edited."""
        if event.key() == Qt.Key.Key_Insert:
            self._add()
        elif event.key() == Qt.Key.Key_Delete:
            self._remove()
        else:
            super().keyPressEvent(event)

    def show_lines(self, count: int) -> None:
        """Make the table as high as so many rows."""
        heading = self.table.horizontalHeader().sizeHint().height()
        self.table.setFixedHeight(_ROW_HIGH * count + heading + 2)

    def _next(self) -> Row:
        """What a row that is added holds, to be typed over."""
        raise NotImplementedError

    def _put(self, row: int, column: int, value: float) -> None:
        """Show a number in a cell and keep it there; signals are blocked."""
        raise NotImplementedError

    def _item_edited(self, item: QTableWidgetItem) -> None:
        """Something was typed into a cell."""
        raise NotImplementedError

    def _fill(self, rows: Sequence[Row]) -> None:
        """Show other rows, without telling anybody."""
        self.table.blockSignals(True)
        self.table.setRowCount(0)
        for values in rows:
            self._append(values)
        self.table.blockSignals(False)
        self._counted()

    def _counted(self) -> None:
        """The number of rows is another."""

    def _append(self, values: Row) -> None:
        row = self.table.rowCount()
        self.table.insertRow(row)
        for column, value in enumerate(values):
            item = QTableWidgetItem()
            item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            self.table.setItem(row, column, item)
            self._put(row, column, value)

    def _item(self, row: int, column: int) -> QTableWidgetItem:
        item = self.table.item(row, column)
        assert item is not None
        return item

    def _add(self) -> None:
        """One more row, ready to be typed over."""
        values = self._next()
        self.table.blockSignals(True)
        self._append(values)
        self.table.blockSignals(False)
        self._counted()
        self.table.setCurrentCell(self.table.rowCount() - 1, 0)
        self.table.setFocus()
        self.edited.emit()

    def _remove(self) -> None:
        row = self.table.currentRow()
        if row >= 0:
            self.table.removeRow(row)
            self._counted()
            self.edited.emit()
