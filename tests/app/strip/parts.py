"""A user's hands on the page of the test strip."""

from PySide6.QtCore import Qt

from app.strip.patch_table import VALUE
from tests.app.conftest import type_cell

JUDGE_MS = 60_000


def open_page(studio, qtbot, folder=None):
    studio.strip.open()
    dialog = studio.dialogs._open
    qtbot.waitUntil(dialog.isVisible)
    if folder is not None:
        dialog.open_file(folder / "strip" / "strip.json")
    return dialog


def ranked(page, qtbot):
    work = page._work
    qtbot.waitUntil(lambda: not work.is_reading and not work.is_judging, timeout=JUDGE_MS)


def press(qtbot, button):
    assert button.isEnabled()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def type_value(qtbot, page, patch, text):
    type_cell(qtbot, page.read.table.table, patch, VALUE, text)
