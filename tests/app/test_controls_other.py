"""The controls for choices, flags, colours and regions as a user has them."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QColorDialog, QVBoxLayout, QWidget

from app.bench.choice_control import OptionList, Segments
from app.bench.controls import control_for
from tests.app.conftest import turn_wheel

KEY = Qt.Key
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def make(qtbot):
    windows = []

    def build(key):
        window = QWidget()
        windows.append(window)
        qtbot.addWidget(window)
        control = control_for(key)
        QVBoxLayout(window).addWidget(control)
        with qtbot.waitActive(window):
            window.show()
            window.activateWindow()
        control.heard = []
        control.started.connect(lambda _: control.heard.append("started"))
        control.edited.connect(lambda _, value: control.heard.append(value))
        control.finished.connect(lambda _: control.heard.append("finished"))
        return control

    return build


def test_few_short_options_are_segments(make, qtbot):
    control = make("plate.etched")
    assert isinstance(control.picker, Segments)
    qtbot.mouseClick(control.picker.buttons.button(1), LEFT)
    assert control.heard == ["started", "front", "finished"]
    qtbot.keyClick(control.picker.buttons.button(1), KEY.Key_Left)
    assert control.value == "back"


def test_many_options_are_a_list_with_help_for_each(make, qtbot):
    control = make("grey.method")
    assert isinstance(control.picker, OptionList)
    qtbot.keyClick(control.picker, KEY.Key_Down)
    assert control.heard == ["started", "luma601", "finished"]
    for number, option in enumerate(control.info.options):
        assert control.picker.itemText(number) == option.label
        assert control.picker.itemData(number, Qt.ItemDataRole.ToolTipRole) == option.help


def test_the_list_ignores_the_wheel_without_focus(make):
    control = make("grey.method")
    control.picker.clearFocus()
    turn_wheel(control.picker, -1)
    assert control.heard == []
    control.picker.setFocus()
    turn_wheel(control.picker, -1)
    assert control.value == "luma601"


@pytest.mark.parametrize(
    ("key", "value"),
    [("plate.etched", "front"), ("grey.method", "skin"), ("output.eight_bit", True)],
)
def test_showing_a_value_is_silent(make, key, value):
    control = make(key)
    control.show_value(value)
    assert control.value == value
    assert control.heard == []


def test_a_flag_is_ticked_by_mouse_and_by_space(make, qtbot):
    control = make("output.eight_bit")
    qtbot.keyClick(control.box, KEY.Key_Space)
    assert control.heard == ["started", True, "finished"]
    control.show_value(False)
    assert not control.box.isChecked()


def dialog_of(control):
    return control.findChild(QColorDialog)


def test_a_colour_is_followed_while_choosing_and_is_one_change(make, qtbot):
    control = make("photo.matte")
    qtbot.mouseClick(control.button, LEFT)
    dialog = dialog_of(control)
    assert dialog.testOption(QColorDialog.ColorDialogOption.DontUseNativeDialog)
    dialog.setCurrentColor(QColor("#102030"))
    dialog.setCurrentColor(QColor("#405060"))
    dialog.accept()
    assert control.heard == ["started", "#102030", "#405060", "finished"]
    assert "#405060" in control.button.text()
    assert "#405060" in control.button.accessibleName()


def test_a_colour_that_is_cancelled_comes_back(make, qtbot):
    control = make("photo.matte")
    qtbot.keyClick(control.button, KEY.Key_Space)
    dialog = dialog_of(control)
    dialog.setCurrentColor(QColor("#102030"))
    dialog.reject()
    assert control.value == "#000000"
    assert control.heard[-2:] == ["#000000", "finished"]


def test_a_region_is_asked_for_and_arrives(make, qtbot):
    control = make("grey.area")
    asked = []
    control.drag_wanted.connect(lambda key, on: asked.append((key, on)))
    qtbot.mouseClick(control.drag, LEFT)
    assert asked == [("grey.area", True)]
    control.show_value((0.1, 0.2, 0.6, 0.7))
    assert asked[-1] == ("grey.area", False)
    assert [field.text() for field in control.fields] == ["10 %", "20 %", "60 %", "70 %"]
    assert control.heard == []


def test_a_region_is_cleared(make, qtbot):
    control = make("grey.area")
    assert not control.clear.isEnabled()
    control.show_value((0.1, 0.2, 0.6, 0.7))
    qtbot.mouseClick(control.clear, LEFT)
    assert control.heard == ["started", None, "finished"]
    assert not control.clear.isEnabled()


def test_a_region_can_be_typed_and_never_turns_inside_out(make, qtbot):
    control = make("grey.area")
    for field, text in zip(control.fields, ("20", "30", "10", "80"), strict=True):
        field.setFocus()
        field.selectAll()
        qtbot.keyClicks(field, text)
        qtbot.keyClick(field, KEY.Key_Return)
    assert control.value == pytest.approx((0.2, 0.3, 0.21, 0.8))
    assert control.fields[2].text() == "21 %"


@pytest.mark.parametrize(("key", "steps"), [(KEY.Key_Up, 0.51), (KEY.Key_Down, 0.49)])
def test_the_sides_of_a_region_step_by_keys(make, qtbot, key, steps):
    control = make("grey.area")
    control.show_value((0.1, 0.2, 0.5, 0.7))
    qtbot.keyClick(control.fields[2], key)
    assert control.value[2] == pytest.approx(steps)


def test_the_curve_reports_as_one_field(make, qtbot):
    control = make("tone.curve")
    qtbot.mouseClick(control.editor, LEFT, pos=control.editor.place_of(0.5, 0.5).toPoint())
    assert control.heard[0] == "started"
    assert control.heard[-1] == "finished"
    assert control.value[1] == pytest.approx((0.5, 0.5), abs=0.02)
    asked = []
    control.reset_wanted.connect(asked.append)
    qtbot.keyClick(control.editor, KEY.Key_Backspace)
    assert asked == ["tone.curve"]
