"""The patches of a strip with what was read of them; corrected and left out by hand."""

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics, QGuiApplication, QKeySequence, QShortcut
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
_WIDEST = "000.0"


class PatchTable(QWidget):
    """`corrected(patch, value or None)`, `pasted(values by patch)`, `used(patch, bool)` and
    `gone_to(patch)` tell what the user does; the owner answers with `show_entries`.
    `refused(sentence)` when a value cannot be taken and the one before stays."""

    corrected = Signal(int, object)
    pasted = Signal(object)
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
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setSectionResizeMode(PATCH, QHeaderView.ResizeMode.Stretch)
        plain(self.table)
        self.table.setStyleSheet(self.table.styleSheet() + _BOXES)
        self.table.verticalHeader().setDefaultSectionSize(26)
        self.table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.table.itemChanged.connect(self._item_changed)
        self.table.currentCellChanged.connect(self._moved_to)
        paste = QShortcut(QKeySequence.StandardKey.Paste, self.table)
        paste.setContext(Qt.ShortcutContext.WidgetShortcut)
        paste.activated.connect(self._paste)
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
                elif column == VALUE:
                    item.setTextAlignment(_AT_THE_RIGHT)
                    if patch.kind != "lines":
                        flags |= Qt.ItemFlag.ItemIsEditable
                item.setFlags(flags)
                self.table.setItem(row, column, item)
        self.table.blockSignals(False)
        for column in (USE, NUMBER, SETTING):
            self.table.resizeColumnToContents(column)

    def show_entries(self, entries: Mapping[int, Entry], unit: str = "frost") -> None:
        """What is known of the patches; those that are missing have no value."""
        self.table.blockSignals(True)
        self._unit = UNITS[unit]
        self._show_heading()
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

    @property
    def current(self) -> int:
        """The chosen patch; -1 where there is none."""
        return self.table.currentRow()

    def go_to(self, patch: int) -> None:
        """Choose a patch's row."""
        self.table.setCurrentCell(patch, VALUE)

    def _moved_to(self, row: int) -> None:
        if row >= 0:
            self.gone_to.emit(row)

    def _show_heading(self) -> None:
        """Of the values; their column has room for the widest one, typed in."""
        heading = self.table.horizontalHeaderItem(VALUE)
        assert heading is not None
        heading.setText(self._unit.heading)
        bold = QFont(self.table.font())
        bold.setBold(True)
        values = QFontMetrics(bold).horizontalAdvance(_WIDEST) + 3 * theme.GRID
        heads = self.table.horizontalHeader().sectionSizeHint(VALUE)
        self.table.setColumnWidth(VALUE, max(values, heads))

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
        text = _bare(item.text())
        if not text:
            self.corrected.emit(item.row(), None)
            return
        value = self._value(text)
        if value is None:
            self.table.blockSignals(True)
            item.setText(str(item.data(_STORED) or ""))
            self.table.blockSignals(False)
            self.refused.emit(self._not_taken(text))
            return
        self.corrected.emit(item.row(), value)

    def _paste(self) -> None:
        """Take a column of values from the chosen patch on, one a line, none for an empty line;
        all of them or nothing."""
        first, values = max(0, self.current), {}
        for row, line in enumerate(QGuiApplication.clipboard().text().splitlines(), start=first):
            text = _bare(line)
            if not text:
                continue
            value = self._value(text)
            if row >= self.table.rowCount():
                why = f"there are no more than {self.table.rowCount()} patches."
            elif not self._item(row, VALUE).flags() & Qt.ItemFlag.ItemIsEditable:
                why = f"patch {row + 1} is one of lines, where the column must leave a line empty."
            elif value is None:
                why = f"at patch {row + 1} {self._not_taken(text)}"
            else:
                values[row] = value
                continue
            self.refused.emit(f"Nothing was pasted: {why}")
            return
        if values:
            self.pasted.emit(values)

    def _value(self, text: str) -> float | None:
        """What was typed, as it is stored; None where the column does not take it."""
        try:
            shown = units.parse_number(text)
        except ValueError:
            return None
        unit = self._unit
        return shown / unit.factor if unit.low <= shown <= unit.high else None

    def _not_taken(self, text: str) -> str:
        return refused_words(text, self._unit.heading, self._unit.low, self._unit.high)


def _bare(text: str) -> str:
    return text.replace("%", "").strip()
