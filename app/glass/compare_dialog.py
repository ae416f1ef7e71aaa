"""Two glass profiles in one plot, and the figures in which they differ."""

from pathlib import Path

from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QHeaderView,
    QLabel,
    QSizePolicy,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.compare.controls import QuietCombo
from app.glass import profile_files
from app.glass.curve_plot import CurvePlot
from app.glass.differences import differences
from app.glass.plain_table import plain
from app.settings import Settings
from shared.errors import RimetypeError
from shared.profile import GlassProfile
from shared.profile_file import starting_guesses

OPEN = "Open a profile file..."
_SIDES = ("First", "Second")


class CompareDialog(QDialog):
    """Each side takes the current profile, a starting guess, or one from a file."""

    def __init__(self, current: GlassProfile, settings: Settings, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Compare glass profiles")
        self._settings = settings
        known = [p for p in profile_files.known_profiles(settings) if p != current]
        self.profiles = [current, *known, *starting_guesses().values()]
        self.boxes = [self._box(side) for side in _SIDES]
        other = next((i for i, p in enumerate(self.profiles) if p != current), 0)
        self._shown = [0, other]
        self.plot = CurvePlot()
        self.plot.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.table = QTableWidget(0, 3)
        self.table.setAccessibleName("Figures that differ")
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setHorizontalHeaderLabels(["Figure", *_SIDES])
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        plain(self.table)
        self.state = QLabel()
        self.state.setWordWrap(True)
        self._fill_boxes()
        self._lay_out()
        self._follow()

    def open_file(self, side: int, path: Path) -> None:
        """Show a file's profile on a side; what cannot be read is told of."""
        try:
            profile = profile_files.open_profile(path, self._settings)
        except RimetypeError as error:
            self._fill_boxes()
            self._tell(f"\u26a0 {error}", "warning")
            return
        self.profiles.append(profile)
        self._shown[side] = len(self.profiles) - 1
        self._fill_boxes()
        self._follow()

    def _chosen(self, side: int, row: int) -> None:
        if row < len(self.profiles):
            self._shown[side] = row
            self._follow()
            return
        path = profile_files.ask_open(self, self._settings)
        if path is not None:
            self.open_file(side, path)
        else:
            self._fill_boxes()

    def _fill_boxes(self) -> None:
        for box, shown in zip(self.boxes, self._shown, strict=True):
            box.clear()
            for row, profile in enumerate(self.profiles):
                words = f"{profile.name} ({profile.origin})"
                box.addItem(f"Current: {words}" if row == 0 else words)
            box.insertSeparator(box.count())
            box.addItem(OPEN)
            box.setCurrentIndex(shown)

    def _follow(self) -> None:
        first, second = (self.profiles[row] for row in self._shown)
        self.plot.show_profile(first, second)
        rows = differences(first, second)
        self.table.setRowCount(len(rows))
        for number, row in enumerate(rows):
            for column, words in enumerate((row.label, row.first, row.second)):
                item = QTableWidgetItem(words)
                item.setToolTip(words)
                self.table.setItem(number, column, item)
        count = f"{len(rows)} figures differ." if len(rows) != 1 else "One figure differs."
        one, other = self.plot.lines
        if rows and one.points == other.points:
            count += " The curves are the same: one covers the other."
        self._tell(count if rows else "Both profiles are the same.", "caption")

    def _tell(self, sentence: str, role: str) -> None:
        self.state.setText(sentence)
        self.state.setProperty("role", role)
        self.state.style().polish(self.state)

    def _box(self, side: str) -> QuietCombo:
        box = QuietCombo()
        box.setAccessibleName(f"{side} profile")
        box.setSizeAdjustPolicy(QuietCombo.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        number = _SIDES.index(side)
        box.activated.connect(lambda row: self._chosen(number, row))
        return box

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(theme.GRID)
        grid.setVerticalSpacing(theme.GRID // 2)
        grid.setColumnStretch(1, 1)
        for row, (side, box) in enumerate(zip(_SIDES, self.boxes, strict=True)):
            label = QLabel(side)
            label.setBuddy(box)
            grid.addWidget(label, row, 0)
            grid.addWidget(box, row, 1)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.setSpacing(theme.GRID)
        column.addLayout(grid)
        column.addWidget(self.plot, 3)
        column.addWidget(self.state)
        column.addWidget(self.table, 2)
        column.addWidget(buttons)
        theme.resize(self, 760, 720)
