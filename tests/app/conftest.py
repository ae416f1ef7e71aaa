"""The studio as a person has it, small and in a home of its own; nothing may be left behind."""

import threading
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt, QThread, QTimer, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QLineEdit

from app import theme
from app.qimage import array_from_image
from app.settings import Settings
from app.studio import Studio

PLATE = {"plate.width_mm": 40.0, "plate.height_mm": 50.0, "plate.margin_mm": 2.0}
"""Small, so that a picture takes milliseconds."""
WAIT_MS = 20_000
COPY = Qt.DropAction.CopyAction
LEFT = Qt.MouseButton.LeftButton
NO_KEYS = Qt.KeyboardModifier.NoModifier


def save_photo(path, *, rows=250, columns=200, seed=1):
    """A photo with a dark left half, a bright right half, and some texture and colour."""
    rng = np.random.default_rng(seed)
    across = np.linspace(0.0, 1.0, columns)[None, :, None]
    pixels = 30.0 + 180.0 * (across > 0.5) + rng.normal(0.0, 6.0, (rows, columns, 1))
    pixels = pixels + np.array([12.0, 0.0, -12.0])
    Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(path)
    return path


def type_cell(qtbot, table, row, column, text):
    """Type over a cell of a table, as a user does."""
    table.setCurrentCell(row, column)
    table.editItem(table.item(row, column))
    editor = next(e for e in table.findChildren(QLineEdit) if e.isVisible())
    editor.selectAll()
    qtbot.keyClicks(editor, text)
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: table.state() == table.State.NoState)


def turn_wheel(widget, notches=1):
    """Turn the wheel over the middle of a widget, away from the user if positive."""
    place = QPointF(widget.rect().center())
    event = QWheelEvent(
        place,
        widget.mapToGlobal(place),
        QPoint(),
        QPoint(0, 120 * notches),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, event)


class Desk:
    """A studio and the hands of its user."""

    def __init__(self, studio, qtbot):
        self.studio, self.qtbot = studio, qtbot
        self._settled = studio.panes._number
        studio.panes.settled.connect(self._settle)

    def _settle(self):
        self._settled = self.studio.panes._number

    def at_rest(self):
        """Whether both panes show the final pictures of what was asked for last."""
        return self._settled == self.studio.panes._number and not self.studio.opener.busy

    def do(self, action):
        """Do something that changes the panes, and wait until they show it."""
        self.studio.activateWindow()  # without a window manager nobody else does after a dialog
        self.until(lambda: self.at_rest() and self.studio.isActiveWindow())
        before = self.studio.panes._number
        action()
        self.until(lambda: self.studio.panes._number > before and self.at_rest())

    def open(self, path):
        self.do(lambda: self.studio.files.open_any(Path(path)))

    def until(self, condition):
        self.qtbot.waitUntil(condition, timeout=WAIT_MS)

    def answer(self, do):
        """Hand the next dialog to `do` as soon as it is there."""

        def look():
            dialog = QApplication.activeModalWidget()
            if dialog is not None:
                timer.stop()
                do(dialog)

        timer = QTimer(self.studio, interval=20)
        timer.timeout.connect(look)
        timer.start()

    def choose_file(self, path):
        """Type a path into the next file dialog and accept it."""

        def fill(dialog):
            dialog.findChild(QLineEdit, "fileNameEdit").setText(str(path))
            dialog.accept()

        self.answer(fill)

    def grab(self, pane=0):
        """The pixels that a pane's canvas shows: rows x columns x 3."""
        canvas = self.studio.compare.panes[pane].canvas
        return array_from_image(canvas.grab().toImage())[..., :3].astype(int)

    def picture(self, pane=0):
        """The part of the canvas that is well inside the photo."""
        shown = self.grab(pane)
        studio, canvas = self.studio, self.studio.compare.panes[pane].canvas
        plate = studio.recipe.plate
        inset = plate.margin_mm + 1.0
        ends = [
            canvas.view().to_px(inset, inset),
            canvas.view().to_px(plate.width_mm - inset, plate.height_mm - inset),
        ]
        (left, right), (top, bottom) = (sorted(end) for end in zip(*ends, strict=True))
        return shown[round(top) : round(bottom), round(left) : round(right)]

    def drag_over(self, *paths):
        """Drag files over the window; whether they are welcome."""
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
        self._dragged = data  # Qt keeps no data of its own while a drag lasts
        spot = self.studio.rect().center()
        event = QDragEnterEvent(spot, COPY, data, LEFT, NO_KEYS)
        QApplication.sendEvent(self.studio, event)
        return event.isAccepted()

    def drop(self, *paths):
        """Drag files over the window and let go."""
        assert self.drag_over(*paths)
        spot = QPointF(self.studio.rect().center())
        QApplication.sendEvent(self.studio, QDropEvent(spot, COPY, self._dragged, LEFT, NO_KEYS))

    def notice(self):
        return self.studio.notice.text if self.studio.notice.isVisible() else ""


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """Preferences and unsaved work of this test alone."""
    monkeypatch.setenv("RIMETYPE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def nothing_left(qapp):
    """Fails the test that leaves a window or a thread behind."""
    before = set(QApplication.topLevelWidgets()), _threads()
    yield
    for _ in range(3):
        qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        qapp.processEvents()
    left = [w for w in QApplication.topLevelWidgets() if w not in before[0] and w.isVisible()]
    assert not left
    assert _threads() <= before[1]


def _threads():
    """The threads there are, without the engine's pool, which lives as long as the program."""
    named = {thread.name for thread in threading.enumerate()}
    return {name for name in named if not name.startswith(("strips", "Dummy"))}


@pytest.fixture
def styled(qapp):
    """The program's own look, and the usual one again afterwards."""
    before = qapp.styleSheet(), qapp.font(), qapp.palette(), qapp.style().name()
    theme.apply(qapp)
    yield
    qapp.setStyleSheet(before[0])
    qapp.setFont(before[1])
    qapp.setPalette(before[2])
    qapp.setStyle(before[3])


@pytest.fixture
def make_studio(qtbot, qapp, home, nothing_left, styled):
    """Opens studios, one after the other as starts of the program are, and closes them."""
    del home, nothing_left, styled
    made = []

    def make():
        studio = Studio(Settings())
        made.append(studio)
        studio.resize(1280, 720)
        with qtbot.waitExposed(studio):
            studio.show()
        studio.activateWindow()
        qtbot.waitUntil(studio.isActiveWindow)
        return studio

    yield make
    for studio in made:
        if not studio.ended:
            studio.session.mark_saved()
            assert studio.close()
        assert studio.ended
        assert not [t for t in studio.findChildren(QThread) if t.isRunning()]
        studio.deleteLater()
    qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture
def studio(make_studio):
    """A studio on a small plate, without a photo, with nothing to undo."""
    studio = make_studio()
    for take in ("A", "B"):
        recipe = studio.session.recipe(take).with_values(PLATE)
        studio.session.set_recipe(take, recipe, "Small plate")
    studio.session.mark_saved()
    return studio


@pytest.fixture
def make_photo(tmp_path):
    """Makes photo files by name; see save_photo."""
    return lambda name, **how: save_photo(tmp_path / name, **how)


@pytest.fixture
def photo(make_photo):
    return make_photo("portrait.png")


@pytest.fixture
def desk(studio, qtbot):
    return Desk(studio, qtbot)


@pytest.fixture
def open_desk(desk, photo):
    """With a photo opened and shown."""
    desk.open(photo)
    return desk
