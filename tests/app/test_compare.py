"""Two panes joined: one spot in both, wipe, blink, difference, before, and the row of commands."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QWidget

from app.compare.canvas import device_px_per_mm
from app.compare.compare import Compare
from app.compare.frame import Frame
from app.compare.pane import STAGES
from app.qimage import array_from_image, image_from_array

LEFT = Qt.MouseButton.LeftButton
COLUMNS, ROWS = 300, 400
A_GREY, B_GREY, DIFFERENCE_GREY = 60, 180, 250


def flat(grey):
    return whole_plate(np.full((ROWS, COLUMNS), grey, np.uint8))


def whole_plate(pixels, *, mirrored=False):
    held = pixels[:, ::-1] if mirrored else pixels
    return Frame(image_from_array(held), 0.0, 0.0, 30.0, 40.0, mirrored=mirrored)


@pytest.fixture
def compare(qtbot):
    compare = Compare()
    qtbot.addWidget(compare)
    compare.viewport.set_plate(30.0, 40.0, 0.1)
    compare.resize(802, 600)
    compare.set_frame(0, flat(A_GREY))
    compare.set_frame(1, flat(B_GREY))
    compare.set_difference_frame(flat(DIFFERENCE_GREY))
    with qtbot.waitExposed(compare):
        compare.show()
    compare.activateWindow()
    qtbot.waitUntil(compare.isActiveWindow)
    return compare


def grey_grab(widget):
    return array_from_image(widget.grab().toImage())[..., 1]


def middle_grey(compare, index=0):
    shown = grey_grab(compare.panes[index].canvas)
    return int(shown[shown.shape[0] // 3, shown.shape[1] // 2 - 30])


def record(signal):
    heard = []
    signal.connect(lambda *values: heard.append(values))
    return heard


def button(compare, name):
    found = [b for b in compare.findChildren(QAbstractButton) if b.accessibleName() == name]
    assert len(found) == 1, name
    return found[0]


def click(qtbot, compare, name):
    qtbot.mouseClick(button(compare, name), LEFT)


@pytest.mark.parametrize("percent", [55.0, 100.0, 300.0, 800.0])
def test_both_panes_show_the_same_spot_to_the_pixel(compare, percent):
    rng = np.random.default_rng(7)
    noise = rng.integers(0, 256, (ROWS, COLUMNS), np.uint8)
    compare.set_frame(0, whole_plate(noise))
    compare.set_frame(1, whole_plate(noise))
    compare.viewport.zoom_to_percent(percent, (11.3, 17.9))
    compare.viewport.pan_by(13.3, -7.7)
    left, right = (grey_grab(pane.canvas) for pane in compare.panes)
    assert left.shape == right.shape
    assert left.std() > 10
    np.testing.assert_array_equal(left, right)


@pytest.mark.parametrize("percent", [100.0, 300.0, 800.0])
def test_a_mirrored_pane_shows_the_same_spot_turned_about_its_middle(compare, percent):
    rng = np.random.default_rng(7)
    noise = rng.integers(0, 256, (ROWS, COLUMNS), np.uint8)
    compare.set_frame(0, whole_plate(noise))
    compare.set_frame(1, whole_plate(noise, mirrored=True))
    compare.viewport.zoom_to_percent(percent, (11.3, 17.9))
    compare.viewport.pan_by(13.3, -7.7)
    left, right = (grey_grab(pane.canvas) for pane in compare.panes)
    np.testing.assert_array_equal(left, right[:, ::-1])


def test_a_drag_in_one_pane_moves_both(compare, qtbot):
    compare.viewport.zoom_to_percent(300.0)
    before = compare.viewport.centre_mm
    canvas = compare.panes[1].canvas
    qtbot.mousePress(canvas, LEFT, pos=QPoint(200, 200))
    qtbot.mouseMove(canvas, QPoint(230, 200))
    qtbot.mouseRelease(canvas, LEFT, pos=QPoint(230, 200))
    assert compare.viewport.centre_mm == pytest.approx((before[0] - 1.0, before[1]))
    spots = {compare.view(index).to_px(10.0, 10.0) for index in (0, 1)}
    assert len(spots) == 1


def test_the_spot_under_the_pointer_is_shown_in_the_other_pane(compare, qtbot):
    heard = record(compare.hovered)
    quiet = grey_grab(compare.panes[1].canvas)
    at = compare.view(0).to_px(12.0, 15.0)
    qtbot.mouseMove(compare.panes[0].canvas, QPoint(round(at[0]), round(at[1])))
    assert heard[-1] == pytest.approx((12.0, 15.0), abs=0.1)
    changed = np.argwhere(grey_grab(compare.panes[1].canvas) != quiet)
    assert changed.size
    assert changed.mean(axis=0)[::-1] == pytest.approx(at, abs=1.5)


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


def test_a_press_makes_a_pane_the_active_one(compare, qtbot):
    heard = record(compare.active_changed)
    lines = [grey_grab(pane.header)[-1].max() for pane in compare.panes]
    assert lines[0] > lines[1]
    qtbot.mouseClick(compare.panes[1].canvas, LEFT)
    click(qtbot, compare, "Left pane: take B")
    assert heard == [(1,), (0,)]
    qtbot.mouseClick(compare.panes[1].canvas, LEFT)
    lines = [grey_grab(pane.header)[-1].max() for pane in compare.panes]
    assert lines[0] < lines[1]


def test_take_and_stage_are_reported_with_their_pane(compare, qtbot):
    takes, stages = record(compare.take_chosen), record(compare.stage_chosen)
    click(qtbot, compare, "Right pane: take A")
    assert compare.panes[1].take == "A"
    compare.panes[0].controls[-1].setFocus()
    qtbot.keyClick(compare.panes[0].controls[-1], Qt.Key.Key_Down)
    assert takes == [(1, "A")]
    assert stages == [(0, "look")]


def test_showing_a_choice_is_no_choice(compare):
    takes, stages = record(compare.take_chosen), record(compare.stage_chosen)
    compare.set_take(0, "B")
    compare.set_stage(0, "proof")
    assert (compare.panes[0].take, compare.panes[0].stage) == ("B", "proof")
    assert takes == stages == []


@pytest.mark.parametrize(
    ("typed", "percent"), [("250", 250.0), ("62,5 %", 62.5), (" 300% ", 300.0)]
)
def test_a_zoom_can_be_typed(compare, qtbot, typed, percent):
    field = compare.tool_row.zoom
    field.setFocus()
    field.lineEdit().selectAll()
    qtbot.keyClicks(field, typed)
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert compare.viewport.percent == pytest.approx(percent)


def test_what_is_no_zoom_is_taken_back(compare, qtbot):
    field = compare.tool_row.zoom
    shown, scale = field.currentText(), compare.viewport.scale
    for typed in ("wide", "-5", "0", ""):
        field.setFocus()
        field.lineEdit().selectAll()
        qtbot.keyClick(field, Qt.Key.Key_Delete)
        qtbot.keyClicks(field, typed)
        qtbot.keyClick(field, Qt.Key.Key_Return)
        field.lineEdit().editingFinished.emit()
        assert field.currentText() == shown
    assert compare.viewport.scale == scale


def test_the_zoom_is_always_shown_and_looking_at_it_changes_nothing(compare, qtbot):
    field = compare.tool_row.zoom
    compare.viewport.zoom_to_percent(123.4)
    assert field.currentText() == "123 %"
    field.setFocus()
    qtbot.keyClick(field, Qt.Key.Key_Return)
    compare.panes[0].canvas.setFocus()
    assert compare.viewport.percent == pytest.approx(123.4)


def test_zoom_buttons_and_keys(compare, qtbot):
    control = Qt.KeyboardModifier.ControlModifier
    viewport = compare.viewport
    for name, key, right in (
        ("Zoom to one to one", Qt.Key.Key_1, lambda: viewport.percent == pytest.approx(100.0)),
        ("Zoom to fit", Qt.Key.Key_0, lambda: viewport.fitted),
        (
            "Zoom to actual size",
            Qt.Key.Key_2,
            lambda: viewport.scale == pytest.approx(device_px_per_mm(compare)),
        ),
    ):
        viewport.zoom_to_percent(57.0)
        click(qtbot, compare, name)
        assert right()
        viewport.zoom_to_percent(57.0)
        qtbot.keyClick(compare, key, control)
        assert right()
    viewport.zoom_to_percent(80.0)
    qtbot.keyClick(compare, Qt.Key.Key_Plus, control)
    assert viewport.percent == pytest.approx(100.0)
    qtbot.keyClick(compare, Qt.Key.Key_Minus, control)
    assert viewport.percent == pytest.approx(80.0)


def test_the_wheel_turns_a_combo_box_only_while_it_has_the_focus(compare):
    combo = compare.panes[0].controls[-1]
    compare.panes[0].canvas.setFocus()

    def turn():
        spot = QPointF(combo.rect().center())
        QApplication.sendEvent(
            combo,
            QWheelEvent(
                spot,
                combo.mapToGlobal(spot),
                QPoint(),
                QPoint(0, -120),
                Qt.MouseButton.NoButton,
                Qt.KeyboardModifier.NoModifier,
                Qt.ScrollPhase.NoScrollPhase,
                False,
            ),
        )

    turn()
    assert compare.panes[0].stage == "photo"
    combo.setFocus()
    turn()
    assert compare.panes[0].stage == "look"


def test_tools_reach_both_panes_and_escape_leaves_them(compare, qtbot):
    left, areas = record(compare.tool_left), record(compare.area_drawn)
    compare.set_tool("area")
    canvas = compare.panes[1].canvas
    start, end = (QPoint(*map(round, compare.view(1).to_px(*spot))) for spot in ((5, 5), (20, 30)))
    qtbot.mousePress(canvas, LEFT, pos=start)
    qtbot.mouseMove(canvas, end)
    qtbot.mouseRelease(canvas, LEFT, pos=end)
    assert areas[0] == pytest.approx((5.0, 5.0, 20.0, 30.0), abs=0.1)
    qtbot.keyClick(canvas, Qt.Key.Key_Escape)
    assert {pane.canvas.tool for pane in compare.panes} == {"pan"}
    assert len(left) == 1


def test_points_are_reported_with_their_pane(compare, qtbot):
    heard = record(compare.bare_point_moved)
    compare.set_histogram(1, [1] * 256, 0.0, 0.0, 0.1, 0.9)
    tones = compare.panes[1].histogram
    y = round(tones.plot.center().y())
    qtbot.mousePress(tones, LEFT, pos=QPoint(round(tones.x_of(0.1)), y))
    qtbot.mouseMove(tones, QPoint(round(tones.x_of(0.2)), y))
    qtbot.mouseRelease(tones, LEFT, pos=QPoint(round(tones.x_of(0.2)), y))
    assert heard[-1] == (1, pytest.approx(0.2, abs=0.01))


def test_waiting_is_seen_where_the_picture_is(compare, qtbot):
    compare.set_waiting(1, True)
    qtbot.waitUntil(lambda: compare.panes[1].canvas.waiting_shown)
    assert not compare.panes[0].canvas.waiting_shown
    compare.set_mode("wipe")
    qtbot.waitUntil(lambda: compare.panes[0].canvas.waiting_shown)
    compare.set_waiting(1, False)
    assert not compare.panes[0].canvas.waiting_shown


def stops(compare):
    """What Tab reaches, in its order, beginning with the first view mode."""
    first = widget = compare.tool_row.controls[0]
    reached = []
    while True:
        stops_here = widget.focusPolicy() & Qt.FocusPolicy.TabFocus and not widget.focusProxy()
        if stops_here and widget.isVisibleTo(compare):
            reached.append(widget)
        widget = widget.nextInFocusChain()
        if widget is first:
            return [w for w in reached if compare.isAncestorOf(w)]


@pytest.mark.parametrize("mode", ["side", "wipe"])
def test_tab_goes_as_the_eye_reads(compare, mode):
    compare.set_mode(mode)
    reached = stops(compare)
    places = [w.mapTo(compare, w.rect().center()) for w in reached]
    rows = {"tool row": 36, "headers": 72, "pictures": compare.height()}
    bands = [next(i for i, edge in enumerate(rows.values()) if p.y() < edge) for p in places]
    assert bands == sorted(bands)
    for band in (0, 1):
        across = [p.x() for p, b in zip(places, bands, strict=True) if b == band]
        assert across == sorted(across)
    assert compare.panes[0].canvas in reached
    assert (compare.panes[0].canvas.divider in reached) == (mode == "wipe")


def test_every_control_has_a_name_and_a_tip(compare):
    for control in compare.findChildren(QWidget):
        if control.focusPolicy() == Qt.FocusPolicy.NoFocus or not control.isVisible():
            continue
        if isinstance(control.parent(), QComboBox):
            continue
        assert control.accessibleName(), control
        if isinstance(control, QAbstractButton | QComboBox):
            assert control.toolTip(), control.accessibleName()


def test_it_fits_beside_the_other_columns_of_a_small_window(compare):
    assert compare.minimumSizeHint().width() <= 720
    assert compare.minimumSizeHint().height() <= 400
    compare.resize(720, 560)
    QTest.qWait(0)
    for control in compare.findChildren(QAbstractButton):
        if control.isVisible() and control.text():
            assert control.width() >= control.fontMetrics().horizontalAdvance(control.text())
            assert control.mapTo(compare, QPoint(control.width(), 0)).x() <= 720
