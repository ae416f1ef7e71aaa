"""Planning a strip in the window: the layout follows, problems are told in a sentence."""

import attrs
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtWidgets import QLabel, QScrollArea

from engine.strip.layout_steps import WEDGE_SCREENS
from shared.profile_file import profile_from_data
from shared.strip import read_strip
from tests.app.conftest import WAIT_MS, type_cell
from tests.app.strip.parts import press, settled

KEY = Qt.Key


@pytest.fixture
def page(make_page):
    return make_page


def runs_of(page):
    return [(r.power_max_pct, r.power_min_pct, r.speed_mm_s) for r in page.picture.strip.runs]


def test_the_grid_starts_from_the_profile_and_follows_what_is_typed(page, qtbot):
    assert runs_of(page)[0] == (45.0, 10.0, 300.0)
    type_cell(qtbot, page.settings.pairs.table, 0, 0, "50")
    settled(qtbot, lambda: runs_of(page)[0][0] == 50.0)
    page.settings.speeds.table.setCurrentCell(1, 0)
    qtbot.keyClick(page.settings.speeds.table, KEY.Key_Delete)
    settled(qtbot, lambda: {run[2] for run in runs_of(page)} == {300.0})
    assert len(page.picture.strip.cells) == len(page.settings.pairs.rows())


@pytest.mark.parametrize(
    ("table", "cell", "typed", "words"),
    [
        ("pairs", (1, 1), "3", "3 was not taken; the column Least takes a number from 10 to 100 %"),
        ("speeds", (0, 0), "0", "0 was not taken; the column Speed takes a number from 10 to 600"),
        ("speeds", (1, 0), "fast", "fast was not taken"),
    ],
)
def test_what_the_machine_cannot_do_is_refused_in_a_sentence(
    page, qtbot, table, cell, typed, words
):
    table = getattr(page.settings, table)
    before = table.rows()
    type_cell(qtbot, table.table, *cell, typed)
    assert table.rows() == before
    assert words in page.problem.text()
    page._planning.refresh()
    page.picture.show_strip(None)
    settled(qtbot, lambda: page.picture.strip is not None)
    assert words in page.problem.text()
    type_cell(qtbot, page.settings.speeds.table, 0, 0, "320 mm/s")
    settled(qtbot, lambda: 320.0 in {run[2] for run in runs_of(page)})
    assert "patches fit" in page.problem.text()


def test_the_firing_floor_is_said_and_undone(page, qtbot, tmp_path):
    dialog, floor, pairs = page.window(), page.settings.floor, page.settings.pairs
    assert floor.value() == 10.0
    assert "the firing floor" in page.settings.limits.text()
    floor.setFocus()
    floor.selectAll()
    qtbot.keyClicks(floor, "14")
    qtbot.keyClick(floor, KEY.Key_Return)
    settled(qtbot, lambda: "below the firing floor of 14 %" in page.problem.text())
    assert "the firing floor" not in page.settings.limits.text()
    type_cell(qtbot, pairs.table, 0, 1, "12")
    assert "the column Least takes a number from 14 to 100 %" in page.problem.text()
    press(qtbot, page.afresh)
    settled(qtbot, lambda: page.picture.strip is not None)
    assert pairs.rows()[0] == (45.0, 14.0)
    assert floor.value() == 14.0
    page.folder.setText(str(tmp_path / "strip"))
    press(qtbot, page.write)
    qtbot.waitUntil(lambda: dialog.step == "burn", timeout=WAIT_MS)
    written = read_strip(tmp_path / "strip" / "strip.json")
    assert profile_from_data(written.profile).machine.firing_floor_pct == 14.0
    dialog.go_to("make")
    press(qtbot, dialog.history.undo)
    assert dialog.history.undo.accessibleName() == "Undo: Firing floor"
    press(qtbot, dialog.history.undo)
    assert floor.value() == 10.0
    assert pairs.rows()[0] == (45.0, 10.0)


def test_starting_afresh_above_a_high_firing_floor_gives_a_strip(page, qtbot):
    floor = page.settings.floor
    floor.setFocus()
    floor.selectAll()
    qtbot.keyClicks(floor, "50")
    qtbot.keyClick(floor, KEY.Key_Return)
    settled(qtbot, lambda: "below the firing floor of 50 %" in page.problem.text())
    press(qtbot, page.afresh)
    settled(qtbot, page.write.isEnabled)
    assert all(least >= 50.0 for _, least, _ in runs_of(page))


@pytest.mark.parametrize("origin", ["starting guess", "measured"])
def test_limits_and_settings_that_nobody_measured_are_called_a_guess(open_desk, qtbot, origin):
    session = open_desk.studio.session
    session.set_profile(attrs.evolve(session.profile, origin=origin))
    open_desk.studio.strip.open()
    dialog = open_desk.studio.dialogs._open
    qtbot.waitUntil(lambda: dialog.make.picture.strip is not None, timeout=WAIT_MS)
    said = " ".join(label.text() for label in dialog.make.findChildren(QLabel))
    assert "scans at 10 to 600 mm/s" in said
    assert ("are a starting guess" in said) == (origin == "starting guess")
    dialog.reject()


def test_until_something_is_wished_for_the_settings_follow_the_takes_pitch(open_desk, qtbot):
    studio = open_desk.studio

    def open_page():
        studio.strip.open()
        dialog = studio.dialogs._open
        qtbot.waitUntil(lambda: dialog.make.picture.strip is not None, timeout=WAIT_MS)
        return dialog

    open_page().reject()
    studio.session.edit(studio.take, {"plate.pitch_mm": 0.2})
    dialog = open_page()
    assert dialog.make.settings.speeds.rows() == ((150.0,), (240.0,))
    settled(qtbot, lambda: {speed for *_, speed in runs_of(dialog.make)} == {150.0, 240.0})
    type_cell(qtbot, dialog.make.settings.speeds.table, 1, 0, "250")
    dialog.reject()
    studio.session.edit(studio.take, {"plate.pitch_mm": 0.1})
    dialog = open_page()
    assert dialog.make.settings.speeds.rows() == ((150.0,), (250.0,))
    dialog.reject()


def test_a_pair_the_wrong_way_round_is_told_in_a_sentence(page, qtbot):
    type_cell(qtbot, page.settings.pairs.table, 0, 1, "80")
    settled(qtbot, lambda: "the least power is not below" in page.problem.text())
    assert page.picture.strip is None
    assert not page.write.isEnabled()


def test_a_single_setting_is_told_of_as_one(page, qtbot):
    for table in (page.settings.pairs, page.settings.speeds):
        while table.remove.isEnabled():
            press(qtbot, table.remove)
    settled(qtbot, lambda: page.problem.text().startswith("1 setting and "))


def test_a_setting_that_is_asked_for_twice_is_told_of(page, qtbot):
    before = len(runs_of(page))
    press(qtbot, page.settings.pairs.add)
    settled(qtbot, lambda: "; what is asked for twice is burnt once." in page.problem.text())
    assert len(runs_of(page)) == before
    type_cell(qtbot, page.settings.pairs.table, 3, 0, "40")
    settled(qtbot, lambda: len(runs_of(page)) > before)
    assert "twice" not in page.problem.text()


def test_at_its_usual_size_all_of_the_plan_is_seen_without_scrolling(page, qtbot):
    page.window().resize(1000, 680)
    bar = page.findChild(QScrollArea).verticalScrollBar()
    settled(qtbot, lambda: bar.maximum() == 0)


def test_the_last_row_cannot_be_taken_away(page, qtbot):
    for _ in range(5):
        qtbot.mouseClick(page.settings.speeds.remove, Qt.MouseButton.LeftButton)
    assert len(page.settings.speeds.rows()) == 1
    assert not page.settings.speeds.remove.isEnabled()
    qtbot.mouseClick(page.settings.speeds.add, Qt.MouseButton.LeftButton)
    assert len(page.settings.speeds.rows()) == 2


def test_a_scrap_that_is_too_small_names_one_that_would_do(page, qtbot):
    page.width_field.setValue(60.0)
    page.height_field.setValue(60.0)
    settled(qtbot, lambda: "take one of" in page.problem.text())
    assert not page.write.isEnabled()
    page.height_field.setValue(200.0)
    page.width_field.setValue(150.0)
    settled(qtbot, lambda: page.picture.strip is not None)
    assert page.write.isEnabled()


def test_the_margin_is_never_less_than_twice_the_thickness(page):
    page.margin_field.setValue(0.0)
    assert page.margin_field.mm == pytest.approx(6.0)


def test_screens_are_chosen_by_their_boxes(page, qtbot):
    qtbot.mouseClick(page.screens["clustered"], Qt.MouseButton.LeftButton, pos=QPoint(12, 12))

    def burnt():
        return {p.screen for p in page.picture.strip.patches if p.kind == "screen"}

    settled(qtbot, lambda: "clustered" in burnt())
    assert burnt() <= set(WEDGE_SCREENS)


def test_the_crop_is_dragged_moved_by_keys_and_found_again(page, qtbot):
    crop = page.crop
    usual = crop.crop
    assert not page.usual_crop.isEnabled()
    place = crop._place()
    first = place.topLeft() + QPointF(place.width() * 0.1, place.height() * 0.2)
    last = place.topLeft() + QPointF(place.width() * 0.6, place.height() * 0.7)
    qtbot.mousePress(crop, Qt.MouseButton.LeftButton, pos=first.toPoint())
    qtbot.mouseMove(crop, last.toPoint())
    qtbot.mouseRelease(crop, Qt.MouseButton.LeftButton, pos=last.toPoint())
    settled(qtbot, lambda: page._planning.plan.crop is not None)
    assert crop.crop == pytest.approx((0.1, 0.2, 0.6, 0.7), abs=0.02)
    before = crop.crop
    crop.setFocus()
    qtbot.keyClick(crop, KEY.Key_Right)
    assert crop.crop == pytest.approx((before[0] + 0.02, before[1], before[2] + 0.02, before[3]))
    qtbot.keyClick(crop, KEY.Key_Minus)
    assert crop.crop[2] - crop.crop[0] == pytest.approx(before[2] - before[0] - 0.04)
    for _ in range(200):
        qtbot.keyClick(crop, KEY.Key_Left)
    assert crop.crop[0] == 0.0
    settled(qtbot, page.usual_crop.isEnabled)
    qtbot.mouseClick(page.usual_crop, Qt.MouseButton.LeftButton)
    settled(qtbot, lambda: crop.crop == usual)


def test_what_lies_under_the_pointer_is_named(page):
    strip = page.picture.strip
    cell = page.picture._placed(strip.cells[0].box).center()
    assert page.picture.words_at(cell).startswith("Cell of setting 1: 45 to 10 %")
    solid = next(p for p in strip.patches if p.kind == "solid")
    assert "Solid" in page.picture.words_at(page.picture._placed(solid.box).center())
    assert page.picture.words_at(QPointF(1.0, 1.0)) == ""
    assert f"{len(strip.patches)} patches" in page.picture.accessibleDescription()


def test_without_a_photo_the_page_says_what_to_do(desk, qtbot):
    desk.studio.strip.open()
    dialog = desk.studio.dialogs._open
    qtbot.waitUntil(lambda: "Open a photo first" in dialog.make.problem.text(), timeout=WAIT_MS)
    assert not dialog.make.write.isEnabled()
    assert not dialog.next.isEnabled()
    dialog.reject()
