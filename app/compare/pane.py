"""One of the two sides of the compare: what it shows, the picture, its tones, and a readout."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from app import theme
from app.compare.canvas import Canvas
from app.compare.controls import ElidedLabel, QuietCombo, Segments
from app.compare.histogram import HistogramView
from app.compare.viewport import Viewport

STAGES = {
    "photo": "Photo",
    "look": "Look",
    "plate": "Plate bitmap",
    "proof": "Proof",
    "risk": "Detail at risk",
}
_STAGE_HELP = {
    "photo": "The photo as opened, where it lies on the plate",
    "look": "The intended appearance, seen from the front",
    "plate": "What the file holds, already mirrored and inverted",
    "proof": "The simulated glass, seen from the front",
    "risk": "The look, coloured where the glass will not show it",
}
ACTIVE_LINE_PX = 2


class Header(QWidget):
    """The slim row above a picture; a line under it says that its pane is the active one."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.active = False

    def paintEvent(self, event: QPaintEvent) -> None:
        """Ground and line."""
        del event
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(theme.PANEL))
        line = self.rect().adjusted(0, self.height() - ACTIVE_LINE_PX, 0, 0)
        painter.fillRect(line, QColor(theme.ACCENT if self.active else theme.PANEL))
        painter.end()


class Pane(QObject):
    """The widgets of one side, from top to bottom: `header`, `canvas`, `histogram`, `readout`.

    Whoever joins the panes puts them in place. Signals report what the user chose.
    """

    take_chosen = Signal(str)
    stage_chosen = Signal(str)
    touched = Signal()

    def __init__(self, side: str, viewport: Viewport, parent: QWidget) -> None:
        super().__init__(parent)
        self._side = side
        self._takes = Segments()
        for take in ("A", "B"):
            self._takes.add(
                take, take, name=f"{side} pane: take {take}", tip=f"Show take {take} in this pane"
            )
        self._stages = QuietCombo()
        self._stages.setAccessibleName(f"{side} pane: stage")
        for stage, label in STAGES.items():
            self._stages.addItem(label, stage)
        self._caption = ElidedLabel()
        theme.as_caption(self._caption)
        self.header = self._make_header(parent)
        self.canvas = Canvas(viewport, parent)
        self.canvas.setAccessibleName(f"{side} picture")
        self.histogram = HistogramView(parent)
        self.histogram.setAccessibleName(f"{side} histogram")
        self.readout = ElidedLabel(parent)
        self.readout.setContentsMargins(4, 0, 4, 4)
        self.readout.setAccessibleName(f"{side} readout")
        theme.as_caption(self.readout)
        self._takes.chosen.connect(self._take_picked)
        self._stages.activated.connect(self._stage_picked)
        self._tell()

    def _make_header(self, parent: QWidget) -> Header:
        header = Header(parent)
        row = QHBoxLayout(header)
        row.setContentsMargins(4, 2, 8, 2 + ACTIVE_LINE_PX)
        row.setSpacing(8)
        row.addWidget(self._takes)
        row.addWidget(self._stages)
        row.addWidget(self._caption, 1)
        for control in self.controls:
            control.installEventFilter(self)
        header.installEventFilter(self)
        return header

    @property
    def controls(self) -> list[QWidget]:
        """What takes the keyboard in the header, in reading order."""
        return [*self._takes.buttons.values(), self._stages]

    @property
    def take(self) -> str:
        """The take that is shown: A or B."""
        return self._takes.value

    @property
    def stage(self) -> str:
        """The stage that is shown: photo, look, plate or proof."""
        return str(self._stages.currentData())

    @property
    def label(self) -> str:
        """What is shown, in words."""
        if self.stage == "photo":
            return STAGES["photo"]
        return f"Take {self.take}, {STAGES[self.stage].lower()}"

    def set_take(self, take: str) -> None:
        """Show that another take is shown; nobody is told."""
        self._takes.set_value(take)
        self._tell()

    def set_stage(self, stage: str) -> None:
        """Show that another stage is shown; nobody is told."""
        self._stages.setCurrentIndex(list(STAGES).index(stage))
        self._tell()

    def set_caption(self, text: str) -> None:
        """A fact about what is shown, such as `dots exact`."""
        self._caption.setText(text)
        self._caption.setToolTip(text)

    def set_readout(self, text: str) -> None:
        """The place and the tone under the pointer."""
        self.readout.setText(text)

    def set_histogram(
        self,
        counts: Sequence[int],
        bare_share: float,
        full_share: float,
        bare_point: float | None = None,
        full_point: float | None = None,
    ) -> None:
        """See HistogramView.set_data."""
        self.histogram.set_data(counts, bare_share, full_share, bare_point, full_point)

    def set_active(self, active: bool) -> None:
        """Mark this pane as the one that commands mean."""
        self.header.active = active
        self.header.update()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """A press or the focus in the header makes the pane the active one."""
        if event.type() in (QEvent.Type.MouseButtonPress, QEvent.Type.FocusIn):
            self.touched.emit()
        return super().eventFilter(watched, event)

    def _take_picked(self, take: str) -> None:
        self._tell()
        self.take_chosen.emit(take)

    def _stage_picked(self) -> None:
        self._tell()
        self.stage_chosen.emit(self.stage)

    def _tell(self) -> None:
        self._stages.setToolTip(_STAGE_HELP[self.stage])
        self.canvas.set_facts(self.label)
