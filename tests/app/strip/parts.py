"""A user's hands on the page of the test strip."""

from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication

from app.strip.patch_table import VALUE
from tests.app.conftest import COPY, LEFT, NO_KEYS, WAIT_MS, type_cell

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


def settled(qtbot, check):
    qtbot.waitUntil(check, timeout=WAIT_MS)


def press(qtbot, button):
    assert button.isEnabled()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def drop(page, *photos):
    """Drag files over the target of the page Photograph and let go; what it said before that."""
    page.go_to("photograph")
    data, target = QMimeData(), page.photograph.target
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in photos])
    enter = QDragEnterEvent(QPoint(5, 5), COPY, data, LEFT, NO_KEYS)
    QApplication.sendEvent(target, enter)
    assert enter.isAccepted()
    said = target.text()
    QApplication.sendEvent(target, QDropEvent(QPointF(5, 5), COPY, data, LEFT, NO_KEYS))
    return said


def type_value(qtbot, page, patch, text):
    type_cell(qtbot, page.read.table.table, patch, VALUE, text)
