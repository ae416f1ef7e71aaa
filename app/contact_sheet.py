"""The contact sheet of greys: small pictures with their facts; one click sends one to a take."""

from collections.abc import Callable, Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import (
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.jobs import Job
from app.qimage import image_from_array
from engine.contact import Small, contact_sheet
from engine.flow import Flow, Prepared
from shared.operators import Grey
from shared.recipe import Recipe, field_info
from shared.units import percent

ACROSS = 5
TILE = 190
CLIPPED = 0.01
METHODS = len(field_info("grey.method").options)


class ContactSheet(QDialog):
    """Shows every grey of one recipe's picture; `chosen` gives a take and a grey."""

    chosen = Signal(str, object)

    def __init__(self, prepared: Prepared, recipe: Recipe, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("Contact sheet of greys")
        self._names: dict[str, tuple[QLabel, str]] = {}
        self._takes: Mapping[str, Recipe] = {}
        self._tiles = QGridLayout()
        self._tiles.setSpacing(theme.GRID * 2)
        self._state = QLabel("Making the greys\u2026")
        self._inner = QWidget()
        self._inner.setLayout(self._tiles)
        scroll = QScrollArea()
        scroll.setWidget(self._inner)
        scroll.setWidgetResizable(True)
        hint = QLabel(
            "Before tone and detail. Contrast: how far the greys lie apart. "
            "Detail: how much of that is fine enough to draw a face."
        )
        hint.setWordWrap(True)
        theme.as_caption(hint)
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.setSpacing(theme.GRID)
        column.addWidget(hint)
        column.addWidget(self._state)
        column.addWidget(scroll, 1)
        ratio = self.devicePixelRatioF()
        side = round(TILE * ratio)

        def work(progress: Callable[[float], None]) -> list[Small]:
            smalls = []
            for small in contact_sheet(Flow(prepared), recipe, side):
                smalls.append(small)
                progress(len(smalls) / METHODS)
            return smalls

        self._job = Job(work, self)
        self._job.succeeded.connect(self._show)
        self._job.failed.connect(self._state.setText)
        self._job.start()
        self.resize(ACROSS * (TILE + 3 * theme.GRID), 640)

    def show_takes(self, takes: Mapping[str, Recipe]) -> None:
        """Mark the greys that the takes have now."""
        self._takes = takes
        for method, (name, label) in self._names.items():
            having = [take for take, recipe in takes.items() if recipe.grey.method == method]
            marks = f"  (in {' and '.join(having)})" if having else ""
            name.setText(label + marks)

    def done(self, result: int) -> None:
        """Let the work end before the dialog goes."""
        self._job.stop()
        self._job.wait()
        super().done(result)

    def _show(self, smalls: object) -> None:
        assert isinstance(smalls, list)
        self._state.hide()
        for index, small in enumerate(smalls):
            self._tiles.addWidget(self._tile(small), index // ACROSS, index % ACROSS)
        self._tiles.setRowStretch(len(smalls) // ACROSS + 1, 1)
        self.show_takes(self._takes)

    def _tile(self, small: Small) -> QWidget:
        picture = QLabel()
        pixmap = QPixmap.fromImage(image_from_array(small.pixels))
        pixmap.setDevicePixelRatio(self.devicePixelRatioF())
        picture.setPixmap(pixmap)
        picture.setAlignment(Qt.AlignmentFlag.AlignCenter)
        facts = _facts(small)
        picture.setAccessibleName(f"{small.label}: {facts}")
        name = QLabel(small.label)
        self._names[small.wish.method] = (name, small.label)
        figures = QLabel(facts)
        figures.setWordWrap(True)
        theme.as_caption(figures)
        buttons = QHBoxLayout()
        buttons.setSpacing(theme.GRID)
        for take in ("A", "B"):
            buttons.addWidget(self._button(take, small.wish, small.label))
        tile = QWidget()
        column = QVBoxLayout(tile)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.GRID // 2)
        for widget in (picture, name, figures):
            column.addWidget(widget)
        column.addStretch(1)
        column.addLayout(buttons)
        return tile

    def _button(self, take: str, wish: Grey, label: str) -> QPushButton:
        button = QPushButton(f"To take {take}")
        button.setAccessibleName(f"{label} to take {take}")
        button.clicked.connect(lambda: self.chosen.emit(take, wish))
        return button


def _facts(small: Small) -> str:
    facts = small.facts
    words = f"contrast {facts.contrast:.0f}, detail {facts.detail:.1f}"
    for share, end in ((facts.clipped_dark, "black"), (facts.clipped_light, "white")):
        if share >= CLIPPED:
            words += f"\n\u26a0 {percent(share)} clipped to {end}"
    return words
