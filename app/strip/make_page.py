"""Step 1: what to try on which scrap of glass, with a live picture of the layout."""

import itertools
from pathlib import Path

import attrs
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import (
    QCheckBox,
    QFileDialog,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QProgressBar,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.settings import Settings
from app.strip.crop_picture import CropPicture
from app.strip.layout_picture import LayoutPicture
from app.strip.parts import LengthField, Sentence, caption, heading, keep_focus, push
from app.strip.planning import Planning
from app.strip.setting_tables import SettingTables
from app.strip.words import SCREENS, counted, in_inches
from engine.strip.layout_steps import WEDGE_SCREENS
from shared.fields import Region

_LEFT_WIDTH = 400
_PURPOSE = "strip"
_FOLDER = "test-strip"
_MOST_MM = 1000.0
STOPPED = "Stopped; nothing was written."
NO_FOLDER = "Say in which folder the strip shall be written: give its whole path, or press Choose."


class MakePage(QWidget):
    """`written` is for the owner, who listens to the planning."""

    def __init__(self, planning: Planning, settings: Settings) -> None:
        super().__init__()
        self._planning = planning
        self._kept = settings
        self._refusal = ""
        inches = settings.inches
        self.width_field = LengthField("Width of the scrap", 30.0, _MOST_MM, inches=inches)
        self.height_field = LengthField("Height of the scrap", 30.0, _MOST_MM, inches=inches)
        self.margin_field = LengthField("Margin", planning.least_margin_mm, 100.0, inches=inches)
        self.settings = SettingTables(planning.machine)
        self.screens = {name: QCheckBox(SCREENS[name]) for name in WEDGE_SCREENS}
        self.crop = CropPicture()
        self.afresh = push("Start afresh", planning.start_afresh)
        self.afresh.setToolTip("Settings around those of the glass profile, the face of the photo")
        self.usual_crop = push("Find it", lambda: self._take_crop(None), name="Find the crop")
        self.usual_crop.setToolTip("The face, or where most middle tones are")
        self.folder = QLineEdit(str(_free_folder(Path(settings.folder(_PURPOSE)))))
        self.folder.setAccessibleName("Folder for the strip")
        self.folder.setAcceptDrops(False)
        self.choose = push("Choose...", self._choose, name="Choose the folder for the strip")
        self.replace = QCheckBox("Replace a strip that is there")
        self.write = push("Write strip", self._write, main=True)
        self.stop = push("Stop", self._stop, name="Stop writing the strip")
        self.progress = QProgressBar()
        self.progress.setRange(0, 1000)
        self.progress.setTextVisible(False)
        self.progress.setAccessibleName("Progress")
        self.problem = Sentence()
        self.picture = LayoutPicture()
        self._lay_out()
        self._join()
        self._show_plan()
        self._set_busy(planning.busy)

    def show_photo(self, image: QImage | None) -> None:
        """The session's photo, small."""
        self.crop.show_photo(image)
        self._follow()

    def _join(self) -> None:
        self.width_field.valueChanged.connect(lambda _: self._edited("Width of the scrap"))
        self.height_field.valueChanged.connect(lambda _: self._edited("Height of the scrap"))
        self.margin_field.valueChanged.connect(lambda _: self._edited("Margin"))
        self.settings.edited.connect(self._edited)
        self.settings.floor_said.connect(self._planning.say_floor)
        self.settings.refused.connect(self._refuse)
        for box in self.screens.values():
            box.toggled.connect(lambda _: self._edited("Screens to measure"))
        self.crop.chosen.connect(self._take_crop)
        self.folder.textChanged.connect(lambda _: self._folder_typed())
        self._planning.changed.connect(self._follow)
        self._planning.history_changed.connect(self._wished)
        self._planning.progressed.connect(self._progressed)
        self._planning.failed.connect(self.problem.warn)
        self._planning.stopped.connect(self._stopped)
        self._planning.rested.connect(self._rested)
        self._planning.written.connect(self._remember)

    def _edited(self, name: str) -> None:
        self._planning.wish(
            attrs.evolve(
                self._planning.plan,
                pairs=tuple((row[0], row[1]) for row in self.settings.pairs.rows()),
                speeds=tuple(row[0] for row in self.settings.speeds.rows()),
                screens=tuple(n for n, box in self.screens.items() if box.isChecked()),
                size_mm=(self.width_field.mm, self.height_field.mm),
                margin_mm=self.margin_field.mm,
            ),
            name,
        )

    def _take_crop(self, crop: Region | None) -> None:
        name = "Find the crop" if crop is None else "Part of the photo in the cells"
        self._planning.wish(attrs.evolve(self._planning.plan, crop=crop), name)

    def _folder_typed(self) -> None:
        self.replace.setChecked(False)
        self._refusal = ""
        self._follow()

    def _refuse(self, sentence: str) -> None:
        """Say why something typed was not taken, until something else is changed."""
        self._refusal = sentence
        self.problem.warn(sentence)

    def _wished(self) -> None:
        self._refusal = ""
        self._show_plan()

    def _show_plan(self) -> None:
        plan = self._planning.plan
        self.width_field.set_mm(plan.size_mm[0])
        self.height_field.set_mm(plan.size_mm[1])
        least = self._planning.least_margin_mm
        self.margin_field.set_mm(least if plan.margin_mm is None else plan.margin_mm)
        self.settings.show_settings(plan, self._planning.machine, self._planning.guesses)
        for name, box in self.screens.items():
            box.blockSignals(True)
            box.setChecked(name in plan.screens)
            box.blockSignals(False)
        self.usual_crop.setEnabled(plan.crop is not None)

    def _follow(self) -> None:
        """Show the plan and what it gives."""
        self._show_plan()
        planned = self._planning.planned
        if planned is not None:
            self.crop.show_crop(planned.crop)
            settings = counted(len(planned.strip.runs), "setting", "settings")
            patches = counted(len(planned.strip.patches), "patch", "patches")
            asked = len(self._planning.plan.pairs) * len(self._planning.plan.speeds)
            twice = "; what is asked for twice is burnt once" * (asked > len(planned.strip.runs))
            self.problem.tell(f"{settings} and {patches} fit{twice}.")
            self.picture.show_strip(planned.strip, self.crop.cut_grey())
        else:
            problem = self._planning.problem
            problem = in_inches(problem) if self._kept.inches else problem
            self.problem.warn(problem)
            self.picture.show_strip(None, empty=problem)
        if self._refusal:
            self.problem.warn(self._refusal)
        self.write.setEnabled(planned is not None and not self._planning.busy)

    def _choose(self) -> None:
        dialog = QFileDialog(self, "Folder for the strip", self._kept.folder(_PURPOSE))
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        if dialog.exec():
            self.folder.setText(dialog.selectedFiles()[0])
        dialog.deleteLater()

    def _write(self) -> None:
        folder = _whole_path(self.folder.text())
        if folder is None:
            self._refuse(NO_FOLDER)
            return
        self._refusal = ""
        self.problem.tell("Computing and writing\u2026")
        self._planning.write(folder, overwrite=self.replace.isChecked())
        self._set_busy(self._planning.busy)

    def _stop(self) -> None:
        self.problem.tell("Stopping\u2026")
        self._planning.stop_writing()

    def _stopped(self) -> None:
        self.problem.tell(STOPPED)

    def _remember(self, folder: Path) -> None:
        self._kept.set_folder(_PURPOSE, folder.parent)
        self.problem.tell(f"The strip was written into {folder}.")

    def _progressed(self, share: float) -> None:
        self.progress.setValue(round(1000 * share))

    def _rested(self) -> None:
        self._set_busy(False)

    def _set_busy(self, busy: bool) -> None:
        held = self.write.hasFocus() or self.stop.hasFocus()
        self.left.setEnabled(not busy)
        for widget in (self.folder, self.choose, self.replace, self.afresh):
            widget.setEnabled(not busy)
        self.stop.setVisible(busy)
        self.write.setEnabled(not busy and self._planning.planned is not None)
        if held:
            keep_focus(self.stop, self.write)
        self.progress.setVisible(busy)
        if not busy:
            self.progress.setValue(0)

    def _lay_out(self) -> None:
        self.left = QWidget()
        column = QVBoxLayout(self.left)
        column.setContentsMargins(0, 0, theme.GRID * 2, 0)
        column.setSpacing(6)
        column.addLayout(self._scrap())
        column.addWidget(self.settings)
        column.addWidget(heading("Screens to measure"))
        boxes = QGridLayout()
        boxes.setVerticalSpacing(0)
        for number, box in enumerate(self.screens.values()):
            boxes.addWidget(box, number // 2, number % 2)
        column.addLayout(boxes)
        top = QHBoxLayout()
        top.addWidget(heading("Part of the photo in the cells"), 1)
        top.addWidget(self.usual_crop)
        column.addLayout(top)
        column.addWidget(self.crop)
        column.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidget(self.left)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFixedWidth(_LEFT_WIDTH)
        row = QHBoxLayout()
        row.setSpacing(theme.GRID * 2)
        row.addWidget(scroll)
        row.addWidget(self.picture, 1)
        everything = QVBoxLayout(self)
        everything.setContentsMargins(0, 0, 0, 0)
        everything.setSpacing(theme.GRID)
        everything.addLayout(row, 1)
        said = QHBoxLayout()
        said.setSpacing(theme.GRID)
        said.addWidget(self.problem, 1)
        said.addWidget(self.afresh)
        everything.addLayout(said)
        everything.addLayout(self._writing())

    def _scrap(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(theme.GRID)
        grid.setVerticalSpacing(2)
        fields = (
            ("Scrap, width", self.width_field),
            ("Height", self.height_field),
            ("Margin kept bare", self.margin_field),
        )
        for place, (text, field) in enumerate(fields):
            label = caption(text)
            label.setBuddy(field)
            grid.addWidget(label, 0, place)
            grid.addWidget(field, 1, place)
        return grid

    def _writing(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(theme.GRID)
        label = caption("Into")
        label.setBuddy(self.folder)
        row.addWidget(label)
        row.addWidget(self.folder, 2)
        row.addWidget(self.choose)
        row.addWidget(self.replace)
        row.addWidget(self.progress, 1)
        row.addWidget(self.stop)
        row.addWidget(self.write)
        return row


def _whole_path(text: str) -> Path | None:
    """The folder that was typed; None where it would depend on where the program was started."""
    try:
        folder = Path(text.strip()).expanduser()
    except RuntimeError:
        return None
    return folder if folder.is_absolute() else None


def _free_folder(within: Path) -> Path:
    """A folder for a new strip that is not there yet."""
    names = itertools.chain([_FOLDER], (f"{_FOLDER}-{number}" for number in itertools.count(2)))
    return next(within / name for name in names if not (within / name).exists())
