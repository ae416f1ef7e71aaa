"""Photos, sessions and recipes dropped anywhere on the window, with a visible target."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QEvent, QMimeData, QObject, QRect, Qt
from PySide6.QtGui import (
    QColor,
    QDragEnterEvent,
    QDragMoveEvent,
    QDropEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QMainWindow, QWidget

from app import theme
from app.keeping import SESSION_SUFFIX
from app.opening import PHOTO_SUFFIXES, local_paths

RECIPE_SUFFIX = ".json"
FRAME_PX = 3


def openable(data: QMimeData) -> list[Path]:
    """The files among dropped data that could be opened; a name without an ending may be any."""
    endings = ("", *PHOTO_SUFFIXES, SESSION_SUFFIX, RECIPE_SUFFIX)
    return [p for p in local_paths(data) if p.suffix.lower() in endings and not p.is_dir()]


def words_for(data: QMimeData) -> str:
    """What letting go would do, or nothing for data of a wrong kind."""
    paths = openable(data)
    if not paths:
        return "Let go to open this picture" if data.hasImage() and not data.hasUrls() else ""
    name = paths[0].name
    if paths[0].suffix.lower() == RECIPE_SUFFIX:
        return f"Let go to use the recipe {name}"
    more = len(local_paths(data)) - 1
    return f"Let go to open {name}" + (f", the first of {more + 1} files" if more else "")


class DropSign(QWidget):
    """Lies over the window while something that can be opened is dragged across it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.words = ""
        self.setAccessibleName("Drop target")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hide()

    def show_words(self, words: str, place: QRect) -> None:
        """Cover a place of the window and say what letting go would do."""
        self.words = words
        self.setGeometry(place)
        self.raise_()
        self.show()

    def paintEvent(self, event: QPaintEvent) -> None:
        """A frame round everything, and the words in the middle."""
        del event
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(0, 0, 0, 110))
        painter.setPen(QPen(QColor(theme.ACCENT), FRAME_PX))
        inset = theme.GRID
        painter.drawRect(self.rect().adjusted(inset, inset, -inset, -inset))
        words = painter.boundingRect(self.rect(), Qt.AlignmentFlag.AlignCenter, self.words)
        painter.fillRect(words.adjusted(-16, -8, 16, 8), QColor(theme.PANEL))
        painter.setPen(QColor(theme.TEXT))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, self.words)
        painter.end()


class Dropping(QObject):
    """Watches a window; `opened` gets the data that was let go over it.

    Fields in the window have to refuse drops, so that they reach it.
    """

    def __init__(self, window: QMainWindow, opened: Callable[[QMimeData], None]) -> None:
        super().__init__(window)
        self._window = window
        self._opened = opened
        self.sign = DropSign(window)
        window.setAcceptDrops(True)
        window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Answer drags of the right kinds; wrong kinds are refused before they are let go."""
        if isinstance(event, QDragEnterEvent):
            words = words_for(event.mimeData())
            if words:
                event.acceptProposedAction()
                self.sign.show_words(words, self._window.rect())
            return True
        if isinstance(event, QDragMoveEvent):
            event.acceptProposedAction()
            return True
        if event.type() == QEvent.Type.DragLeave:
            self.sign.hide()
        elif isinstance(event, QDropEvent):
            self.sign.hide()
            event.acceptProposedAction()
            self._opened(event.mimeData())
            return True
        return super().eventFilter(watched, event)
