"""The measured points of the characteristic curve as a table that can be edited."""

from collections.abc import Sequence
from typing import Any

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
from shared.errors import ProfileError
from shared.profile import Knot
from shared.profile_fields import Figure, figures

_KNOT = figures(Knot)
POWER = Figure("number", "Power", "At this setting's speed and pitch.", "%", 0.0, 100.0)
COLUMNS: tuple[Figure, ...] = (POWER, *_KNOT.values())
_POWER, _FLUENCE = 0, 1
_FIRST = Knot(fluence_j_mm2=0.2, frost=0.0)
_STEP = 1.25
_STORED = Qt.ItemDataRole.UserRole
_ROWS = 6


class PointsTable(QWidget):
    """Power follows fluence and the other way round; Insert adds a point, Delete takes it away."""

    edited = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._per_percent = 0.0
        self.table = QTableWidget(0, len(COLUMNS))
        self.table.setAccessibleName("Measured points")
        self.table.setHorizontalHeaderLabels([f"{c.label}\n{c.unit}" for c in COLUMNS])
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

    def set_knots(self, knots: Sequence[Knot]) -> None:
        """Show measured points, without telling anybody."""
        self.table.blockSignals(True)
        self.table.setRowCount(0)
        for knot in sorted(knots, key=lambda knot: knot.fluence_j_mm2):
            self._append(knot)
        self.table.blockSignals(False)

    def knots(self) -> tuple[Knot, ...]:
        """The points as they stand; ProfileError when one cannot be."""
        return tuple(self._knot(row) for row in range(self.table.rowCount()))

    def set_fluence_per_percent(self, fluence: float) -> None:
        """J/mm2 for each percent of power, from which the power's column is reckoned."""
        self._per_percent = fluence
        self.table.blockSignals(True)
        for row in range(self.table.rowCount()):
            self._show_power(row)
        self.table.blockSignals(False)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Insert and Delete."""
        if event.key() == Qt.Key.Key_Insert:
            self._add()
        elif event.key() == Qt.Key.Key_Delete:
            self._remove()
        else:
            super().keyPressEvent(event)

    def _append(self, knot: Knot) -> None:
        row = self.table.rowCount()
        self.table.insertRow(row)
        for column, value in enumerate((0.0, *attrs.astuple(knot))):
            item = QTableWidgetItem()
            item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            item.setToolTip(COLUMNS[column].help)
            self.table.setItem(row, column, item)
            self._put(row, column, value)
        self._show_power(row)

    def _put(self, row: int, column: int, value: float) -> None:
        item = self._item(row, column)
        item.setText(COLUMNS[column].digits(value))
        item.setData(_STORED, value)

    def _show_power(self, row: int) -> None:
        try:
            power = self._stored(row, _FLUENCE) / self._per_percent
        except (ProfileError, ZeroDivisionError):
            self._item(row, _POWER).setText("")
        else:
            self._put(row, _POWER, float(f"{power:.3g}"))

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
            return units.parse_number(item.text().replace("%", "")) / COLUMNS[column].factor
        except ValueError:
            label = COLUMNS[column].label.lower()
            raise ProfileError(f"Measured point {row + 1} needs a number as {label}.") from None

    def _knot(self, row: int) -> Knot:
        values = [self._stored(row, column) for column in range(_FLUENCE, len(COLUMNS))]
        try:
            return Knot(*values)
        except ProfileError as problem:
            raise ProfileError(f"Measured point {row + 1}: {problem}") from None

    def _item_edited(self, item: QTableWidgetItem) -> None:
        self.table.blockSignals(True)
        item.setData(_STORED, None)
        if item.column() == _POWER:
            self._take_power(item.row())
        elif item.column() == _FLUENCE:
            self._show_power(item.row())
        self.table.blockSignals(False)
        self.edited.emit()

    def _take_power(self, row: int) -> None:
        try:
            fluence = self._stored(row, _POWER) * self._per_percent
        except ProfileError:
            self._show_power(row)
        else:
            self._put(row, _FLUENCE, fluence)

    def _add(self) -> None:
        """A point a little further up the curve than the last, to be typed over."""
        try:
            last = self.knots()[-1]
        except (IndexError, ProfileError):
            new = _FIRST
        else:
            further = float(f"{last.fluence_j_mm2 * _STEP:.3g}")
            new = attrs.evolve(last, fluence_j_mm2=min(further, COLUMNS[_FLUENCE].high))
        self.table.blockSignals(True)
        self._append(new)
        self.table.blockSignals(False)
        self.table.setCurrentCell(self.table.rowCount() - 1, _FLUENCE)
        self.table.setFocus()
        self.edited.emit()

    def _remove(self) -> None:
        row = self.table.currentRow()
        if row >= 0:
            self.table.removeRow(row)
            self.edited.emit()
