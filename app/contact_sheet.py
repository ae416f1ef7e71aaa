"""The contact sheet of greys: small pictures with their facts; one click sends one to a take."""

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
from shared.recipe import Recipe

ACROSS = 5
TILE = 190
CLIPPED = 0.01


class ContactSheet(QDialog):
    """Shows every grey of one recipe's picture; `chosen` gives a take and a grey."""

    chosen = Signal(str, object)

    def __init__(self, prepared: Prepared, recipe: Recipe, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("Contact sheet of greys")
        self._current = recipe.grey.method
        self._tiles = QGridLayout()
        self._tiles.setSpacing(theme.GRID * 2)
        self._state = QLabel("Making the greys\u2026")
        inner = QWidget()
        inner.setLayout(self._tiles)
        scroll = QScrollArea()
        scroll.setWidget(inner)
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
        self._job = Job(lambda _: list(contact_sheet(Flow(prepared), recipe, side)), self)
        self._job.succeeded.connect(self._show)
        self._job.failed.connect(self._state.setText)
        self._job.start()
        self.resize(ACROSS * (TILE + 3 * theme.GRID), 640)

    def done(self, result: int) -> None:
        """Let the work end before the dialog goes."""
        self._job.wait()
        super().done(result)

    def _show(self, smalls: object) -> None:
        assert isinstance(smalls, list)
        self._state.hide()
        for index, small in enumerate(smalls):
            self._tiles.addWidget(self._tile(small), index // ACROSS, index % ACROSS)
        self._tiles.setRowStretch(len(smalls) // ACROSS + 1, 1)

    def _tile(self, small: Small) -> QWidget:
        picture = QLabel()
        pixmap = QPixmap.fromImage(image_from_array(small.pixels))
        pixmap.setDevicePixelRatio(self.devicePixelRatioF())
        picture.setPixmap(pixmap)
        picture.setAlignment(Qt.AlignmentFlag.AlignCenter)
        facts = _facts(small)
        picture.setAccessibleName(f"{small.label}: {facts}")
        name = QLabel(small.label + (" (now)" if small.wish.method == self._current else ""))
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
            words += f", \u26a0 {share:.0%} {end}"
    return words
