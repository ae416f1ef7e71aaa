"""The number control as a user has it: drag, type, step, wheel, reset."""

import pytest
from PySide6.QtCore import QLocale, QPoint, Qt
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from app.bench.controls import control_for
from shared.errors import RecipeError
from shared.recipe import all_fields, default_of
from shared.units import pitch_from_ppi
from tests.app.conftest import turn_wheel

KEY = Qt.Key
LEFT = Qt.MouseButton.LeftButton
SHIFT = Qt.KeyboardModifier.ShiftModifier


class Listener:
    """Writes down what a control reports."""

    def __init__(self, control):
        self.values, self.gestures, self.resets = [], [], []
        control.edited.connect(lambda _, value: self.values.append(value))
        control.started.connect(lambda _: self.gestures.append("started"))
        control.finished.connect(lambda _: self.gestures.append("finished"))
        control.reset_wanted.connect(self.resets.append)


@pytest.fixture
def make(qtbot):
    """Makes a control in an active window, beside a field that can have the focus."""

    windows = []

    def build(key):
        window = QWidget()
        windows.append(window)
        qtbot.addWidget(window)
        column = QVBoxLayout(window)
        control = control_for(key)
        column.addWidget(QLineEdit())
        column.addWidget(control)
        window.resize(300, 160)
        with qtbot.waitActive(window):
            window.show()
            window.activateWindow()
        control.heard = Listener(control)
        return control

    return build


def retype(qtbot, field, text, end=KEY.Key_Return):
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, end)


def on_slider(control, fraction):
    slider = control.slider
    return QPoint(round(slider.x_of(fraction)), slider.height() // 2)


def test_dragging_the_slider_is_one_change_that_is_followed(make, qtbot):
    control = make("tone.hold")
    qtbot.mousePress(control.slider, LEFT, pos=on_slider(control, 0.0))
    for fraction in (0.2, 0.4, 0.6):
        qtbot.mouseMove(control.slider, pos=on_slider(control, fraction))
    qtbot.mouseRelease(control.slider, LEFT, pos=on_slider(control, 0.6))
    assert control.heard.gestures == ["started", "finished"]
    assert control.heard.values == pytest.approx([0.2, 0.4, 0.6], abs=0.011)
    assert control.value == control.heard.values[-1]
    assert control.field.text() == f"{100 * control.value:.0f} %"


def test_a_dragged_value_is_a_whole_number_of_steps(make, qtbot):
    control = make("tone.hold")
    qtbot.mouseClick(control.slider, LEFT, pos=on_slider(control, 0.337))
    assert control.value == pytest.approx(round(control.value, 2), abs=1e-12)


def test_the_slider_reaches_both_ends(make, qtbot):
    control = make("tone.lift")
    qtbot.mousePress(control.slider, LEFT, pos=on_slider(control, 0.5))
    qtbot.mouseMove(control.slider, pos=QPoint(5000, 5))
    assert control.value == 1.0
    qtbot.mouseMove(control.slider, pos=QPoint(-5000, 5))
    assert control.value == 0.0
    qtbot.mouseRelease(control.slider, LEFT, pos=QPoint(0, 5))


def test_picking_the_cursor_up_and_putting_it_down_changes_nothing(make, qtbot):
    control = make("tone.lift")
    control.show_value(0.2537)
    place = on_slider(control, 0.2537) + QPoint(3, 0)
    qtbot.mouseClick(control.slider, LEFT, pos=place)
    assert control.value == 0.2537
    assert control.heard.gestures == []


@pytest.mark.parametrize("text", ["12.5", "12,5", "12,5 %", "12.5%", "+12.5"])
def test_a_typed_value_takes_point_or_comma(make, qtbot, text):
    control = make("tone.lift")
    retype(qtbot, control.field, text)
    assert control.heard.values == [0.125]
    assert control.heard.gestures == ["started", "finished"]
    assert control.field.text() == "12.5 %"
    assert control.slider.fraction() == pytest.approx(0.125, abs=1e-3)


def test_leaving_the_field_takes_the_value_too(make, qtbot):
    control = make("plate.width_mm")
    retype(qtbot, control.field, "320", end=KEY.Key_Tab)
    assert control.heard.values == [320.0]


def test_a_value_beyond_the_range_becomes_the_nearest(make, qtbot):
    control = make("plate.width_mm")
    retype(qtbot, control.field, "99999")
    assert control.value == 3000.0
    retype(qtbot, control.field, "-4")
    assert control.value == 5.0


@pytest.mark.parametrize("text", ["abc", "-", ",", ""])
def test_what_is_not_a_number_leaves_the_value(make, qtbot, text):
    control = make("tone.lift")
    control.field.setFocus()
    control.field.selectAll()
    qtbot.keyClick(control.field, KEY.Key_Delete)
    qtbot.keyClicks(control.field, text)
    qtbot.keyClick(control.field, KEY.Key_Return)
    assert control.heard.values == []
    assert control.field.text() == "25 %"


def test_escape_brings_back_what_stood_there(make, qtbot):
    control = make("tone.lift")
    control.field.setFocus()
    control.field.selectAll()
    qtbot.keyClicks(control.field, "80")
    qtbot.keyClick(control.field, KEY.Key_Escape)
    assert control.field.text() == "25 %"
    assert control.heard.values == []


def test_a_value_with_more_digits_than_are_shown_survives_a_visit(make, qtbot):
    control = make("plate.pitch_mm")
    fine = pitch_from_ppi(300.0)
    control.show_value(fine)
    control.field.setFocus()
    qtbot.keyClick(control.field, KEY.Key_Return)
    qtbot.keyClick(control.field, KEY.Key_Tab)
    assert control.value == fine
    assert control.heard.values == []


def test_the_decimal_mark_is_that_of_the_place(make, qtbot):
    control = make("tone.lift")
    control.field.setLocale(QLocale(QLocale.Language.German))
    control.show_value(0.125)
    assert control.field.text() == "12,5 %"
    retype(qtbot, control.field, "37.5")
    assert control.value == 0.375


@pytest.mark.parametrize("part", ["field", "slider"])
@pytest.mark.parametrize(
    ("key", "modifier", "expected"),
    [
        (KEY.Key_Up, Qt.KeyboardModifier.NoModifier, 0.26),
        (KEY.Key_Down, Qt.KeyboardModifier.NoModifier, 0.24),
        (KEY.Key_Up, SHIFT, 0.251),
        (KEY.Key_Down, SHIFT, 0.249),
        (KEY.Key_PageUp, Qt.KeyboardModifier.NoModifier, 0.35),
        (KEY.Key_PageDown, Qt.KeyboardModifier.NoModifier, 0.15),
    ],
)
def test_keys_step(make, qtbot, part, key, modifier, expected):
    control = make("tone.lift")
    qtbot.keyClick(getattr(control, part), key, modifier)
    assert control.heard.values == [pytest.approx(expected, abs=1e-9)]
    assert control.heard.gestures == ["started", "finished"]


def test_the_slider_has_keys_of_its_own(make, qtbot):
    control = make("tone.lift")
    qtbot.keyClick(control.slider, KEY.Key_Right)
    qtbot.keyClick(control.slider, KEY.Key_Left)
    qtbot.keyClick(control.slider, KEY.Key_End)
    qtbot.keyClick(control.slider, KEY.Key_Home)
    assert control.heard.values == pytest.approx([0.26, 0.25, 1.0, 0.0])
    qtbot.keyClick(control.slider, KEY.Key_Backspace)
    assert control.heard.resets == ["tone.lift"]


def test_a_held_key_is_one_change(make, qtbot):
    control = make("tone.lift")
    for _ in range(4):
        qtbot.keyPress(control.slider, KEY.Key_Right)
    qtbot.keyRelease(control.slider, KEY.Key_Right)
    assert control.value == pytest.approx(0.29)
    assert control.heard.gestures == ["started", "finished"]


def test_a_step_after_typing_starts_from_what_was_typed(make, qtbot):
    control = make("plate.width_mm")
    control.field.setFocus()
    control.field.selectAll()
    qtbot.keyClicks(control.field, "300")
    qtbot.keyClick(control.field, KEY.Key_Up)
    assert control.value == pytest.approx(300.1)


def test_steps_stop_at_the_ends(make, qtbot):
    control = make("tone.lift")
    control.show_value(1.0)
    qtbot.keyClick(control.field, KEY.Key_Up)
    assert control.heard.gestures == []


@pytest.mark.parametrize("part", ["field", "slider"])
def test_the_wheel_needs_the_focus(make, part):
    control = make("tone.lift")
    widget = getattr(control, part)
    turn_wheel(widget)
    assert control.heard.values == []
    widget.setFocus()
    turn_wheel(widget, 1)
    turn_wheel(widget, -2 if part == "slider" else -1)
    expected = [0.26, 0.24] if part == "slider" else [0.26, 0.25]
    assert control.heard.values == pytest.approx(expected)


@pytest.mark.parametrize("part", ["label", "slider"])
def test_a_double_click_asks_for_the_default(make, qtbot, part):
    control = make("tone.lift")
    qtbot.mouseDClick(getattr(control, part), LEFT)
    assert control.heard.resets == []
    control.show_value(0.8)
    qtbot.mouseDClick(getattr(control, part), LEFT)
    assert control.heard.resets == ["tone.lift"]


def test_the_menu_offers_the_default_by_its_value(make):
    control = make("tone.lift")
    control.show_value(0.8)
    action = control.make_menu().actions()[0]
    assert action.text() == "Back to the default: 25 %"
    action.trigger()
    assert control.heard.resets == ["tone.lift"]


def test_showing_a_value_is_silent(make):
    control = make("tone.lift")
    control.show_value(0.75)
    assert control.field.text() == "75 %"
    assert control.slider.fraction() == pytest.approx(0.75, abs=1e-3)
    assert control.heard.values == []


def test_a_wide_range_has_no_slider_and_a_ratio_has_a_logarithmic_one(make, qtbot):
    assert make("plate.width_mm").slider is None
    assert make("plate.pitch_mm").slider is None
    assert make("placement.turn_deg").slider is None
    control = make("placement.scale")
    qtbot.mouseClick(control.slider, LEFT, pos=on_slider(control, 0.5))
    assert control.value == pytest.approx(1.0, abs=0.03)
    assert control.slider.fraction() == pytest.approx(0.5, abs=0.01)


def test_lengths_in_inches_and_pitch_in_pixels_per_inch(make, qtbot):
    width, pitch = make("plate.width_mm"), make("plate.pitch_mm")
    for control in (width, pitch):
        control.set_units("in")
    retype(qtbot, width.field, "8")
    retype(qtbot, pitch.field, "300")
    assert width.value == pytest.approx(203.2, abs=1e-9)
    assert width.field.text() == "8.00 in"
    assert pitch.value == pytest.approx(25.4 / 300, abs=1e-9)
    assert pitch.field.text() == "300 ppi"
    qtbot.keyClick(pitch.field, KEY.Key_Up)
    assert pitch.field.text() == "301 ppi"
    width.set_units("mm")
    assert width.field.text() == "203.2 mm"


def test_changing_units_changes_no_value(make):
    for key in ("plate.width_mm", "plate.margin_mm", "plate.pitch_mm"):
        control = make(key)
        control.show_value(default_of(key))
        control.set_units("in")
        control.field.interpretText()
        control.set_units("mm")
        assert control.value == default_of(key)
        assert control.heard.values == []


@pytest.mark.parametrize("key", [k for k, info in all_fields() if info.kind == "number"])
@pytest.mark.parametrize("text", ["-100000", "100000"])
def test_every_number_takes_its_own_ends(make, qtbot, key, text):
    control = make(key)
    info = control.info
    retype(qtbot, control.field, text)
    end = info.low if text.startswith("-") else info.high
    assert control.value == pytest.approx(end, abs=1e-9)
    assert info.low <= control.value <= info.high


def test_a_name_that_is_no_field_is_refused_with_the_nearest():
    with pytest.raises(RecipeError, match=r"tone\.lift"):
        control_for("tone.lft")
