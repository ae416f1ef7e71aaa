"""Step 3: how to photograph the burnt strip, and which photo to read."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QMimeData, Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent
from PySide6.QtWidgets import QFileDialog, QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app import theme
from app.compare.controls import ElidedLabel
from app.opening import PHOTO_FILTER, PHOTO_SUFFIXES, local_paths
from app.settings import Settings
from app.strip.parts import caption, heading, prose, push

HOW = {
    "Clean it": "Wipe the glass wet and let it dry: dust and glue of the masking shine like frost.",
    "Lay it on black": "On dull black cloth or card, larger than the glass. {side}",
    "Light it from one side": "A window, or a lamp far away; no flash, no reflections. Where the "
    "light falls off a little, a camera's picture style shows itself and can be taken off.",
    "Take all of it": "From straight above, with all four corner markers, filling the picture.",
    "Keep it sharp": "Let the camera focus on the glass, hold still, burn nothing out to white.",
    "Leave it as it is": "Neutral style, no filter; the phone's own file, not one made small.",
    "Take a second one, darker": "From the same place, exposed one stop less (\u22121 EV), no "
    "night mode. Two exposures show how the camera bends the tones; all of that is taken off.",
}
_SIDES = {
    "back": "The side that was not etched is up: you look through the glass.",
    "front": "The etched side is up.",
}


NO_CAMERA = (
    "No camera at hand? Go on to Read and type in what a densitometer shows, or which step of a "
    "printed grey scale is as light; fewer patches do, and the profile is coarser."
)


class PhotographPage(QWidget):
    """`chosen(path, path)` with the photo of the strip and a second one or None, `darker_chosen`
    with another second one or None."""

    chosen = Signal(object, object)
    darker_chosen = Signal(object)

    def __init__(self, settings: Settings) -> None:
        super().__init__()
        self._settings = settings
        self._steps = [(heading(head), prose()) for head in HOW]
        self.choose = push("Choose the photo...", self.ask, main=True)
        self.target = DropTarget("Drop one photo or both here", self.chosen.emit)
        self.file = ElidedLabel()
        self.file.setAccessibleName("Photo of the strip")
        self.add = push("Add a darker one...", self.ask_darker)
        self.leave_out = push(
            "Leave out", lambda: self.darker_chosen.emit(None), name="Leave the darker photo out"
        )
        self.darker = ElidedLabel()
        self.darker.setAccessibleName("Second photo of the strip")
        self._lay_out()
        self.show_side("back")
        self.show_photos(None, None)

    def show_side(self, etched: str) -> None:
        """From which side the strip is looked at."""
        for (_, words), text in zip(self._steps, HOW.values(), strict=True):
            words.setText(text.format(side=_SIDES[etched]))

    def show_photos(self, path: Path | None, darker: Path | None) -> None:
        """Name the photos that are read."""
        _name(self.file, path, "No photo yet")
        _name(self.darker, darker, "None; the tones are taken as plain sRGB")
        self.add.setEnabled(path is not None)
        self.add.setToolTip("" if path else "Choose the photo first")
        self.leave_out.setVisible(darker is not None)

    def ask_darker(self) -> None:
        """Let the user choose a second photo."""
        path = ask_photo(self, self._settings, "Darker photo of the strip")
        if path is not None:
            self.darker_chosen.emit(path)

    def ask(self) -> None:
        """Let the user choose the photo."""
        path = ask_photo(self, self._settings, "Photo of the strip")
        if path is not None:
            self.chosen.emit(path, None)

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.setSpacing(2)
        for number, (head, words) in enumerate(self._steps, start=1):
            head.setText(f"{number}  {head.text()}")
            left.addWidget(head)
            left.addWidget(words)
            left.addSpacing(theme.GRID)
        left.addWidget(caption(NO_CAMERA))
        left.addStretch(1)
        right = QVBoxLayout()
        right.setSpacing(theme.GRID)
        right.addWidget(self.target, 1)
        files = QGridLayout()
        files.setSpacing(theme.GRID)
        files.setColumnStretch(1, 1)
        files.addWidget(self.choose, 0, 0)
        files.addWidget(self.file, 0, 1, 1, 2)
        files.addWidget(self.add, 1, 0)
        files.addWidget(self.darker, 1, 1)
        files.addWidget(self.leave_out, 1, 2)
        right.addLayout(files)
        right.addWidget(caption("Keep the photos: what was learnt can be read from them again."))
        columns = QHBoxLayout(self)
        columns.setContentsMargins(0, 0, 0, 0)
        columns.setSpacing(theme.GRID * 3)
        columns.addLayout(left, 1)
        columns.addLayout(right, 1)


def _name(label: ElidedLabel, path: Path | None, without: str) -> None:
    label.setText(f"Chosen: {path.name}" if path else without)
    label.setToolTip(str(path) if path else "")


class DropTarget(QLabel):
    """A field on which a photo can be let go, or two."""

    def __init__(self, words: str, take: Callable[[Path, Path | None], None]) -> None:
        super().__init__(words)
        self._take = take
        self._words = words
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setWordWrap(True)
        self.setAcceptDrops(True)
        self._frame(welcome=False)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Welcome photos only."""
        photos = dropped_photos(event.mimeData())
        if photos:
            self._frame(welcome=True)
            self.setText(f"Let go to read {' and '.join(path.name for path in photos)}")
            event.acceptProposedAction()

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        """Not here after all."""
        del event
        self._rest()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take the photos."""
        photos = dropped_photos(event.mimeData())
        self._rest()
        if photos:
            event.acceptProposedAction()
            self._take(photos[0], photos[1] if len(photos) > 1 else None)

    def _rest(self) -> None:
        self.setText(self._words)
        self._frame(welcome=False)

    def _frame(self, *, welcome: bool) -> None:
        line = f"2px solid {theme.ACCENT}" if welcome else f"1px dashed {theme.EDGE}"
        self.setStyleSheet(f"border: {line}; border-radius: 3px; background: {theme.PANE};")


def dropped_photos(data: QMimeData) -> list[Path]:
    """The first two photos among dragged files."""
    return [path for path in local_paths(data) if path.suffix.lower() in PHOTO_SUFFIXES][:2]


def ask_photo(window: QWidget, settings: Settings, title: str) -> Path | None:
    """The photo that the user chooses."""
    dialog = QFileDialog(window, title, settings.folder("strip-photo"), PHOTO_FILTER)
    dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
    chosen = Path(dialog.selectedFiles()[0]) if dialog.exec() else None
    dialog.deleteLater()
    if chosen is not None:
        settings.set_folder("strip-photo", chosen.parent)
    return chosen
