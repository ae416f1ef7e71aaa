"""The head of the step Glass, and the comparison of two profiles."""

import attrs
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from app.glass.compare_dialog import CompareDialog
from app.glass.differences import differences
from app.glass.glass_panel import OPEN, GlassPanel
from app.glass.profile_files import file_stem
from app.settings import Settings
from engine.compensate import Modulation
from shared.profile import GENERIC, Knot, Machine
from shared.profile_file import dump_profile, starting_guesses
from shared.recipe import Screen

KNOTS = tuple(Knot(f, s) for f, s in ((0.2, 0.0), (0.4, 0.5), (0.9, 1.0)))
MEASURED = attrs.evolve(GENERIC, name="My glass", origin="measured", date="12 May", knots=KNOTS)
GUESSES = list(starting_guesses().values())
ROWS = [Modulation(1, 0.86, 1.0), Modulation(2, 0.55, 0.98), Modulation(3, 0.26, 0.8)]


@pytest.fixture
def panel(qtbot, styled):
    del styled
    panel = GlassPanel()
    qtbot.addWidget(panel)
    panel.resize(286, 520)
    panel.show()
    yield panel
    panel.stop()


@pytest.fixture
def compare(qtbot, home, styled):
    del home, styled
    dialog = CompareDialog(MEASURED, Settings(), None)
    qtbot.addWidget(dialog)
    dialog.show()
    return dialog


def pick(qtbot, box, text):
    """Choose by keyboard, as the closed box takes it."""
    box.setFocus()
    row = next(i for i in range(box.count()) if text in box.itemText(i))
    box.setCurrentIndex(row)
    box.activated.emit(row)
    qtbot.wait(1)


def words_of(widget):
    return [label.text() for label in widget.findChildren(QLabel) if label.isVisibleTo(widget)]


@pytest.mark.parametrize(
    ("profile", "words", "role"),
    [
        (GUESSES[0], "Starting guess", "warning"),
        (attrs.evolve(GENERIC, origin="entered by hand"), "Entered by hand", "caption"),
        (MEASURED, "Measured, 12 May", "caption"),
    ],
)
def test_the_origin_is_always_on_show(panel, profile, words, role):
    panel.show_profile(profile)
    assert panel.origin.words.text() == words
    assert panel.origin.words.property("role") == role
    assert panel.chooser.currentText() == profile.name
    assert panel.curve.profile.name == profile.name


def test_a_starting_guess_is_chosen_by_the_owner_s_leave(panel, qtbot):
    panel.show_profile(MEASURED)
    with qtbot.waitSignal(panel.profile_chosen) as chosen:
        pick(qtbot, panel.chooser, GUESSES[1].name)
    assert chosen.args == [GUESSES[1]]
    assert panel.chooser.currentText() == "My glass"
    panel.show_profile(GUESSES[1])
    assert panel.chooser.currentText() == GUESSES[1].name
    assert panel.chooser.findText("My glass") == -1


def test_the_file_entry_asks_and_stays_out_of_the_choice(panel, qtbot):
    panel.show_profile(GUESSES[0])
    with qtbot.waitSignal(panel.open_wanted), qtbot.assertNotEmitted(panel.profile_chosen):
        pick(qtbot, panel.chooser, OPEN)
    assert panel.chooser.currentText() == GUESSES[0].name


def test_showing_tells_nobody(panel, qtbot):
    with qtbot.assertNotEmitted(panel.profile_chosen):
        panel.show_profile(MEASURED)
        panel.show_profile(GUESSES[0])


@pytest.mark.parametrize(
    ("text", "signal"),
    [("Edit...", "edit_wanted"), ("Compare...", "compare_wanted"), ("Save as...", "save_wanted")],
)
def test_each_button_says_what_is_wanted(panel, qtbot, text, signal):
    button = next(b for b in panel.findChildren(QPushButton) if b.text() == text)
    button.setFocus()
    with qtbot.waitSignal(getattr(panel, signal)):
        qtbot.keyClick(button, Qt.Key.Key_Space)


def test_tab_reaches_everything_that_acts(qtbot, panel):
    window = QWidget()
    qtbot.addWidget(window)
    QVBoxLayout(window).addWidget(panel)
    with qtbot.waitActive(window):
        window.show()
        window.activateWindow()
    panel.chooser.setFocus()
    seen = [window.focusWidget()]
    for _ in range(3):
        qtbot.keyClick(window.focusWidget(), Qt.Key.Key_Tab)
        seen.append(window.focusWidget())
    assert seen == [panel.chooser, panel.edit, panel.compare, panel.save]
    assert all(widget.accessibleName() for widget in seen)
    panel.setParent(None)


def test_detail_is_read_out_with_and_without(panel):
    assert not panel.modulation.isVisibleTo(panel)
    panel.set_modulation(ROWS, 0.062)
    assert panel.modulation.isVisibleTo(panel)
    shown = [[cell.text() for cell in line] for line in panel.modulation.cells]
    assert shown[1:] == [
        ["1 cycles/mm", "86 %", "100 %"],
        ["2 cycles/mm", "55 %", "98 %"],
        ["3 cycles/mm", "26 %", "80 %"],
    ]
    assert panel.modulation.headroom.text() == "\u26a0 Headroom ran out on 6.2 % of the plate."
    assert "55 % without, 98 % with" in panel.modulation.accessibleDescription()
    panel.set_modulation(ROWS[:1], 0.0)
    assert "Headroom everywhere." in words_of(panel.modulation)
    panel.set_modulation(ROWS[:1])
    assert not panel.modulation.headroom.isVisibleTo(panel)
    panel.set_modulation([])
    assert not panel.modulation.isVisibleTo(panel)


def test_the_marks_are_those_of_the_plates_pitch(panel, qtbot):
    panel.show_profile(MEASURED)
    panel.show_screen(Screen(kind="continuous"), 0.05)
    qtbot.waitUntil(lambda: panel.tones.shown is not None)
    assert "Greatest power 45 %: 1.8 J/mm\u00b2" in panel.curve.accessibleDescription()
    assert panel.profile == MEASURED


def test_the_tones_reach_the_curve(panel):
    before = panel.curve.grab().toImage()
    panel.set_tones([0.0, 1.0, 5.0, 1.0, 0.0])
    assert panel.curve.grab().toImage() != before


def test_two_profiles_are_compared(compare, qtbot):
    assert compare.boxes[0].currentText() == "Current: My glass (measured)"
    assert [line.second for line in compare.plot.lines] == [False, True]
    pick(qtbot, compare.boxes[1], GUESSES[2].name)
    rows = differences(MEASURED, GUESSES[2])
    assert compare.table.rowCount() == len(rows) > 3
    assert compare.table.item(0, 1).text() == "measured"
    assert compare.table.item(0, 2).text() == "starting guess"
    assert f"{len(rows)} figures differ" in compare.state.text()
    pick(qtbot, compare.boxes[0], GUESSES[2].name)
    assert compare.table.rowCount() == 0
    assert "the same" in compare.state.text()


def test_a_file_can_be_compared_and_a_bad_one_is_told(compare, tmp_path):
    path = tmp_path / "other.json"
    other = attrs.evolve(MEASURED, name="Other", machine=Machine(rated_w=80.0))
    path.write_text(dump_profile(other), encoding="utf-8")
    compare.open_file(1, path)
    assert "Other" in compare.boxes[1].currentText()
    cells = [[compare.table.item(r, c).text() for c in range(3)] for r in range(2)]
    assert cells == [["Name", "My glass", "Other"], ["Machine: rated power", "60 W", "80 W"]]
    path.write_text("nothing", encoding="utf-8")
    compare.open_file(0, path)
    assert "not a Rimetype glass profile" in compare.state.text()
    assert "My glass" in compare.boxes[0].currentText()


def test_no_difference_is_missed():
    assert differences(MEASURED, MEASURED) == ()
    (row,) = differences(MEASURED, attrs.evolve(MEASURED, knots=KNOTS[:2]))
    assert row.label == "Curve: measured points"
    assert row.second == "0.2: 0.0 %, 0.4: 50.0 %"


@pytest.mark.parametrize(
    ("name", "stem"),
    [("60 W tube, 3 mm", "60-w-tube-3-mm"), ("../..\\x:*", "x"), ("", "glass-profile")],
)
def test_a_files_name_is_made_of_plain_letters(name, stem):
    assert file_stem(name) == stem
