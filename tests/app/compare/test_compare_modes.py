"""Ways to compare: side by side, wipe, blink, difference, before."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt

from app.compare.pane import STAGES
from tests.app.compare.parts import (
    A_GREY,
    B_GREY,
    COLUMNS,
    DIFFERENCE_GREY,
    LEFT,
    ROWS,
    click,
    flat,
    grey_grab,
    middle_grey,
    record,
    whole_plate,
)


def test_wipe_shows_the_left_picture_left_of_the_divider(compare, qtbot):
    qtbot.keyClick(compare, Qt.Key.Key_F6)
    assert compare.mode == "wipe"
    canvas = compare.panes[0].canvas
    assert not compare.panes[1].canvas.isVisible()
    assert canvas.width() == compare.width()
    for share in (0.5, 0.45):
        canvas.divider.set_share(share)
        line = round(share * canvas.width())
        row = grey_grab(canvas)[canvas.height() // 4]
        assert row[line - 20] == A_GREY
        assert row[line + 20] == B_GREY


def test_the_divider_is_dragged_and_moved_by_keys(compare, qtbot):
    compare.set_mode("wipe")
    canvas = compare.panes[0].canvas
    divider = canvas.divider
    start = QPoint(divider.width() // 2, 100)
    qtbot.mousePress(divider, LEFT, pos=start)
    qtbot.mouseMove(divider, start + QPoint(60, 0))
    qtbot.mouseRelease(divider, LEFT, pos=start)
    assert divider.share == pytest.approx(0.5 + 60 / canvas.width(), abs=0.002)
    qtbot.keyClick(divider, Qt.Key.Key_Left)
    qtbot.keyClick(divider, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    assert divider.share == pytest.approx(0.5 + 60 / canvas.width() - 0.018, abs=0.002)
    row = grey_grab(canvas)[canvas.height() // 4]
    middle = canvas.width() // 2
    assert row[middle + 5] == A_GREY
    divider.set_share(7.0)
    assert divider.share == 1.0


def test_each_side_of_a_wipe_tells_its_own_place(compare, qtbot):
    compare.set_frame(1, whole_plate(np.full((ROWS, COLUMNS), 9, np.uint8), mirrored=True))
    compare.set_mode("wipe")
    heard = record(compare.hovered)
    canvas = compare.panes[0].canvas
    for x_px, mirrored in ((canvas.width() // 2 - 60, False), (canvas.width() // 2 + 60, True)):
        qtbot.mouseMove(canvas, QPoint(x_px, 300))
        expected = compare.view(0, mirrored=mirrored).to_mm(x_px, 300)
        assert heard[-1] == pytest.approx(expected)
    assert heard[0][0] < 15.0
    assert heard[1][0] < 15.0


def test_blink_takes_turns(compare, qtbot):
    click(qtbot, compare, "View: Blink")
    assert middle_grey(compare) == A_GREY
    qtbot.waitUntil(lambda: middle_grey(compare) == B_GREY)
    qtbot.waitUntil(lambda: middle_grey(compare) == A_GREY)
    compare.set_mode("side")
    assert (middle_grey(compare), middle_grey(compare, 1)) == (A_GREY, B_GREY)


def test_blink_tells_which_picture_is_shown(compare, qtbot):
    compare.set_stage(0, "look")
    compare.set_stage(1, "proof")
    compare.set_mode("blink")
    canvas = compare.panes[0].canvas
    assert canvas.accessibleDescription().startswith("Take A, look")
    corner = grey_grab(canvas)[:40, :160]
    qtbot.waitUntil(lambda: canvas.accessibleDescription().startswith("Take B, proof"))
    assert (grey_grab(canvas)[:40, :160] != corner).any()


def test_difference(compare, qtbot):
    heard = record(compare.mode_changed)
    qtbot.keyClick(compare, Qt.Key.Key_F8)
    assert middle_grey(compare) == DIFFERENCE_GREY
    qtbot.keyClick(compare, Qt.Key.Key_F5)
    assert middle_grey(compare) == A_GREY
    assert heard == [("difference",), ("side",)]


def test_other_pictures_are_asked_for_when_they_are_needed(compare, qtbot):
    asked = record(compare.request_needed)

    def asks(change):
        asked.clear()
        change()
        return bool(asked)

    assert asks(lambda: compare.viewport.zoom_step(1))
    assert asks(lambda: compare.viewport.pan_by(5.0, 5.0))
    assert asks(lambda: compare.set_mode("wipe"))
    assert asks(lambda: compare.set_mode("side"))

    def larger():
        compare.resize(900, 640)
        qtbot.waitUntil(lambda: compare.panes[0].canvas.height() > 500)

    assert asks(larger)
    assert not asks(lambda: compare.set_frame(0, flat(1)))


def test_panes_stay_fitted_in_every_mode(compare):
    for mode in ("wipe", "side", "difference", "side"):
        compare.set_mode(mode)
        canvas = compare.canvas_of(1)
        left, top, right, bottom = compare.view(1).visible_device_rect
        assert compare.viewport.fitted
        assert left > 0
        assert top > 0
        assert right < canvas.width()
        assert bottom < canvas.height()
        assert left + right == pytest.approx(canvas.width(), abs=2)


def test_before_in_one_keystroke_and_back(compare, qtbot):
    compare.set_stage(0, "look")
    stages, toggles = record(compare.stage_chosen), record(compare.before_toggled)
    qtbot.keyClick(compare, Qt.Key.Key_F9)
    assert compare.panes[0].stage == "photo"
    qtbot.keyClick(compare, Qt.Key.Key_F9)
    assert compare.panes[0].stage == "look"
    assert stages == [(0, "photo"), (0, "look")]
    assert toggles == [(True,), (False,)]


def test_before_ends_when_another_pane_or_stage_is_chosen(compare):
    compare.set_stage(0, "look")
    compare.set_before(True)
    compare.set_active(1)
    assert compare.panes[0].stage == "look"
    assert not compare.before
    compare.set_stage(1, "look")
    compare.set_before(True)
    stage = compare.panes[1].controls[-1]
    stage.setCurrentIndex(list(STAGES).index("proof"))
    stage.activated.emit(stage.currentIndex())
    assert not compare.before
    assert not compare.tool_row.before.isChecked()
    assert compare.panes[1].stage == "proof"
