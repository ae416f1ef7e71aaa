"""A user's hand on one picture: wheel, drag, double click, keys, and the three tools."""

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import (
    QInputDevice,
    QMouseEvent,
    QNativeGestureEvent,
    QPointingDevice,
    QWheelEvent,
)
from PySide6.QtWidgets import QApplication

from app.compare.canvas import Canvas, device_px_per_mm
from app.compare.frame import Frame
from app.compare.viewport import Viewport
from app.qimage import image_from_array

NONE = Qt.KeyboardModifier.NoModifier
CONTROL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
LEFT = Qt.MouseButton.LeftButton
MIDDLE = Qt.MouseButton.MiddleButton


@pytest.fixture(params=[False, True], ids=["front", "mirrored"])
def canvas(qtbot, request):
    viewport = Viewport()
    viewport.set_plate(60.0, 80.0, 0.1)
    viewport.set_pane_size(400, 300, 1.0)
    canvas = Canvas(viewport)
    canvas.viewport = viewport
    qtbot.addWidget(canvas)
    canvas.resize(400, 300)
    picture = image_from_array(np.full((80, 60), 128, np.uint8))
    canvas.set_frame(Frame(picture, 0.0, 0.0, 60.0, 80.0, mirrored=request.param))
    canvas.show()
    viewport.zoom_to_percent(80.0)
    return canvas


def mouse(canvas, kind, at, button=LEFT, held=LEFT, modifiers=NONE):
    spot = QPointF(*at)
    event = QMouseEvent(kind, spot, canvas.mapToGlobal(spot), button, held, modifiers)
    QApplication.sendEvent(canvas, event)


def press(canvas, at, button=LEFT):
    mouse(canvas, QEvent.Type.MouseButtonPress, at, button, button)


def move(canvas, at, held=LEFT):
    mouse(canvas, QEvent.Type.MouseMove, at, Qt.MouseButton.NoButton, held)


def release(canvas, at, button=LEFT):
    mouse(canvas, QEvent.Type.MouseButtonRelease, at, button, Qt.MouseButton.NoButton)


def drag(canvas, *way, button=LEFT):
    press(canvas, way[0], button)
    for spot in way[1:]:
        move(canvas, spot, button)
    release(canvas, way[-1], button)


def wheel(canvas, at, angle, modifiers=NONE, pixels=(0, 0), device=None):
    spot = QPointF(*at)
    event = QWheelEvent(
        spot,
        canvas.mapToGlobal(spot),
        QPoint(*pixels),
        QPoint(0, angle),
        Qt.MouseButton.NoButton,
        modifiers,
        Qt.ScrollPhase.NoScrollPhase,
        False,
        Qt.MouseEventSource.MouseEventNotSynthesized,
        device or QPointingDevice.primaryPointingDevice(),
    )
    QApplication.sendEvent(canvas, event)


def spot_at(canvas, at):
    return canvas.view().to_mm(*at)


def record(signal):
    heard = []
    signal.connect(lambda *values: heard.append(values))
    return heard


def test_the_wheel_zooms_at_the_pointer(canvas):
    at = (250, 120)
    before = spot_at(canvas, at)
    wheel(canvas, at, 120)
    assert canvas.viewport.ratio == pytest.approx(1.0)
    assert canvas.view().to_px(*before) == pytest.approx(at, abs=1.0)
    wheel(canvas, at, -240)
    assert canvas.viewport.ratio == pytest.approx(0.64)
    assert canvas.view().to_px(*before) == pytest.approx(at, abs=1.0)


def test_parts_of_a_notch_add_up(canvas):
    for _ in range(3):
        wheel(canvas, (200, 150), 30)
    assert canvas.viewport.ratio == pytest.approx(0.8)
    wheel(canvas, (200, 150), 30)
    assert canvas.viewport.ratio == pytest.approx(1.0)


def test_two_fingers_pan(canvas):
    touchpad = QPointingDevice(
        "pad",
        1,
        QInputDevice.DeviceType.TouchPad,
        QPointingDevice.PointerType.Finger,
        QInputDevice.Capability.PixelScroll,
        2,
        1,
    )
    before = spot_at(canvas, (200, 150))
    wheel(canvas, (200, 150), 40, pixels=(13, 7), device=touchpad)
    assert canvas.view().to_px(*before) == pytest.approx((213, 157), abs=1.0)
    assert canvas.viewport.ratio == pytest.approx(0.8)


def test_a_pinch_zooms_at_the_fingers(canvas):
    at = QPointF(250, 120)
    before = spot_at(canvas, (250, 120))
    event = QNativeGestureEvent(
        Qt.NativeGestureType.ZoomNativeGesture,
        QPointingDevice.primaryPointingDevice(),
        2,
        at,
        at,
        canvas.mapToGlobal(at),
        -0.25,
        QPointF(),
    )
    QApplication.sendEvent(canvas, event)
    assert canvas.viewport.ratio == pytest.approx(0.6)
    assert canvas.view().to_px(*before) == pytest.approx((250, 120), abs=1.0)


@pytest.mark.parametrize("button", [LEFT, MIDDLE])
def test_the_plate_follows_the_hand(canvas, button):
    before = spot_at(canvas, (200, 150))
    drag(canvas, (200, 150), (215, 140), (230, 120), button=button)
    assert canvas.view().to_px(*before) == pytest.approx((230, 120), abs=1.0)


def test_escape_takes_a_pan_back(canvas, qtbot):
    before = canvas.viewport.centre_mm
    press(canvas, (200, 150))
    move(canvas, (230, 120))
    qtbot.keyClick(canvas, Qt.Key.Key_Escape)
    assert canvas.viewport.centre_mm == pytest.approx(before)
    move(canvas, (300, 200))
    assert canvas.viewport.centre_mm == pytest.approx(before)


def test_double_click_goes_between_fit_and_one_to_one_at_the_pointer(canvas):
    mouse(canvas, QEvent.Type.MouseButtonDblClick, (230, 120))
    assert canvas.viewport.fitted
    before = spot_at(canvas, (230, 120))
    mouse(canvas, QEvent.Type.MouseButtonDblClick, (230, 120))
    assert canvas.viewport.percent == pytest.approx(100.0)
    assert canvas.view().to_px(*before) == pytest.approx((230, 120), abs=1.0)


def test_keys_zoom(canvas, qtbot):
    qtbot.keyClick(canvas, Qt.Key.Key_Plus)
    assert canvas.viewport.ratio == pytest.approx(1.0)
    qtbot.keyClick(canvas, Qt.Key.Key_Minus)
    assert canvas.viewport.ratio == pytest.approx(0.8)
    qtbot.keyClick(canvas, Qt.Key.Key_0)
    assert canvas.viewport.fitted
    qtbot.keyClick(canvas, Qt.Key.Key_1)
    assert canvas.viewport.percent == pytest.approx(100.0)
    qtbot.keyClick(canvas, Qt.Key.Key_Home)
    assert canvas.viewport.fitted
    qtbot.keyClick(canvas, Qt.Key.Key_2)
    assert canvas.viewport.scale == pytest.approx(device_px_per_mm(canvas))


@pytest.mark.parametrize(
    ("key", "across", "down"),
    [
        (Qt.Key.Key_Left, 1, 0),
        (Qt.Key.Key_Right, -1, 0),
        (Qt.Key.Key_Up, 0, 1),
        (Qt.Key.Key_Down, 0, -1),
    ],
)
def test_arrows_look_that_way(canvas, qtbot, key, across, down):
    before = spot_at(canvas, (200, 150))
    qtbot.keyClick(canvas, key)
    moved = canvas.view().to_px(*before)
    assert moved == pytest.approx((200 + 48 * across, 150 + 48 * down), abs=1.0)
    qtbot.keyClick(canvas, key, SHIFT)
    fine = canvas.view().to_px(*before)
    assert fine == pytest.approx((moved[0] + across, moved[1] + down), abs=1e-6)


def test_the_place_under_the_pointer_is_told_over_the_plate_alone(canvas):
    hovered, left = record(canvas.hovered), record(canvas.left)
    x_px, y_px = canvas.view().to_px(20.0, 30.0)
    move(canvas, (x_px, y_px), Qt.MouseButton.NoButton)
    assert hovered[-1] == pytest.approx((20.0, 30.0), abs=1e-6)
    canvas.viewport.zoom_fit()
    move(canvas, (2, 2), Qt.MouseButton.NoButton)
    assert (len(hovered), len(left)) == (1, 1)


def test_placing_is_one_step_that_adds_up(canvas):
    began, moved, ended = (
        record(s) for s in (canvas.place_began, canvas.placed_by, canvas.place_ended)
    )
    canvas.set_tool("place")
    scale = canvas.viewport.scale
    drag(canvas, (200, 150), (216, 150), (232, 134))
    assert (len(began), len(ended)) == (1, 1)
    hand = canvas.view().hand
    assert sum(dx for dx, _ in moved) == pytest.approx(hand * 32 / scale)
    assert sum(dy for _, dy in moved) == pytest.approx(-16 / scale)


def test_escape_takes_a_placing_back(canvas, qtbot):
    moved, ended = record(canvas.placed_by), record(canvas.place_ended)
    canvas.set_tool("place")
    press(canvas, (200, 150))
    move(canvas, (240, 170))
    qtbot.keyClick(canvas, Qt.Key.Key_Escape)
    assert sum(dx for dx, _ in moved) == pytest.approx(0.0)
    assert sum(dy for _, dy in moved) == pytest.approx(0.0)
    assert len(ended) == 1
    assert canvas.tool == "place"


def test_control_and_wheel_scale_the_photo(canvas):
    scaled = record(canvas.scaled_by)
    canvas.set_tool("place")
    wheel(canvas, (200, 150), 120, CONTROL)
    wheel(canvas, (200, 150), -120, CONTROL)
    assert scaled[0][0] > 1.0
    assert scaled[0][0] * scaled[1][0] == pytest.approx(1.0)
    assert canvas.viewport.ratio == pytest.approx(0.8)


def test_arrows_place_and_a_key_held_down_is_one_step(canvas, qtbot):
    began, moved, ended = (
        record(s) for s in (canvas.place_began, canvas.placed_by, canvas.place_ended)
    )
    canvas.set_tool("place")
    hand = canvas.view().hand
    qtbot.keyPress(canvas, Qt.Key.Key_Right)
    qtbot.keyPress(canvas, Qt.Key.Key_Right)
    assert (len(began), len(ended)) == (1, 0)
    qtbot.keyRelease(canvas, Qt.Key.Key_Right)
    assert len(ended) == 1
    qtbot.keyClick(canvas, Qt.Key.Key_Up, SHIFT)
    assert moved == [(0.5 * hand, 0.0), (0.5 * hand, 0.0), (0.0, -0.1)]
    assert (len(began), len(ended)) == (2, 2)


def test_an_area_is_told_in_mm_whichever_way_it_is_dragged(canvas):
    areas = record(canvas.area_drawn)
    canvas.set_tool("area")
    first, last = canvas.view().to_px(20.0, 35.0), canvas.view().to_px(42.0, 48.0)
    drag(canvas, first, last)
    drag(canvas, last, first)
    drag(canvas, (first[0], last[1]), (last[0], first[1]))
    for area in areas:
        assert area == pytest.approx((20.0, 35.0, 42.0, 48.0), abs=1e-6)
    assert len(areas) == 3


def test_an_area_is_cut_at_the_plate_and_a_mere_click_is_none(canvas):
    areas = record(canvas.area_drawn)
    canvas.viewport.zoom_fit()
    canvas.set_tool("area")
    drag(canvas, (1, 1), (399, 299))
    assert areas == [(0.0, 0.0, 60.0, 80.0)]
    drag(canvas, (200, 150), (201, 151))
    drag(canvas, (1, 1), (30, 30))
    assert len(areas) == 1


def test_the_rubber_band_is_seen_while_dragging(canvas):
    canvas.set_tool("area")
    quiet = canvas.grab().toImage()
    press(canvas, (150, 100))
    move(canvas, (250, 200))
    assert canvas.grab().toImage() != quiet
    release(canvas, (250, 200))
    assert canvas.grab().toImage() == quiet


def test_escape_leaves_a_tool(canvas, qtbot):
    left = record(canvas.tool_left)
    canvas.set_tool("area")
    qtbot.keyClick(canvas, Qt.Key.Key_Escape)
    assert canvas.tool == "pan"
    qtbot.keyClick(canvas, Qt.Key.Key_Escape)
    assert len(left) == 1


def test_hiding_ends_a_drag(canvas):
    ended = record(canvas.place_ended)
    canvas.set_tool("place")
    press(canvas, (200, 150))
    canvas.hide()
    assert len(ended) == 1


def test_the_description_tells_zoom_and_plate(canvas):
    canvas.set_facts("Take A, proof")
    canvas.viewport.zoom_one_to_one()
    assert canvas.accessibleDescription() == "Take A, proof, zoom 100 %, plate 60 by 80 mm"


def test_without_a_picture_a_press_does_nothing(canvas):
    canvas.set_frame(None)
    canvas.set_tool("place")
    began = record(canvas.place_began)
    drag(canvas, (200, 150), (230, 150))
    assert began == []
