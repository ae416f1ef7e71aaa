"""The right column: the facts of the job, its warnings and the Output button."""

from PySide6.QtCore import Qt, Signal
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
from engine.facts import Caution, Facts, screen_label
from shared import units

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
)
WIDTH = 264


class Ticket(QWidget):
    """Shows facts; asks for a step, for the cautions and for output."""

    step_wanted = Signal(str)
    output_wanted = Signal()
    cautions_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFixedWidth(WIDTH)
        self.setAccessibleName("Ticket")
        self._values = {row: _value_label(row) for row in ROWS}
        self._title = QLabel("Ticket")
        self._title.setObjectName("columnTitle")
        self._handling = QLabel()
        self._handling.setWordWrap(True)
        self._handling.setObjectName("handling")
        self._cautions = QVBoxLayout()
        self._cautions.setSpacing(theme.GRID)
        self._output = QPushButton("Output plate...")
        self._output.setObjectName("primary")
        self._output.setToolTip("Write the plate bitmap (Ctrl+E)")
        self._output.setMinimumHeight(44)
        self._output.clicked.connect(self.output_wanted)
        self._safety = QPushButton("Before you etch...")
        self._safety.setToolTip("Cautions for laser, fire, fumes and glass")
        self._safety.clicked.connect(self.cautions_wanted)
        self._lay_out()
        self.show_nothing()

    def show_nothing(self) -> None:
        """No photo is open."""
        for label in self._values.values():
            label.setText("\u2013")
        self._handling.setText("Open a photo to fill the ticket.")
        self._show_cautions(())
        self._output.setEnabled(False)

    def show_facts(self, take: str, facts: Facts, inches: bool) -> None:
        """The facts of the active take, in mm or inches."""
        self._title.setText(f"Ticket of take {take}")
        shown = {
            "Plate": _size(facts, inches),
            "Etch pixels": f"{facts.columns} \u00d7 {facts.rows} lines",
            "Pitch": f"{facts.pitch_mm:.4f} mm, {units.ppi_from_pitch(facts.pitch_mm):.0f} ppi",
            "Photo": f"{facts.photo_columns} \u00d7 {facts.photo_rows}",
            "Detail": f"{facts.photo_pixels_per_mm:.1f} photo px per mm: {facts.enough}",
            "Screen": f"{screen_label(facts.screen)}, {facts.bits} bit",
            "Bare glass": _share(facts.bare_share),
            "Full frost": _share(facts.full_share),
            "Glass profile": facts.profile_origin,
        }
        for row, text in shown.items():
            self._values[row].setText(text)
        self._values["Glass profile"].setToolTip(facts.profile_name)
        self._handling.setText(facts.handling)
        self._show_cautions(facts.cautions)
        self._output.setEnabled(True)

    def _show_cautions(self, cautions: tuple[Caution, ...]) -> None:
        while (item := self._cautions.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        for caution in cautions:
            self._cautions.addWidget(self._caution(caution))

    def _caution(self, caution: Caution) -> QWidget:
        box = QFrame()
        box.setObjectName("caution")
        sentence = QLabel(f"\u26a0 {caution.sentence}")
        sentence.setWordWrap(True)
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
            caption.setObjectName("quiet")
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


def _size(facts: Facts, inches: bool) -> str:
    if not inches:
        return f"{facts.width_mm:g} \u00d7 {facts.height_mm:g} mm"
    width, height = (units.inches_from_mm(v) for v in (facts.width_mm, facts.height_mm))
    return f"{width:.2f} \u00d7 {height:.2f} in"


def _share(share: float | None) -> str:
    return "measuring" if share is None else f"{share:.1%} of the picture"
