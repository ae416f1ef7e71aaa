"""The guided page of the test strip: five steps, one at a time."""

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtGui import QImage
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.compare.controls import ElidedLabel
from app.session import Session
from app.settings import Settings
from app.strip.burn_page import BurnPage
from app.strip.choose_page import ChoosePage
from app.strip.make_page import MakePage
from app.strip.parts import push
from app.strip.photograph_page import PhotographPage
from app.strip.planning import Planning
from app.strip.read_page import ReadPage
from app.strip.step_row import StepRow
from app.strip.undo_row import UndoRow
from app.strip.work import PURPOSE, StripWork
from engine.strip.make_files import STRIP

STEPS = {
    "make": ("Make", "Lay out a strip for a scrap of your glass; the machine will burn it."),
    "burn": ("Burn", "Burn all runs on the scrap, without moving it between them."),
    "photograph": ("Photograph", "Take a photo of the burnt strip with a phone."),
    "read": ("Read", "See and correct what was read of the photo, or type readings in."),
    "choose": ("Choose", "Take the setting that suits the portrait, and what the glass taught."),
}
SIZE = (1000, 700)


class StripDialog(QDialog):
    """Shows the strip's work; closing the page loses nothing."""

    profile_taken = Signal(object)
    save_wanted = Signal(object)

    def __init__(
        self,
        work: StripWork,
        planning: Planning,
        session: Session,
        settings: Settings,
        photo: QImage | None,
        parent: QWidget | None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Test strip")
        self._work = work
        self._planning = planning
        self._settings = settings
        self.steps = StepRow(STEPS)
        self.which = ElidedLabel()
        self.which.setAccessibleName("Which strip")
        theme.as_caption(self.which)
        self.open_strip = push("Open a strip...", self._ask_strip)
        planning.refresh()
        self.make = MakePage(planning, settings)
        self.burn = BurnPage()
        self.photograph = PhotographPage(settings)
        self.read = ReadPage(work)
        self.choose = ChoosePage(work, session.profile)
        self.pages = QStackedWidget()
        for page in (self.make, self.burn, self.photograph, self.read, self.choose):
            self.pages.addWidget(page)
        self.history = UndoRow(self._undo, self._redo)
        self.back = push("Back", lambda: self._go(-1))
        self.next = push("Next", lambda: self._go(1))
        self.close_button = push("Close", self.reject)
        self._lay_out()
        self._join(planning)
        self.make.show_photo(photo)
        self._take_strip()
        self.go_to(work.notes.step if work.strip is not None else "make")
        self.steps.take_focus()

    @property
    def step(self) -> str:
        """The step that is shown."""
        return list(STEPS)[self.pages.currentIndex()]

    def go_to(self, step: str) -> None:
        """Show a step, or the last one before it that can be shown."""
        names = list(STEPS)
        index = names.index(step) if step in names else 0
        while not self._may_show(names[index]):
            index -= 1
        focus: QWidget | None = self.focusWidget()
        held = focus is not None and self.pages.isAncestorOf(focus)
        held = held and index != self.pages.currentIndex()
        self.pages.setCurrentIndex(index)
        self.steps.show_step(names[index])
        if held:
            self.steps.take_focus()
        self._name_strip()
        self._work.set_step(names[index])
        self._follow()

    def open_file(self, path: Path) -> None:
        """Take up a strip by its file."""
        problem = self._work.open_strip(path)
        if problem:
            self.which.setText(f"\u26a0 {problem}")
            self.which.setToolTip(problem)
        else:
            self.go_to(self._work.notes.step if self._work.notes.step != "make" else "burn")

    def take_photo(self, path: Path, darker: Path | None = None) -> None:
        """Read a photo of the strip, perhaps with a second one."""
        self.go_to("read")
        self._work.read(path, darker)

    def take_darker(self, path: Path | None) -> None:
        """Read the photo with a second one, or without."""
        self.go_to("read")
        self._work.read_with(path)

    def _join(self, planning: Planning) -> None:
        self.steps.chosen.connect(self.go_to)
        planning.written.connect(self._written)
        self.photograph.chosen.connect(self.take_photo)
        self.photograph.darker_chosen.connect(self.take_darker)
        self.read.photo_wanted.connect(self.photograph.ask)
        self.read.darker_wanted.connect(self.photograph.ask_darker)
        self.choose.taken.connect(self.profile_taken)
        self.choose.save_wanted.connect(self.save_wanted)
        self._work.strip_changed.connect(self._take_strip)
        self._work.reading_changed.connect(self._follow)
        self._work.judgement_changed.connect(self._follow)
        self._work.history_changed.connect(self._follow)
        planning.history_changed.connect(self._follow)

    def _written(self) -> None:
        self.go_to("burn")

    def _take_strip(self) -> None:
        strip, folder = self._work.strip, self._work.folder
        self._name_strip()
        if strip is None or folder is None:
            return
        self.burn.show_strip(strip, folder)
        self.photograph.show_side(strip.etched)
        self._follow()

    def _name_strip(self) -> None:
        strip, folder = self._work.strip, self._work.folder
        self.which.setText(f"Strip {strip.number} in {folder}" if strip else "No strip yet")
        self.which.setToolTip(str(folder) if strip else "")

    @property
    def _changed(self) -> StripWork | Planning:
        """What the open step changes, and what undo is for there."""
        return self._planning if self.step == "make" else self._work

    def _undo(self) -> None:
        self._changed.undo()

    def _redo(self) -> None:
        self._changed.redo()

    def _may_show(self, step: str) -> bool:
        """Whether there is something to show in a step."""
        return step == "make" or self._work.strip is not None

    def _follow(self) -> None:
        for name in STEPS:
            self.steps.set_open(name, self._may_show(name))
        self.photograph.show_photos(*self._work.photos)
        steps = self._changed.history
        self.history.show_names(steps.undo_name, steps.redo_name)
        index = self.pages.currentIndex()
        names = list(STEPS)
        self.back.setEnabled(index > 0)
        self.next.setEnabled(index + 1 < len(names) and self._may_show(names[index + 1]))
        self.next.setToolTip("" if self._work.strip else "Write a strip, or open one, first")

    def _go(self, by: int) -> None:
        names = list(STEPS)
        self.go_to(names[min(max(self.pages.currentIndex() + by, 0), len(names) - 1)])

    def _ask_strip(self) -> None:
        folder = self._settings.folder(PURPOSE)
        dialog = QFileDialog(self, "Open a test strip", folder, f"Test strips ({STRIP})")
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        chosen = Path(dialog.selectedFiles()[0]) if dialog.exec() else None
        dialog.deleteLater()
        if chosen is not None:
            self.open_file(chosen)

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.setSpacing(theme.GRID)
        top.addWidget(self.steps)
        top.addWidget(self.which, 1)
        top.addWidget(self.open_strip)
        below = QHBoxLayout()
        below.setSpacing(theme.GRID)
        below.addWidget(self.close_button)
        below.addSpacing(theme.GRID * 2)
        below.addWidget(self.history)
        below.addStretch(1)
        below.addWidget(self.back)
        below.addWidget(self.next)
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.setSpacing(theme.GRID + theme.GRID // 2)
        column.addLayout(top)
        column.addWidget(self.steps.words)
        column.addWidget(self.pages, 1)
        column.addLayout(below)
        theme.resize(self, *SIZE)
