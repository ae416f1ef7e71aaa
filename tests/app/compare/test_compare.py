"""Two panes joined: one spot in both, choices of take and stage, tools."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt

from tests.app.compare.parts import (
    COLUMNS,
    LEFT,
    ROWS,
    click,
    grey_grab,
    record,
    whole_plate,
)


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
