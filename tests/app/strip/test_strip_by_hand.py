"""Readings without a camera: typed and pasted into the table, with what tells how to do it."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from app.strip.patch_table import VALUE
from tests import strip_in_a_folder as strips
from tests.app.strip.parts import press, ranked, type_value

KEY = Qt.Key


def paste(qtbot, page, patch, text):
    table = page.read.table.table
    table.setCurrentCell(patch, VALUE)
    table.setFocus()
    QGuiApplication.clipboard().setText(text)
    qtbot.keyClick(table, KEY.Key_V, Qt.KeyboardModifier.ControlModifier)


def choose_unit(page, name):
    box = page.read.unit.box
    box.setCurrentIndex(box.findData(name))
    box.activated.emit(box.currentIndex())


@pytest.fixture
def table_page(page):
    page.go_to("read")
    return page


def tones(strip):
    """The first rows of a column, as a spreadsheet has them: nothing where there is no tone."""
    return [
        "" if patch.kind == "lines" else f"{100 * patch.drive:.0f}" for patch in strip.patches[:20]
    ]


def test_a_column_is_pasted_in_one_step_and_undone_in_one(table_page, qtbot):
    page, work = table_page, table_page._work
    column = tones(work.strip)
    paste(qtbot, page, 0, "\r\n".join(column) + "\r\n")
    values = work.notes.corrections.values
    assert values == {n: float(word) / 100 for n, word in enumerate(column) if word}
    work.undo()
    assert work.notes.corrections.values == {}
    work.redo()
    assert work.notes.corrections.values == values


def test_a_column_begins_at_the_chosen_patch_with_points_commas_and_signs(table_page, qtbot):
    first = next(
        n
        for n, patch in enumerate(table_page._work.strip.patches)
        if "lines" not in {p.kind for p in table_page._work.strip.patches[n : n + 3]}
    )
    paste(qtbot, table_page, first, "12.5")
    assert table_page._work.history.undo_name == "1 value"
    paste(qtbot, table_page, first, "12.5\n13,5 %\n14")
    assert table_page._work.history.undo_name == "3 values"
    assert table_page._work.notes.corrections.values == {
        first: 0.125, first + 1: 0.135, first + 2: 0.14
    }  # fmt: skip


def test_a_column_that_does_not_fit_is_refused_whole_and_names_its_patch(table_page, qtbot):
    page, work = table_page, table_page._work
    lines = strips.patches_of(work.strip, "lines")[0]
    last = len(work.strip.patches) - 1
    for patch, text, words in (
        (strips.patches_of(work.strip, "bare")[0], "lots", "lots was not taken"),
        (lines, "50", f"patch {lines + 1} is one of lines"),
        (last, "50\n50" if work.strip.patches[last].kind != "lines" else "\n50", "no more than"),
    ):
        paste(qtbot, page, patch, text)
        assert "Nothing was pasted" in page.read.state.text()
        assert words in page.read.state.text()
        assert work.notes.corrections.values == {}


def test_the_page_tells_how_to_read_in_each_unit(table_page):
    assert "not of what the eye sees" in table_page.read.notes.text()
    choose_unit(table_page, "eye")
    assert "grey scale of known L* or density" in table_page.read.notes.text()
    assert "from your own printer" in table_page.read.notes.text()
    assert "setting 1 tell most" in table_page.read.notes.text()


def test_a_value_that_is_taken_back_is_not_said_to_be_typed(table_page, qtbot):
    patch = strips.patches_of(table_page._work.strip, "solid")[0]
    type_value(qtbot, table_page, patch, "90")
    table_page.read.table.go_to(patch)
    assert table_page.read.patch.text().endswith("typed in")
    press(qtbot, table_page.read.forget)
    assert table_page.read.patch.text() == f"Patch {patch + 1}: Solid, setting 1"


def test_a_slip_is_named_where_it_was_typed(table_page, qtbot):
    work = table_page._work
    wanted = ("solid", "bare", "power")
    right = {
        n: 0.03 + 0.3 * patch.drive
        for n, patch in enumerate(work.strip.patches)
        if patch.kind in wanted and patch.run == 0
    }
    choose_unit(table_page, "reflectance")
    slip = strips.patches_of(work.strip, "solid")[0]
    work.correct_all({**right, slip: 0.05})
    ranked(table_page, qtbot)
    assert f"Patch {slip + 1} does not read like others" in table_page.read.warnings.text()


def test_a_setting_of_which_nothing_was_read_is_told_of_while_it_is_chosen(table_page, qtbot):
    page, work = table_page, table_page._work
    wanted = ("solid", "bare", "power")
    choose_unit(page, "reflectance")
    work.correct_all(
        {
            n: 0.03 + 0.3 * patch.drive
            for n, patch in enumerate(work.strip.patches)
            if patch.kind in wanted and patch.run == 0
        }
    )
    ranked(page, qtbot)
    said = "of setting {} itself was read".format
    for run in (1, 0, 1):
        work.choose(run)
        qtbot.waitUntil(lambda run=run: work.profile is not None and work.chosen == run)
        told = page.choose.warnings.text()
        assert (said(run + 1) in told) == (run == 1)
