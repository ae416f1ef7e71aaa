"""The curve editor as a user has it: mouse, keys, and what it tells."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from app.bench.curve_editor import CurveEditor
from shared.fields import IDENTITY_CURVE
from shared.operators import Tone

KEY = Qt.Key
LEFT = Qt.MouseButton.LeftButton
MIDDLE = ((0.0, 0.0), (0.5, 0.5), (1.0, 1.0))


class Listener:
    """Writes down what the editor reports."""

    def __init__(self, editor):
        self.told = []
        editor.started.connect(lambda: self.told.append("started"))
        editor.edited.connect(self.told.append)
        editor.finished.connect(lambda: self.told.append("finished"))

    def points(self):
        return [word for word in self.told if not isinstance(word, str)]

    def gestures(self):
        return [word for word in self.told if isinstance(word, str)]


@pytest.fixture
def editor(qtbot):
    editor = CurveEditor()
    qtbot.addWidget(editor)
    editor.resize(260, 184)
    editor.show()
    return editor


def place(editor, x, y):
    return editor.place_of(x, y).toPoint()


def drag(qtbot, editor, start, *stops):
    qtbot.mousePress(editor, LEFT, pos=start)
    for stop in stops:
        qtbot.mouseMove(editor, pos=stop)
    qtbot.mouseRelease(editor, LEFT, pos=stops[-1])


def test_a_click_on_the_line_adds_a_point_there(editor, qtbot):
    heard = Listener(editor)
    qtbot.mouseClick(editor, LEFT, pos=place(editor, 0.4, 0.4))
    assert len(editor.points) == 3
    assert editor.points[1] == pytest.approx((0.4, 0.4), abs=0.01)
    assert heard.gestures() == ["started", "finished"]


def test_a_click_away_from_the_line_does_nothing(editor, qtbot):
    heard = Listener(editor)
    qtbot.mouseClick(editor, LEFT, pos=place(editor, 0.2, 0.9))
    qtbot.mouseClick(editor, Qt.MouseButton.RightButton, pos=place(editor, 0.4, 0.4))
    assert editor.points == IDENTITY_CURVE
    assert heard.told == []


def test_a_drag_moves_a_point_and_is_one_change(editor, qtbot):
    editor.set_points(MIDDLE)
    heard = Listener(editor)
    drag(qtbot, editor, place(editor, 0.5, 0.5), place(editor, 0.45, 0.6), place(editor, 0.4, 0.7))
    assert editor.points[1] == pytest.approx((0.4, 0.7), abs=0.01)
    assert heard.gestures() == ["started", "finished"]
    assert len(heard.points()) == 2
    assert heard.points()[-1] == editor.points


def test_a_point_dragged_off_goes_and_one_brought_back_stays(editor, qtbot):
    editor.set_points(MIDDLE)
    far = QPoint(editor.width() // 2, -80)
    drag(qtbot, editor, place(editor, 0.5, 0.5), far, place(editor, 0.5, 0.7))
    assert len(editor.points) == 3
    drag(qtbot, editor, place(editor, *editor.points[1]), far)
    assert editor.points == IDENTITY_CURVE


def test_the_ends_cannot_be_dragged_off(editor, qtbot):
    drag(qtbot, editor, place(editor, 0, 0), QPoint(-200, 300))
    assert len(editor.points) == 2


def test_tab_walks_over_the_points_and_then_leaves(qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    before, editor, after = QLineEdit(), CurveEditor(), QLineEdit()
    column = QVBoxLayout(window)
    for part in (before, editor, after):
        column.addWidget(part)
    editor.set_points(MIDDLE)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    before.setFocus()
    seen = []
    for _ in range(3):
        qtbot.keyClick(window.focusWidget(), KEY.Key_Tab)
        assert editor.hasFocus()
        seen.append(editor.chosen)
    assert seen == [0, 1, 2]
    qtbot.keyClick(editor, KEY.Key_Tab)
    assert after.hasFocus()
    qtbot.keyClick(after, KEY.Key_Tab, Qt.KeyboardModifier.ShiftModifier)
    assert editor.hasFocus()
    assert editor.chosen == 2


def test_arrows_move_the_chosen_point_and_shift_moves_it_finely(editor, qtbot):
    editor.set_points(MIDDLE)
    editor.chosen = 1
    heard = Listener(editor)
    qtbot.keyClick(editor, KEY.Key_Up)
    assert editor.points[1] == (0.5, 0.51)
    qtbot.keyClick(editor, KEY.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    assert editor.points[1] == (0.499, 0.51)
    assert heard.gestures() == ["started", "finished"] * 2


def test_a_held_key_is_one_change(editor, qtbot):
    editor.set_points(MIDDLE)
    editor.chosen = 1
    heard = Listener(editor)
    for _ in range(5):
        qtbot.keyPress(editor, KEY.Key_Up)
    qtbot.keyRelease(editor, KEY.Key_Up)
    assert editor.points[1] == (0.5, 0.55)
    assert heard.gestures() == ["started", "finished"]


def test_insert_adds_and_delete_takes_away(editor, qtbot):
    qtbot.keyClick(editor, KEY.Key_Insert)
    assert editor.points == MIDDLE
    assert editor.chosen == 1
    qtbot.keyClick(editor, KEY.Key_End)
    assert editor.chosen == 2
    qtbot.keyClick(editor, KEY.Key_Delete)
    assert editor.points == MIDDLE
    qtbot.keyClick(editor, KEY.Key_Home)
    editor.chosen = 1
    qtbot.keyClick(editor, KEY.Key_Delete)
    assert editor.points == IDENTITY_CURVE


def test_showing_a_curve_is_silent_and_told_in_words(editor):
    heard = Listener(editor)
    editor.set_points(MIDDLE)
    assert heard.told == []
    assert "50 % becomes 50 %" in editor.accessibleDescription()


def test_the_line_follows_the_shape_that_is_given(editor, qtbot):
    editor.set_shape(lambda _: [(i / 100) ** 2 for i in range(101)])
    assert editor.height_at(0.5) == pytest.approx(0.25, abs=1e-3)
    qtbot.mouseClick(editor, LEFT, pos=place(editor, 0.5, 0.25))
    assert editor.points[1] == pytest.approx((0.5, 0.25), abs=0.02)


def test_the_histogram_is_drawn_behind_the_curve(editor):
    before = editor.grab().toImage()
    editor.set_histogram([0.0] * 60 + [5.0] * 20 + [0.0] * 176)
    after = editor.grab().toImage()
    inside, outside = place(editor, 0.27, 0.7), place(editor, 0.6, 0.3)
    assert after.pixelColor(inside) != before.pixelColor(inside)
    assert after.pixelColor(outside) == before.pixelColor(outside)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(
            st.tuples(st.floats(0, 1), st.floats(0, 1)),
            st.lists(st.tuples(st.floats(-0.6, 1.6), st.floats(-0.6, 1.6)), min_size=1, max_size=4),
        ),
        max_size=5,
    )
)
def test_no_drag_makes_the_curve_fall(editor, qtbot, drags):
    editor.set_points(MIDDLE)
    for start, stops in drags:
        points = [place(editor, *stop) for stop in stops]
        drag(qtbot, editor, place(editor, *start), *points)
        assert Tone(curve=editor.points).curve == editor.points
