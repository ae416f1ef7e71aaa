"""The right column: the facts of the job, its warnings and the Output button."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import (
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app import theme
from shared import units
from shared.profile import Setting
from shared.units import percent

if TYPE_CHECKING:
    from engine.facts import Facts
    from engine.glass_cautions import Caution

ROWS = (
    "Plate",
    "Etch pixels",
    "Pitch",
    "Photo",
    "Detail",
    "Screen",
    "Bare glass",
    "Full frost",
    "Glass profile",
    "Setting",
    "Time",
)
WIDTH = 264
ICON_PX = 20
CAUTION = (
    f"#caution {{ background: {theme.PANEL}; border: 1px solid {theme.WARN}; border-radius: 3px; }}"
)


class Ticket(QWidget):
    """Shows facts; asks for a step, for the cautions and for output."""

    step_wanted = Signal(str)
    output_wanted = Signal()
    cautions_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFixedWidth(WIDTH)
        self.setAccessibleName("Ticket")
        self._inches = False
        self._facts: tuple[str, Facts] | None = None
        self._said: tuple[Caution, ...] = ()
        self._values = {row: _value_label(row) for row in ROWS}
        self._title = QLabel("Ticket")
        self._handling = QLabel()
        self._handling.setWordWrap(True)
        self._cautions = QVBoxLayout()
        self._cautions.setSpacing(theme.GRID)
        self._output = QPushButton("Output plate...")
        self._output.setProperty("role", "main")
        self._output.setIcon(QIcon(theme.icon_pixmap("output", theme.PANE, ICON_PX, 2.0)))
        self._output.setIconSize(QSize(ICON_PX, ICON_PX))
        self._output.setToolTip("Write the plate bitmap (Ctrl+E)")
        self._output.setMinimumHeight(56)
        self._output.clicked.connect(self.output_wanted)
        self._safety = QPushButton("Before you etch...")
        self._safety.setToolTip("Cautions for laser, fire, fumes and glass")
        self._safety.clicked.connect(self.cautions_wanted)
        self._lay_out()
        self.show_nothing()

    def show_nothing(self) -> None:
        """No photo is open."""
        self._facts = None
        self._title.setText("Ticket")
        for label in self._values.values():
            label.setText("\u2013")
        self._handling.setText("Open a photo to fill the ticket.")
        self._show_cautions(())
        self._output.setEnabled(False)

    def show_units(self, inches: bool) -> None:
        """Give sizes in mm or in inches; `show_facts` has to follow."""
        self._inches = inches
        self._facts = None

    def show_facts(self, take: str, facts: "Facts") -> None:
        """The facts of the active take."""
        if (take, facts) == self._facts:
            return
        from engine.facts import screen_label

        self._facts = take, facts
        self._title.setText(f"Ticket of take {take}")
        shown = {
            "Plate": self.size_text(facts),
            "Etch pixels": f"{facts.columns} \u00d7 {facts.rows} lines",
            "Pitch": f"{facts.pitch_mm:.4f} mm, {units.ppi_from_pitch(facts.pitch_mm):.5g} ppi",
            "Photo": f"{facts.photo_columns} \u00d7 {facts.photo_rows}",
            "Detail": self._detail(facts),
            "Screen": f"{screen_label(facts.screen)}, {facts.bits} bit",
            "Bare glass": _share(facts.bare_share),
            "Full frost": _share(facts.full_share),
            "Glass profile": f"{facts.profile_name}: {facts.profile_origin}",
            "Setting": _setting(facts.machine),
            "Time": f"{_duration(facts.seconds)}, reckoned",
        }
        for row, text in shown.items():
            self._values[row].setText(text)
        self._handling.setText(facts.handling)
        self._show_cautions(facts.cautions)
        self._output.setEnabled(True)

    def size_text(self, facts: "Facts") -> str:
        """The plate's size in the units that are shown."""
        if not self._inches:
            return f"{facts.width_mm:g} \u00d7 {facts.height_mm:g} mm"
        width, height = (units.inches_from_mm(v) for v in (facts.width_mm, facts.height_mm))
        return f"{width:.2f} \u00d7 {height:.2f} in"

    def _detail(self, facts: "Facts") -> str:
        if self._inches:
            per_inch = facts.photo_pixels_per_mm * units.MM_PER_INCH
            return f"{per_inch:.0f} photo px per inch: {facts.enough}"
        return f"{facts.photo_pixels_per_mm:.1f} photo px per mm: {facts.enough}"

    def _show_cautions(self, cautions: "tuple[Caution, ...]") -> None:
        if cautions == self._said:
            return
        self._said = cautions
        while (item := self._cautions.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        for caution in cautions:
            self._cautions.addWidget(self._caution(caution))

    def _caution(self, caution: "Caution") -> QWidget:
        box = QFrame()
        box.setObjectName("caution")
        box.setStyleSheet(CAUTION)
        sentence = QLabel(f"\u26a0 {caution.sentence}")
        sentence.setWordWrap(True)
        sentence.setProperty("role", "warning")
        go = QPushButton(f"Go to {caution.step.capitalize()}")
        go.setAccessibleDescription(caution.sentence)
        go.clicked.connect(lambda: self.step_wanted.emit(caution.step))
        layout = QVBoxLayout(box)
        layout.setContentsMargins(theme.GRID, theme.GRID, theme.GRID, theme.GRID)
        layout.addWidget(sentence)
        layout.addWidget(go, alignment=Qt.AlignmentFlag.AlignRight)
        return box

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.setHorizontalSpacing(theme.GRID)
        form.setVerticalSpacing(theme.GRID // 2)
        form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)
        for row in ROWS:
            caption = QLabel(row)
            theme.as_caption(caption)
            form.addRow(caption, self._values[row])
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(theme.GRID, theme.GRID, theme.GRID, theme.GRID)
        column.setSpacing(theme.GRID)
        column.addLayout(form)
        column.addWidget(self._handling)
        column.addLayout(self._cautions)
        column.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidget(inner)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        header = QHBoxLayout()
        header.setContentsMargins(theme.GRID, theme.GRID, theme.GRID, 0)
        header.addWidget(self._title)
        footer = QVBoxLayout()
        footer.setContentsMargins(theme.GRID, 0, theme.GRID, theme.GRID)
        footer.setSpacing(theme.GRID)
        footer.addWidget(self._safety)
        footer.addWidget(self._output)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(theme.GRID)
        layout.addLayout(header)
        layout.addWidget(scroll, 1)
        layout.addLayout(footer)


def _value_label(row: str) -> QLabel:
    label = QLabel()
    label.setAccessibleName(row)
    label.setWordWrap(True)
    label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return label


def _setting(setting: Setting) -> str:
    powers = f"{setting.power_max_pct:g} to {setting.power_min_pct:g} %"
    return f"{powers}, {setting.speed_mm_s:g} mm/s"


def _duration(seconds: float) -> str:
    minutes = round(seconds / 60.0)
    if minutes < 1:
        return "under a minute"
    return units.duration(minutes)


def _share(share: float | None) -> str:
    return "measuring" if share is None else f"{percent(share, 1)} of the picture"
