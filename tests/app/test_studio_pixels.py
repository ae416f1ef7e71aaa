"""What the user does is what the panes show: by mouse and keys, judged by the grabbed pixels."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt

from app.bench.slider import Slider

LEFT = Qt.MouseButton.LeftButton
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
KEY = Qt.Key


def open_step(desk, name):
    desk.qtbot.mouseClick(desk.studio.bench._steps[name].header, LEFT)
    assert desk.studio.bench.open_name == name


def drag_slider(desk, key, share):
    """Drag the handle of a field's slider by a share of its width."""
    control = desk.studio.bench.control(key)
    desk.studio.bench._steps[key.split(".")[0]].body.ensureWidgetVisible(control)
    slider = control.slider
    assert isinstance(slider, Slider)
    start = QPoint(round(slider.x_of(slider.fraction())), slider.height() // 2)
    end = start + QPoint(round(share * slider.width()), 0)
    bot = desk.qtbot
    bot.mousePress(slider, LEFT, pos=start)
    for part in np.linspace(0.2, 1.0, 5):
        bot.mouseMove(slider, start + (end - start) * float(part))
    bot.mouseRelease(slider, LEFT, pos=end)


def halves(picture):
    """Mean of the photo's dark and bright half."""
    middle = picture.shape[1] // 2
    return picture[:, : middle - 4].mean(), picture[:, middle + 4 :].mean()


def test_opening_the_shadows_lightens_the_dark_half_and_undo_brings_the_same_pixels_back(open_desk):
    desk = open_desk
    open_step(desk, "tone")
    before = desk.grab()
    dark, bright = halves(desk.picture())
    desk.do(lambda: drag_slider(desk, "tone.lift", 0.5))
    dark_now, bright_now = halves(desk.picture())
    assert dark_now > dark + 5
    assert abs(bright_now - bright) < abs(dark_now - dark) / 2
    assert desk.studio.menus._menus.actions["&Undo"].text() == "&Undo: Open shadows in A"
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_Z, CTRL))
    np.testing.assert_array_equal(desk.grab(), before)
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_Z, CTRL | SHIFT))
    assert halves(desk.picture())[0] == pytest.approx(dark_now)


def test_a_drag_is_one_step_of_undo(open_desk):
    desk = open_desk
    open_step(desk, "tone")
    steps = len(desk.studio.session._steps)
    desk.do(lambda: drag_slider(desk, "tone.lift", 0.3))
    assert len(desk.studio.session._steps) == steps + 1


def test_histogram_is_painted_anew_with_the_picture(open_desk):
    desk = open_desk
    open_step(desk, "tone")
    tones = desk.studio.compare.panes[0].histogram
    before = tones.grab().toImage()
    desk.do(lambda: drag_slider(desk, "tone.lift", 0.5))
    assert tones.grab().toImage() != before


def test_before_shows_the_photos_colours_and_goes_back(open_desk):
    desk = open_desk
    look = desk.grab()
    assert np.ptp(desk.picture(), axis=2).max() == 0
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_F9))
    red, green, blue = desk.picture().reshape(-1, 3).mean(axis=0)
    assert red > green + 5
    assert green > blue + 5
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_F9))
    np.testing.assert_array_equal(desk.grab(), look)


def choose_stage(desk, pane, stage):
    def pick():
        compare = desk.studio.compare
        box = compare.panes[pane]._stages
        box.setFocus()
        box.setCurrentIndex(box.findData(stage))
        box.activated.emit(box.currentIndex())

    desk.do(pick)


def test_plate_is_mirrored_and_inverted_against_the_look(open_desk):
    desk = open_desk
    desk.do(lambda: desk.studio.session.edit("A", {"screen.kind": "continuous"}))
    look_dark, look_bright = halves(desk.picture(0))
    choose_stage(desk, 1, "plate")
    left, right = halves(desk.picture(1))
    assert look_dark < look_bright
    assert left < right, "the bright half lies left when mirrored and is black when inverted"
    assert right - left > 50
    choose_stage(desk, 1, "look")
    np.testing.assert_array_equal(desk.picture(1), desk.picture(0))


def take_of_right_pane(desk, take):
    button = desk.studio.compare.panes[1]._takes.buttons[take]
    desk.do(lambda: desk.qtbot.mouseClick(button, LEFT))


def work_in_left_pane(desk):
    header = desk.studio.compare.panes[0].header
    desk.qtbot.mouseClick(header, LEFT, pos=QPoint(header.width() - 4, 8))
    assert desk.studio.compare.active == 0


def test_takes_differ_and_difference_shows_where(open_desk):
    desk = open_desk
    choose_stage(desk, 1, "look")
    take_of_right_pane(desk, "B")
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_F8))
    agreed = desk.picture()
    assert desk.studio.compare.panes[0].canvas._tags[0] == "Looks of A and B, difference"
    assert np.abs(agreed[40:] - 127).max() <= 1, "below the words in the corner"
    work_in_left_pane(desk)
    open_step(desk, "tone")
    desk.do(lambda: drag_slider(desk, "tone.lift", 0.5))
    dark, bright = halves(desk.picture())
    assert dark > 135, "take A is lighter there"
    assert abs(bright - 127) < dark - 127


def test_wipe_shows_one_take_on_each_side(open_desk):
    desk = open_desk
    choose_stage(desk, 1, "look")
    take_of_right_pane(desk, "B")
    desk.do(lambda: desk.studio.session.edit("B", {"tone.least_frost": 0.5}))
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_F6))
    canvas = desk.studio.compare.panes[0].canvas
    split = canvas.width() // 2
    shown = desk.grab()
    plain = desk.studio.panes.picture(0).pixels
    raised = desk.studio.panes.picture(1).pixels
    across = [canvas.view().to_px(x, 25.0)[0] for x in (10.0, 30.0)]
    assert across[0] < split < across[1]
    row = round(canvas.view().to_px(10.0, 25.0)[1])

    def near(pixels, x_mm):
        rows, columns = pixels.shape[:2]
        return pixels[rows // 2 - 8 : rows // 2 + 8, round(x_mm / 40 * columns)].mean()

    left = shown[row - 8 : row + 8, round(across[0]), 0].mean()
    right = shown[row - 8 : row + 8, round(across[1]), 0].mean()
    assert left == pytest.approx(near(plain, 10.0), abs=8)
    assert right == pytest.approx(near(raised, 30.0), abs=8)
    assert near(raised, 10.0) > near(plain, 10.0) + 40


def test_takes_may_have_different_plates(open_desk):
    desk = open_desk
    take_of_right_pane(desk, "B")
    work_in_left_pane(desk)
    values = {"plate.width_mm": 60.0, "plate.height_mm": 30.0, "plate.pitch_mm": 0.2}
    desk.do(lambda: desk.studio.session.edit("B", values))
    for key in (KEY.Key_F6, KEY.Key_F7, KEY.Key_F8, KEY.Key_F5):
        desk.do(lambda key=key: desk.qtbot.keyClick(desk.studio, key))
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_F4))
    assert desk.studio.take == "B"
    assert desk.studio.compare.viewport.plate_mm == (60.0, 30.0)
    assert "60 × 30 mm" in desk.studio.ticket._values["Plate"].text()


def test_zoomed_in_the_plate_pane_shows_only_black_and_white_dots(open_desk):
    desk = open_desk
    choose_stage(desk, 1, "plate")
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_1, CTRL))
    canvas = desk.studio.compare.panes[1].canvas
    middle = desk.grab(1)[canvas.height() // 2 - 40 : canvas.height() // 2 + 40, 60:200]
    assert set(np.unique(middle)) == {0, 255}


def test_copying_and_swapping_takes(open_desk):
    desk, session = open_desk, open_desk.studio.session
    desk.do(lambda: session.edit("A", {"tone.lift": 0.9}))
    desk.do(lambda: desk.qtbot.mouseClick(desk.studio.parts.takes.copy, LEFT))
    assert session.recipe("B").tone.lift == 0.9
    assert session.undo_name == "Copy A to B"
    desk.do(lambda: session.edit("A", {"tone.lift": 0.1}))
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_X, CTRL | SHIFT))
    assert (session.recipe("A").tone.lift, session.recipe("B").tone.lift) == (0.9, 0.1)
    assert session.undo_name == "Swap A and B"


def test_dragging_in_the_pane_moves_the_photo_in_one_step(open_desk):
    desk, bot = open_desk, open_desk.qtbot
    open_step(desk, "plate")
    canvas = desk.studio.compare.panes[0].canvas
    middle = canvas.rect().center()
    before = desk.grab()
    steps = len(desk.studio.session._steps)

    def drag():
        bot.mousePress(canvas, LEFT, pos=middle)
        for step in range(1, 6):
            bot.mouseMove(canvas, middle + QPoint(8 * step, 0))
        bot.mouseRelease(canvas, LEFT, pos=middle + QPoint(40, 0))

    desk.do(drag)
    assert desk.studio.recipe.placement.centre_x < 0.5
    assert len(desk.studio.session._steps) == steps + 1
    assert desk.studio.session.undo_name == "Move the photo"
    desk.do(lambda: bot.keyClick(desk.studio, KEY.Key_Z, CTRL))
    np.testing.assert_array_equal(desk.grab(), before)


def test_readout_follows_the_pointer_in_mm_or_inches(open_desk):
    desk, bot = open_desk, open_desk.qtbot
    canvas = desk.studio.compare.panes[0].canvas
    bot.mouseMove(canvas, canvas.rect().center())
    assert "mm" in desk.studio.compare.panes[0].readout.text()
    desk.studio.settings.inches = True
    desk.studio.show_units()
    bot.mouseMove(canvas, canvas.rect().center() + QPoint(5, 0))
    assert " in " in desk.studio.compare.panes[1].readout.text()
    assert " in" in desk.studio.ticket._values["Plate"].text()
    assert "per inch" in desk.studio.ticket._values["Detail"].text()
    assert desk.studio.bench.control("plate.width_mm").field.suffix() == " in"
