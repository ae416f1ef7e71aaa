"""The keyboard stays where the user is while steps change and long work begins and ends."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from app.strip.strip_dialog import StripDialog
from tests.app.conftest import WAIT_MS
from tests.app.strip.parts import open_page, ranked, settled

KEY = Qt.Key


@pytest.fixture
def active(page, qtbot):
    """The page, to which keys go."""
    activate(page, qtbot)
    return page


def activate(page, qtbot):
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)


def space(qtbot, button):
    assert QApplication.focusWidget() is button
    qtbot.keyClick(button, KEY.Key_Space)


def test_reading_and_ranking_are_stopped_and_begun_again_by_one_key(active, folder, qtbot):
    page, work = active, active._work
    read, choose = page.read, page.choose
    page.take_photo(folder / "IMG_0007.jpg")
    read.progress.stop.setFocus()
    space(qtbot, read.progress.stop)
    settled(qtbot, lambda: not work.is_reading)
    space(qtbot, read.once_more)
    assert QApplication.focusWidget() is read.progress.stop
    settled(qtbot, lambda: not work.is_reading)
    assert QApplication.focusWidget() is read.table.table
    page.go_to("choose")
    choose.progress.stop.setFocus()
    space(qtbot, choose.progress.stop)
    settled(qtbot, lambda: not work.is_judging)
    space(qtbot, choose.once_more)
    assert QApplication.focusWidget() is choose.progress.stop
    ranked(page, qtbot)
    assert QApplication.focusWidget() is choose.list


def test_a_step_that_is_left_hands_the_keyboard_to_the_row_of_steps(active, qtbot):
    page = active
    page.go_to("photograph")
    page.photograph.choose.setFocus()
    qtbot.keyClick(page, KEY.Key_4, Qt.KeyboardModifier.AltModifier)
    assert QApplication.focusWidget() is page.steps.buttons.buttons["read"]
    page.next.setFocus()
    space(qtbot, page.next)
    assert page.step == "choose"
    assert QApplication.focusWidget() is not page.close_button


def test_writing_is_stopped_and_begun_again_by_one_key(open_desk, qtbot, tmp_path):
    """On a page that was closed and opened again, too."""
    studio = open_desk.studio
    open_page(studio, qtbot).reject()
    settled(qtbot, lambda: not studio.findChildren(StripDialog))
    dialog = open_page(studio, qtbot)
    activate(dialog, qtbot)
    page = dialog.make
    settled(qtbot, page.write.isEnabled)
    page.folder.setText(str(tmp_path / "strip"))
    page.write.setFocus()
    space(qtbot, page.write)
    space(qtbot, page.stop)
    settled(qtbot, lambda: not page._planning.busy)
    assert page.problem.text() == "Stopped; nothing was written."
    space(qtbot, page.write)
    qtbot.waitUntil(lambda: dialog.step == "burn", timeout=WAIT_MS)
    assert QApplication.focusWidget() is dialog.steps.buttons.buttons["burn"]
    dialog.reject()
