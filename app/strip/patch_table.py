"""The patches of a strip with what was read of them; corrected and left out by hand."""

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem, QVBoxLayout, QWidget

from app import theme
from app.glass.plain_table import plain
from app.strip.typed_units import UNITS
from app.strip.words import kind_words, refused_words
from engine.strip.corrections import Entry
from shared import units
from shared.strip import Strip

HEADINGS = ("Use", "No.", "Patch", "Setting", "Frost, %")
USE, NUMBER, PATCH, SETTING, VALUE = range(5)
_BOXES = f"""
    QTableWidget::indicator {{
        width: 12px; height: 12px; background: {theme.PANE}; border: 1px solid {theme.EDGE};
        border-radius: 3px;
    }}
    QTableWidget::indicator:checked {{ background: {theme.QUIET}; border-color: {theme.QUIET};
        image: url("{(theme.ICONS / "tick.svg").as_posix()}");
    }}
"""
_AT_THE_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_STORED = Qt.ItemDataRole.UserRole


class PatchTable(QWidget):
    """`corrected(patch, value or None)`, `used(patch, bool)` and `gone_to(patch)` tell what the
    user does; the owner answers with `show_entries`. `refused(sentence)` when a typed value cannot
    be taken and the one before stays."""

    corrected = Signal(int, object)
    used = Signal(int, bool)
    gone_to = Signal(int)
    refused = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit = UNITS["frost"]
        self.table = QTableWidget(0, len(HEADINGS))
        self.table.setAccessibleName("Patches")
        self.table.setAccessibleDescription(
            "Type a value to correct it, nothing to take it back; Space uses a patch or leaves it "
            "out."
        )
        self.table.setHorizontalHeaderLabels(HEADINGS)
        self.table.setSelectionMode(QTableWidget.SelectionMode.SingleSelection)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(PATCH, QHeaderView.ResizeMode.Stretch)
        plain(self.table)
        self.table.setStyleSheet(self.table.styleSheet() + _BOXES)
        self.table.verticalHeader().setDefaultSectionSize(26)
        self.table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.table.itemChanged.connect(self._item_changed)
        self.table.currentCellChanged.connect(self._moved_to)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.GRID)
        column.addWidget(self.table)

    def show_strip(self, strip: Strip) -> None:
        """The patches of another strip."""
        self.table.blockSignals(True)
        self.table.clearSelection()
        self.table.setRowCount(len(strip.patches))
        for row, patch in enumerate(strip.patches):
            texts = ("", str(row + 1), kind_words(patch), str(patch.run + 1), "")
            for column, text in enumerate(texts):
                item = QTableWidgetItem(text)
                flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
                if column == NUMBER:
                    item.setTextAlignment(_AT_THE_RIGHT)
                elif column == PATCH:
                    item.setData(_STORED, text)
                elif column == USE:
                    flags |= Qt.ItemFlag.ItemIsUserCheckable
                    item.setCheckState(Qt.CheckState.Unchecked)
                    item.setData(Qt.ItemDataRole.AccessibleTextRole, f"Use patch {row + 1}")
                elif column == VALUE and patch.kind != "lines":
                    flags |= Qt.ItemFlag.ItemIsEditable
                item.setFlags(flags)
                self.table.setItem(row, column, item)
        self.table.blockSignals(False)

    def show_entries(self, entries: Mapping[int, Entry], unit: str = "frost") -> None:
        """What is known of the patches; those that are missing have no value."""
        self.table.blockSignals(True)
        self._unit = UNITS[unit]
        self._heading(VALUE).setText(self._unit.heading)
        for row in range(self.table.rowCount()):
            entry = entries.get(row)
            value = self._unit.shown(entry.value) if entry is not None else ""
            self._item(row, VALUE).setText(value)
            self._item(row, VALUE).setData(_STORED, value)
            used = entry is not None and entry.used
            state = Qt.CheckState.Checked if used else Qt.CheckState.Unchecked
            self._item(row, USE).setCheckState(state)
            name = self._item(row, PATCH)
            remark = entry.remark if entry else ""
            doubtful = bool(remark) and not (entry and entry.by_hand)
            name.setText(f"\u26a0 {name.data(_STORED)}" if doubtful else str(name.data(_STORED)))
            name.setToolTip(remark)
            font = self._item(row, VALUE).font()
            font.setBold(bool(entry and entry.by_hand))
            self._item(row, VALUE).setFont(font)
        self.table.blockSignals(False)

    def go_to(self, patch: int) -> None:
        """Choose a patch's row."""
        self.table.setCurrentCell(patch, VALUE)

    def _moved_to(self, row: int) -> None:
        if row >= 0:
            self.gone_to.emit(row)

    def _heading(self, column: int) -> QTableWidgetItem:
        item = self.table.horizontalHeaderItem(column)
        assert item is not None
        return item

    def _item(self, row: int, column: int) -> QTableWidgetItem:
        item = self.table.item(row, column)
        assert item is not None
        return item

    def _item_changed(self, item: QTableWidgetItem) -> None:
        row = item.row()
        if item.column() == USE:
            self.used.emit(row, item.checkState() == Qt.CheckState.Checked)
        elif item.column() == VALUE:
            self._typed(item)

    def _typed(self, item: QTableWidgetItem) -> None:
        unit, text = self._unit, item.text().replace("%", "").strip()
        if not text:
            self.corrected.emit(item.row(), None)
            return
        try:
            shown = units.parse_number(text)
        except ValueError:
            shown = float("nan")
        if not unit.low <= shown <= unit.high:
            self.table.blockSignals(True)
            item.setText(str(item.data(_STORED) or ""))
            self.table.blockSignals(False)
            self.refused.emit(refused_words(text, unit.heading, unit.low, unit.high))
            return
        self.corrected.emit(item.row(), shown / unit.factor)
