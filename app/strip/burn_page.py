"""Step 2: for the person at the machine: the settings in burning order, the placement, cautions."""

from pathlib import Path

from PySide6.QtCore import QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.glass.plain_table import plain
from app.strip.layout_picture import LayoutPicture, cell_look
from app.strip.parts import caption, heading, prose, push, side_by_side
from engine.strip.make_files import SHEET
from shared.paths import RESOURCES
from shared.profile_file import profile_from_data
from shared.strip import Strip

_MOST_ROWS = 8
_HEADINGS = ("Run", "Greatest, %", "Least, %", "Speed, mm/s", "File")


class BurnPage(QWidget):
    """Shows a written strip."""

    def __init__(self) -> None:
        super().__init__()
        self._folder: Path | None = None
        self.steps = prose()
        self.table = QTableWidget(0, len(_HEADINGS))
        self.table.setAccessibleName("Settings in burning order")
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setHorizontalHeaderLabels(_HEADINGS)
        self.table.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)
        plain(self.table)
        self.picture = LayoutPicture(as_machine=True)
        self.open_folder = push("Open folder", self._open_folder)
        self.open_sheet = push("Open placement sheet", self._open_sheet)
        self.cautions = QTextBrowser()
        self.cautions.setAccessibleName("Before you etch")
        text = (RESOURCES / "cautions.md").read_text(encoding="utf-8")
        self.cautions.setMarkdown(f"###{text}")  # its heading as large as the text
        self._lay_out()

    def show_strip(self, strip: Strip, folder: Path) -> None:
        """The strip, and where its files are."""
        self._folder = folder
        self.steps.setText(_steps(strip))
        self.picture.show_strip(strip, cell_look(folder, strip))
        self.table.setRowCount(len(strip.runs))
        for row, run in enumerate(strip.runs):
            cells = (
                str(row + 1),
                f"{run.power_max_pct:g}",
                f"{run.power_min_pct:g}",
                f"{run.speed_mm_s:g}",
                run.file,
            )
            for column, text in enumerate(cells):
                self.table.setItem(row, column, QTableWidgetItem(text))
        rows = min(max(len(strip.runs), 2), _MOST_ROWS)
        high = self.table.verticalHeader().defaultSectionSize() * rows
        self.table.setFixedHeight(high + self.table.horizontalHeader().sizeHint().height() + 2)
        self.open_sheet.setEnabled((folder / SHEET).is_file())

    def _open_folder(self) -> None:
        if self._folder is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._folder)))

    def _open_sheet(self) -> None:
        if self._folder is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._folder / SHEET)))

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.setSpacing(theme.GRID)
        left.addWidget(self.steps)
        left.addWidget(self.table)
        left.addLayout(side_by_side(self.open_folder, self.open_sheet))
        left.addWidget(self.cautions, 1)
        right = QVBoxLayout()
        right.setSpacing(theme.GRID)
        right.addWidget(heading("As the machine sees the scrap"))
        right.addWidget(self.picture, 1)
        right.addWidget(caption("The marked corner is the zero point of every run."))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.GRID * 2)
        row.addLayout(left, 3)
        row.addLayout(right, 2)


def _steps(strip: Strip) -> str:
    handed = "mirrored" if strip.etched == "back" else "the right way round"
    setting = profile_from_data(strip.profile).setting
    ways = "both directions" if setting.both_directions else "one direction"
    return (
        f"Lay the scrap with its {strip.etched} towards the laser and fix it. Burn the runs from "
        "top to bottom, each with its own setting and all from the same zero point. Every file "
        f"covers the whole scrap and is {handed} already: do not mirror, invert, scale or crop it. "
        f"Burn in {ways}; black is the greatest power and white is none. Do not move the glass "
        "until the last run is done."
    )
