"""The row of commands above the panes: zoom, keys, names, order."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QComboBox, QWidget

from app.compare.canvas import device_px_per_mm
from tests.app.compare.parts import click
from tests.app.conftest import turn_wheel


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
    turn_wheel(combo, -1)
    assert compare.panes[0].stage == "photo"
    combo.setFocus()
    turn_wheel(combo, -1)
    assert compare.panes[0].stage == "look"


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
