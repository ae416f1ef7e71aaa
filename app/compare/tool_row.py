"""The row of commands that belong to both panes."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QToolButton, QWidget

from app.compare.canvas import device_px_per_mm
from app.compare.controls import Segments, ZoomField, text_button
from app.compare.viewport import Viewport

MODES = ("side", "wipe", "blink", "difference")


class ToolRow(QWidget):
    """View modes on the left, before in the middle, zoom on the right."""

    mode_chosen = Signal(str)
    before_chosen = Signal(bool)

    def __init__(self, viewport: Viewport, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._viewport = viewport
        self.modes = self._make_modes()
        self.modes.chosen.connect(self.mode_chosen)
        self.before = text_button(
            "Before",
            name="Before: show the photo in the active pane",
            tip="Show the photo in the active pane, and back",
            key="F9",
        )
        self.before.setCheckable(True)
        self.before.clicked.connect(self.before_chosen)
        self.zoom = ZoomField(viewport)
        row = QHBoxLayout(self)
        row.setContentsMargins(4, 4, 4, 4)
        row.setSpacing(4)
        row.addWidget(self.modes)
        row.addSpacing(4)
        row.addWidget(self.before)
        row.addStretch(1)
        row.addWidget(self.zoom)
        for button in self._make_zooms():
            row.addWidget(button)
        self._add_keys()

    @property
    def controls(self) -> list[QWidget]:
        """What takes the keyboard, in reading order."""
        return [*self.modes.buttons.values(), self.before, self.zoom, *self._zooms]

    @property
    def shortcut_buttons(self) -> list[QToolButton]:
        """The buttons that have a key of their own."""
        return [*self.modes.buttons.values(), self.before, *self._zooms]

    def _make_modes(self) -> Segments:
        modes = Segments(self)
        for value, text, tip, key in (
            ("side", "Side by side", "Two pictures, one zoom", "F5"),
            (
                "wipe",
                "Wipe",
                "Left of the divider the left pane's picture, right of it the other",
                "F6",
            ),
            ("blink", "Blink", "The two pictures take turns in one place", "F7"),
            ("difference", "Difference", "How far the two pictures differ", "F8"),
        ):
            modes.add(value, text, name=f"View: {text}", tip=tip, key=key)
        return modes

    def _make_zooms(self) -> list[QToolButton]:
        self._zooms: list[QToolButton] = []
        for text, name, tip, key, wish in (
            ("Fit", "Zoom to fit", "The whole plate", "Ctrl+0", self._viewport.zoom_fit),
            (
                "1:1",
                "Zoom to one to one",
                "One etch pixel is one pixel of this display",
                "Ctrl+1",
                self._viewport.zoom_one_to_one,
            ),
            (
                "Actual size",
                "Zoom to actual size",
                "A millimetre of the plate is a millimetre on this display",
                "Ctrl+2",
                self.zoom_actual,
            ),
        ):
            button = text_button(text, name=name, tip=tip, key=key)
            button.clicked.connect(lambda _=False, wish=wish: wish())
            self._zooms.append(button)
        return self._zooms

    def _add_keys(self) -> None:
        step = self._viewport.zoom_step
        for keys, wish in (
            (QKeySequence(QKeySequence.StandardKey.ZoomIn), lambda: step(1)),
            (QKeySequence("Ctrl+="), lambda: step(1)),
            (QKeySequence(QKeySequence.StandardKey.ZoomOut), lambda: step(-1)),
        ):
            shortcut = QShortcut(keys, self)
            shortcut.activated.connect(lambda wish=wish: wish())

    def zoom_actual(self) -> None:
        """As large as the glass will be, if the display tells its own size right."""
        self._viewport.zoom_actual(device_px_per_mm(self))
