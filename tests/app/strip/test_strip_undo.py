"""What the user does on the page of the test strip can be undone; nothing is lost unasked."""

import json

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt

from app.strip.notes import NOTES
from app.strip.patch_table import USE, VALUE
from tests import strip_in_a_folder as strips
from tests.app.conftest import WAIT_MS, type_cell
from tests.app.strip.parts import open_page, press, ranked, type_value

KEY = Qt.Key
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def dull(folder):
    """A photo that shows no strip."""
    return strips.save_jpeg(folder / "dull.jpg", np.full((600, 800, 3), 90, np.uint8))


def undo(qtbot, page):
    qtbot.keyClick(page, KEY.Key_Z, CTRL)


def redo(qtbot, page):
    qtbot.keyClick(page, KEY.Key_Z, CTRL | SHIFT)


def kept_values(page):
    return json.loads((page._work.folder / NOTES).read_text())["values"]


def test_a_refused_photo_leaves_the_old_result(read_page, dull, qtbot):
    page, work = read_page, read_page._work
    work.choose(strips.WEAK)
    type_value(qtbot, page, 3, "33")
    ranked(page, qtbot)
    held = work.reading, work.profile, work.notes.corrections, work.chosen
    page.take_photo(dull)
    assert work.reading is held[0]
    ranked(page, qtbot)
    said = page.read.state.text()
    assert "There is no test strip in this photo" in said
    assert "What was read before stays" in said
    assert (work.reading, work.profile, work.notes.corrections, work.chosen) == held
    assert kept_values(page) == {"3": 0.33}
    assert page.read.picture.image is not None
    page.go_to("choose")
    assert page.choose.use.isEnabled()
    page.go_to("read")
    page.read.table.table.item(5, USE).setCheckState(Qt.CheckState.Unchecked)
    assert "no test strip" not in page.read.state.text()
    assert page.photograph.file.text() == "Chosen: IMG_0007.jpg"


def test_a_refused_photo_leaves_what_was_typed_without_one(page, dull, qtbot):
    page.go_to("read")
    type_value(qtbot, page, 3, "33")
    page.take_photo(dull)
    ranked(page, qtbot)
    assert "There is no test strip" in page.read.state.text()
    assert page.read.table.table.item(3, VALUE).text() == "33.0"
    assert kept_values(page) == {"3": 0.33}


def test_another_photo_that_was_read_is_one_step(read_page, folder, qtbot):
    page, work = read_page, read_page._work
    type_value(qtbot, page, 3, "33")
    work.choose(strips.WEAK)
    before, notes = work.reading, work.notes
    second = folder / "IMG_0008.jpg"
    (folder / "IMG_0007.jpg").rename(second)
    page.take_photo(second)
    ranked(page, qtbot)
    assert not work.notes.corrections.values
    assert work.notes.choice is None
    assert page.history.undo.toolTip() == "Undo: Photo IMG_0008.jpg (Ctrl+Z)"
    undo(qtbot, page)
    assert work.notes == notes
    assert work.reading is before
    assert page.read.table.table.item(3, VALUE).text() == "33.0"
    ranked(page, qtbot)
    assert work.chosen == strips.WEAK
    assert "IMG_0007.jpg" in work.profile.note
    redo(qtbot, page)
    assert work.notes.photo == second
    assert work.reading is not before
    assert kept_values(page) == {}


def test_a_choice_is_undone_without_another_ranking(read_page, qtbot):
    page, work = read_page, read_page._work
    page.go_to("choose")
    best, judgement = work.profile, work.judgement
    page.choose.list.setFocus()
    qtbot.keyClick(page.choose.list, KEY.Key_Down)
    assert "Choose 20 to" in page.history.undo.toolTip()
    undo(qtbot, page)
    assert work.profile == best
    assert work.judgement is judgement
    assert not work.is_judging
    assert page.step == "choose"


def test_typed_values_come_back_after_another_unit_and_after_clearing(page, qtbot):
    page.go_to("read")
    table, unit = page.read.table.table, page.read.unit
    type_value(qtbot, page, 3, "33")
    type_value(qtbot, page, 4, "44")
    unit.box.setFocus()
    qtbot.keyClick(unit.box, KEY.Key_Down)
    assert table.item(3, VALUE).text() == ""
    undo(qtbot, page)
    assert table.item(3, VALUE).text() == "33.0"
    assert unit.box.currentData() == "frost"
    press(qtbot, page.read.forget)
    assert kept_values(page) == {}
    assert page.history.undo.accessibleName() == "Undo: Clear the values"
    press(qtbot, page.history.undo)
    press(qtbot, page.history.undo)
    assert kept_values(page) == {"3": 0.33}
    press(qtbot, page.history.redo)
    assert kept_values(page) == {"3": 0.33, "4": 0.44}
    for _ in range(2):
        press(qtbot, page.history.undo)
    assert not page.history.undo.isEnabled()
    ranked(page, qtbot)
    assert page._work.judgement is None
    assert page._work.judge_problem == ""


def test_another_strip_has_nothing_to_undo(page, folder, qtbot):
    page.go_to("read")
    type_value(qtbot, page, 3, "33")
    page.open_file(folder / "strip" / "strip.json")
    page.go_to("read")
    undo(qtbot, page)
    assert page.read.table.table.item(3, VALUE).text() == "33.0"
    assert not page.history.undo.isEnabled()


def test_the_plan_is_undone_on_its_own_page(open_desk, qtbot):
    open_desk.studio.strip.open()
    page = open_desk.studio.dialogs._open
    make, planning = page.make, page._planning
    qtbot.waitUntil(lambda: make.picture.strip is not None, timeout=WAIT_MS)
    first, rows = planning.plan, make.settings.pairs.rows()
    assert not page.history.undo.isEnabled()
    type_cell(qtbot, make.settings.pairs.table, 0, 0, "50")
    make.width_field.setValue(120.0)
    qtbot.mouseClick(make.screens["clustered"], Qt.MouseButton.LeftButton, pos=QPoint(12, 12))
    make.crop.setFocus()
    qtbot.keyClick(make.crop, KEY.Key_Minus)
    names = []
    while page.history.undo.isEnabled():
        names.append(page.history.undo.accessibleName().removeprefix("Undo: "))
        undo(qtbot, page)
    assert names == [
        "Part of the photo in the cells",
        "Screens to measure",
        "Width of the scrap",
        "Powers",
    ]
    assert planning.plan == first
    assert make.settings.pairs.rows() == rows
    qtbot.waitUntil(lambda: make.picture.strip.size_mm[0] == 150.0, timeout=WAIT_MS)
    redo(qtbot, page)
    assert make.settings.pairs.rows()[0][0] == 50.0
    press(qtbot, make.afresh)
    undo(qtbot, page)
    assert make.settings.pairs.rows()[0][0] == 50.0
    page.reject()


def test_a_step_back_to_a_photo_that_was_not_read_yet_reads_it(read_page, folder, qtbot):
    page, studio = read_page, read_page.parent()
    first, second = folder / "IMG_0007.jpg", folder / "IMG_0008.jpg"
    second.write_bytes(first.read_bytes())
    type_value(qtbot, page, 3, "33")
    page.reject()
    again = open_page(studio, qtbot)
    again.take_photo(second)
    ranked(again, qtbot)
    assert again._work.notes.photo == second
    undo(qtbot, again)
    ranked(again, qtbot)
    assert again._work.notes.photo == first
    assert again._work.reading is not None
    assert again._work.notes.corrections.values == {3: 0.33}
    again.reject()


def test_another_photo_of_the_same_name_takes_no_values_over(read_page, folder, qtbot):
    page, work = read_page, read_page._work
    type_value(qtbot, page, 3, "33")
    ranked(page, qtbot)
    photo = strips.photographed_darker(work.folder)
    strips.save_jpeg(folder / "IMG_0007.jpg", photo)
    page.take_photo(folder / "IMG_0007.jpg")
    ranked(page, qtbot)
    assert not work.notes.corrections.values
    assert work.history.undo_name == "Photo IMG_0007.jpg"
    undo(qtbot, page)
    assert work.notes.corrections.values == {3: 0.33}
