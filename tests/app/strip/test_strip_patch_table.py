"""The table of the patches of a large strip."""

import pytest
from PySide6.QtWidgets import QApplication, QStyledItemDelegate

from app.strip.patch_table import VALUE, PatchTable
from app.strip.typed_units import UNITS
from engine.strip.corrections import Entry
from tests import strip_in_a_folder as strips

FRAME = 4
"""What the frame of the chosen cell takes, in pixels."""


class Measured(QStyledItemDelegate):
    """Counts the cells that are measured."""

    count = 0

    def sizeHint(self, option, index):
        self.count += 1
        return super().sizeHint(option, index)


@pytest.fixture
def table(qtbot, styled):
    del styled
    table = PatchTable()
    qtbot.addWidget(table)
    table.resize(440, 500)
    with qtbot.waitExposed(table):
        table.show()
    table.show_strip(strips.made().strip)
    QApplication.processEvents()
    return table


def entries(table, value):
    return {row: Entry(value, True, True, "") for row in range(table.table.rowCount())}


def test_showing_a_reading_does_not_measure_all_cells_for_each(table):
    delegate = Measured(table.table)
    table.table.setItemDelegate(delegate)
    QApplication.processEvents()
    delegate.count = 0
    table.show_entries(entries(table, 0.5))
    assert delegate.count <= table.table.rowCount() * table.table.columnCount()


@pytest.mark.parametrize("unit", UNITS)
def test_the_widest_value_typed_in_is_seen_whole(table, unit):
    most = UNITS[unit].high / UNITS[unit].factor
    table.show_entries(entries(table, most), unit)
    item = table.table.item(0, VALUE)
    assert item.font().bold()
    needs = table.table.sizeHintForIndex(table.table.indexFromItem(item)).width()
    assert table.table.columnWidth(VALUE) >= needs + FRAME
    heads = table.table.horizontalHeader()
    assert heads.sectionSize(VALUE) >= heads.sectionSizeHint(VALUE)
