"""Step 4: the strip straightened, with what was read drawn over it; corrected by hand."""

from PySide6.QtCore import QRectF, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.qimage import image_from_array
from app.strip.layout_picture import LayoutPicture, cell_look
from app.strip.parts import Sentence, caption, keep_focus, push, side_by_side
from app.strip.patch_table import PatchTable
from app.strip.progress_row import ProgressRow
from app.strip.strip_photo import StripPhoto
from app.strip.typed_units import UNITS
from app.strip.unit_row import UnitRow
from app.strip.words import patch_words
from app.strip.work import StripWork
from shared.strip import Box

NO_PHOTO = (
    "No photo yet. Choose one, or type values of at least six patches into the table, in any unit."
)
WHICH = (
    "Bare glass, the solid patches, and the powers and dots of setting 1 tell most; every one that "
    "is read, and each of two that are alike, makes the profile finer. Return goes to the next "
    "patch; a column that was copied can be pasted (Ctrl+V)."
)
_TABLE_WIDTH = 440


class ReadPage(QWidget):
    """Follows the work; `photo_wanted` asks for another photo, `darker_wanted` for a second one."""

    photo_wanted = Signal()
    darker_wanted = Signal()

    def __init__(self, work: StripWork) -> None:
        super().__init__()
        self._work = work
        self._shown: object = None
        self._refusal = ""
        self.picture = StripPhoto("The strip as it was read")
        self.layout_picture = LayoutPicture()
        self.pictures = QStackedWidget()
        self.pictures.addWidget(self.picture)
        self.pictures.addWidget(self.layout_picture)
        self.table = PatchTable()
        self.unit = UnitRow()
        self.state = Sentence()
        self.warnings = Sentence()
        self.notes = caption()
        self.patch = caption()
        self.patch.setAccessibleName("The chosen patch")
        self.progress = ProgressRow("Reading", work.stop_reading)
        self.once_more = push("Read it again", work.read_again, name="Read the photo again")
        self.again = push("Another photo...", self.photo_wanted.emit)
        self.add = push("Add a darker one...", self.darker_wanted.emit)
        self.forget = push("As it was read", work.forget_corrections, name="Forget all corrections")
        self._lay_out()
        self.picture.pressed.connect(self._pressed)
        self.layout_picture.pressed.connect(self.table.go_to)
        self.table.corrected.connect(work.correct)
        self.table.pasted.connect(work.correct_all)
        self.table.used.connect(work.use)
        self.table.gone_to.connect(self._mark)
        self.unit.chosen.connect(work.set_unit)
        self.table.refused.connect(self._refuse)
        self.unit.refused.connect(self._refuse)
        work.strip_changed.connect(self._take_strip)
        work.reading_changed.connect(self.follow)
        work.judgement_changed.connect(self._say)
        work.read_progressed.connect(self.progress.show_share)
        self._take_strip()
        self.follow()

    def follow(self) -> None:
        """Show the reading, or why there is none."""
        work = self._work
        self._refusal = ""
        held = self.progress.stop.hasFocus() or self.once_more.hasFocus()
        self.progress.show_busy(work.is_reading)
        reading = work.reading
        if reading is not None and self._shown is not reading:
            self.picture.show_image(image_from_array(reading.picture))
        elif reading is None:
            self.picture.show_image(None, "Reading the photo\u2026")
        self._shown = reading
        known = reading is not None or work.is_reading
        self.pictures.setCurrentWidget(self.picture if known else self.layout_picture)
        self.table.show_entries(work.entries, work.unit)
        if self.table.current >= 0:
            self._mark(self.table.current)
        self.unit.show_corrections(work.notes.corrections)
        self.unit.setVisible(reading is None and not work.is_reading)
        self.forget.setEnabled(bool(work.notes.corrections.values or work.notes.corrections.used))
        self.once_more.setVisible(bool(work.refusal))
        self.once_more.setEnabled(not work.is_reading)
        self.add.setVisible(reading is not None and reading.bend_l is None)
        self.forget.setText("As it was read" if reading is not None else "Clear the values")
        self.again.setText("Another photo..." if work.notes.photo else "Choose a photo...")
        if held:
            keep_focus(self.progress.stop, self.once_more, self.table.table)
        self._say()

    def _refuse(self, sentence: str) -> None:
        """Say why something typed was not taken, until something else is changed."""
        self._refusal = sentence
        self._say()

    def _say(self) -> None:
        work, reading = self._work, self._work.reading
        entries = work.entries
        used = sum(entry.used for entry in entries.values())
        total = len(work.strip.patches) if work.strip else 0
        self.notes.setText(self._notes())
        by_hand = () if work.judgement is None else work.judgement.of_readings
        self.warnings.warn_of(by_hand if reading is None else reading.warnings)
        if work.is_reading:
            stopping = bool(work.refusal)
            self.state.tell("Stopping\u2026" if stopping else "Reading the photo\u2026")
        elif self._refusal:
            self.state.warn(self._refusal)
        elif work.refusal:
            stays = "" if reading is None else " What was read before stays."
            self.state.warn(f"{work.refusal}{stays}")
        elif work.judge_problem and entries:
            self.state.warn(work.judge_problem)
        elif reading is not None:
            count = "counts" if used == 1 else "count"
            self.state.tell(
                f"{used} of {total} patches {count}. The strip has {reading.px_per_mm:.1f} photo "
                f"pixels per mm and is tilted by {reading.tilt_deg:.0f} degrees."
            )
        else:
            have = "has" if used == 1 else "have"
            self.state.tell(f"{used} of {total} patches {have} a value." if entries else NO_PHOTO)

    def _notes(self) -> str:
        """What was done to the photo, or how to do without one."""
        work = self._work
        if work.reading is not None:
            return " ".join(work.reading.notes)
        return "" if work.is_reading else f"{UNITS[work.unit].how} {WHICH}"

    def _take_strip(self) -> None:
        strip, folder = self._work.strip, self._work.folder
        if strip is not None and folder is not None:
            self.table.show_strip(strip)
            self.layout_picture.show_strip(strip, cell_look(folder, strip))

    def _mark(self, patch: int) -> None:
        strip, reading = self._work.strip, self._work.reading
        if strip is None:
            return
        entry = self._work.entries.get(patch)
        words = f"Patch {patch + 1}: {patch_words(strip, strip.patches[patch])}"
        if entry is not None and entry.remark:
            words = f"{words}, {entry.remark}"
        self.patch.setText(words)
        self.layout_picture.mark(patch)
        if reading is not None:
            place = _on_picture(strip.patches[patch].box, reading.picture_px_per_mm)
            self.picture.mark(place, words)

    def _pressed(self, x: float, y: float) -> None:
        """Go to the patch that was pressed in the picture."""
        strip, reading = self._work.strip, self._work.reading
        if strip is None or reading is None:
            return
        for number, patch in enumerate(strip.patches):
            if _on_picture(patch.box, reading.picture_px_per_mm).contains(x, y):
                self.table.go_to(number)
                return

    def _lay_out(self) -> None:
        right = QVBoxLayout()
        right.setSpacing(theme.GRID)
        right.addWidget(self.unit)
        right.addWidget(self.table, 1)
        right.addWidget(self.patch)
        right.addLayout(side_by_side(self.again, self.add, self.forget))
        holder = QWidget()
        holder.setLayout(right)
        right.setContentsMargins(0, 0, 0, 0)
        holder.setFixedWidth(_TABLE_WIDTH)
        row = QHBoxLayout()
        row.setSpacing(theme.GRID * 2)
        row.addWidget(self.pictures, 1)
        row.addWidget(holder)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.GRID)
        column.addLayout(row, 1)
        said = QHBoxLayout()
        said.setSpacing(theme.GRID)
        said.addWidget(self.state, 1)
        said.addWidget(self.once_more)
        column.addLayout(said)
        column.addWidget(self.progress)
        column.addWidget(self.warnings)
        column.addWidget(self.notes)


def _on_picture(box: Box, px_per_mm: float) -> QRectF:
    sides = (box.left_mm, box.top_mm, box.width_mm, box.height_mm)
    return QRectF(*(side * px_per_mm for side in sides))
