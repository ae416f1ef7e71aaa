"""Two panes under one zoom and pan, side by side or joined in one picture."""

from collections.abc import Sequence
from itertools import pairwise
from typing import cast

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from app.compare.canvas import Canvas
from app.compare.frame import Frame
from app.compare.mode_pictures import Mode, ModePictures
from app.compare.pane import Pane
from app.compare.tool_row import ToolRow
from app.compare.tools import ToolName
from app.compare.viewport import View, Viewport

_CANVAS_ROW = 2


class Compare(QWidget):
    """The centre of the window. Panes are counted 0 (left) and 1 (right).

    It shows what it is given and reports wishes: `request_needed` whenever other pictures are
    wanted (zoom, pan, size or mode changed), `take_chosen` and `stage_chosen` with the pane's
    number, and what the canvases report, whichever pane it happened in.
    """

    request_needed = Signal()
    mode_changed = Signal(str)
    active_changed = Signal(int)
    before_toggled = Signal(bool)
    take_chosen = Signal(int, str)
    stage_chosen = Signal(int, str)
    hovered = Signal(float, float)
    left = Signal()
    place_began = Signal()
    placed_by = Signal(float, float)
    scaled_by = Signal(float)
    place_ended = Signal()
    area_drawn = Signal(float, float, float, float)
    tool_left = Signal()
    point_began = Signal(int)
    bare_point_moved = Signal(int, float)
    full_point_moved = Signal(int, float)
    point_ended = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.viewport = Viewport(self)
        self.tool_row = ToolRow(self.viewport, self)
        self.panes = (Pane("Left", self.viewport, self), Pane("Right", self.viewport, self))
        self.panes[1].set_take("B")
        self._pictures = ModePictures(self.panes, self)
        self._active = 0
        self._stage_after_before: str | None = None
        self._lay_out()
        self._join()
        self._apply_mode()
        self.panes[0].set_active(True)

    def _lay_out(self) -> None:
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(2)
        self._grid.setVerticalSpacing(0)
        self._grid.addWidget(self.tool_row, 0, 0, 1, 2)
        for column, pane in enumerate(self.panes):
            self._grid.setColumnStretch(column, 1)
            self._grid.addWidget(pane.header, 1, column)
            self._grid.addWidget(pane.canvas, _CANVAS_ROW, column)
            self._grid.addWidget(pane.histogram, 3, column)
            self._grid.addWidget(pane.readout, 4, column)
        self._grid.setRowStretch(_CANVAS_ROW, 1)
        stops = [
            *self.tool_row.controls,
            *self.panes[0].controls,
            *self.panes[1].controls,
            self.panes[0].canvas,
            self.panes[0].canvas.divider,
            self.panes[1].canvas,
        ]
        for first, then in pairwise(stops):
            self.setTabOrder(first, then)

    def _join(self) -> None:
        self.tool_row.mode_chosen.connect(lambda mode: self.set_mode(cast("Mode", mode)))
        self.tool_row.before_chosen.connect(self.set_before)
        self.viewport.changed.connect(self.request_needed)
        for index, pane in enumerate(self.panes):
            self._join_pane(index, pane)

    def _join_pane(self, index: int, pane: Pane) -> None:
        pane.touched.connect(lambda: self.set_active(index))
        pane.take_chosen.connect(lambda take: self._take_chosen(index, take))
        pane.stage_chosen.connect(lambda stage: self._stage_chosen(index, stage))
        canvas, tones = pane.canvas, pane.histogram
        canvas.pressed.connect(lambda: self._canvas_pressed(index))
        canvas.resized.connect(self._measure)
        canvas.hovered.connect(lambda x, y: self._hovered(index, x, y))
        canvas.left.connect(self._left)
        for report, onward in (
            (canvas.place_began, self.place_began),
            (canvas.placed_by, self.placed_by),
            (canvas.scaled_by, self.scaled_by),
            (canvas.place_ended, self.place_ended),
            (canvas.area_drawn, self.area_drawn),
        ):
            report.connect(onward)
        canvas.tool_left.connect(self._tool_left)
        tones.point_began.connect(lambda: self.point_began.emit(index))
        tones.bare_point_moved.connect(lambda tone: self.bare_point_moved.emit(index, tone))
        tones.full_point_moved.connect(lambda tone: self.full_point_moved.emit(index, tone))
        tones.point_ended.connect(lambda: self.point_ended.emit(index))

    @property
    def mode(self) -> Mode:
        """How the two pictures are compared."""
        return self._pictures.mode

    @property
    def active(self) -> int:
        """The pane that commands mean."""
        return self._active

    @property
    def before(self) -> bool:
        """Whether the active pane shows the photo for a moment."""
        return self._stage_after_before is not None

    @property
    def blink_pane(self) -> int:
        """The pane whose picture is shown while blinking."""
        return self._pictures.blink_pane

    def canvas_of(self, index: int) -> Canvas:
        """The canvas that shows the picture of a pane now."""
        return self._pictures.canvas_of(index)

    def view(self, index: int, *, mirrored: bool = False) -> View:
        """The mapping for the picture of a pane: what part is visible, and how large."""
        canvas = self.canvas_of(index)
        return self.viewport.view(canvas.width(), canvas.height(), mirrored=mirrored)

    def frame(self, index: int) -> Frame | None:
        """The picture of a pane."""
        return self._pictures.frame(index)

    def set_frame(self, index: int, frame: Frame | None) -> None:
        """A new picture for a pane."""
        self._pictures.set_frame(index, frame)

    def set_difference_frame(self, frame: Frame | None) -> None:
        """The picture of the difference mode."""
        self._pictures.set_difference(frame)

    def set_histogram(
        self,
        index: int,
        counts: Sequence[int],
        bare_share: float,
        full_share: float,
        bare_point: float | None = None,
        full_point: float | None = None,
    ) -> None:
        """The tones under a pane; see HistogramView.set_data."""
        self.panes[index].set_histogram(counts, bare_share, full_share, bare_point, full_point)

    def set_waiting(self, index: int, waiting: bool) -> None:
        """Work on the picture of a pane goes on."""
        self._pictures.set_waiting(index, waiting)

    def set_margin_mm(self, margin_mm: float) -> None:
        """The safe margin of the plate."""
        for pane in self.panes:
            pane.canvas.set_margin_mm(margin_mm)

    def set_empty_text(self, text: str) -> None:
        """What to do while there is no picture."""
        for pane in self.panes:
            pane.canvas.set_empty_text(text)

    def set_tool(self, tool: ToolName) -> None:
        """What a drag does in either pane."""
        for pane in self.panes:
            pane.canvas.set_tool(tool)

    def set_take(self, index: int, take: str) -> None:
        """Show which take a pane shows."""
        self.panes[index].set_take(take)
        self._pictures.show_tags()

    def set_stage(self, index: int, stage: str) -> None:
        """Show which stage a pane shows."""
        self.panes[index].set_stage(stage)
        self._pictures.show_tags()

    def set_active(self, index: int) -> None:
        """Make a pane the one that commands mean."""
        if index == self._active:
            return
        self.set_before(False)
        self._active = index
        for number, pane in enumerate(self.panes):
            pane.set_active(number == index)
        self.active_changed.emit(index)

    def set_mode(self, mode: Mode) -> None:
        """Compare in another way."""
        if mode == self.mode:
            return
        self._pictures.set_mode(mode)
        self.tool_row.modes.set_value(mode)
        self._apply_mode()
        self.mode_changed.emit(mode)
        self.request_needed.emit()

    def set_before(self, on: bool) -> None:
        """Show the photo in the active pane, or go back to the stage from which that began."""
        if on == self.before:
            return
        pane = self.panes[self._active]
        stage = "photo" if on else self._stage_after_before or pane.stage
        self._stage_after_before = pane.stage if on else None
        self.tool_row.before.setChecked(on)
        self.set_stage(self._active, stage)
        self.stage_chosen.emit(self._active, stage)
        self.before_toggled.emit(on)

    def _take_chosen(self, index: int, take: str) -> None:
        self._pictures.show_tags()
        self.take_chosen.emit(index, take)

    def _stage_chosen(self, index: int, stage: str) -> None:
        """A stage picked by hand ends the look at the photo."""
        if index == self._active and self.before:
            self._stage_after_before = None
            self.tool_row.before.setChecked(False)
            self.before_toggled.emit(False)
        self._pictures.show_tags()
        self.stage_chosen.emit(index, stage)

    def _canvas_pressed(self, index: int) -> None:
        if self.mode == "side":
            self.set_active(index)

    def _hovered(self, index: int, x_mm: float, y_mm: float) -> None:
        if self.mode == "side":
            self.panes[1 - index].canvas.set_echo((x_mm, y_mm))
        self.hovered.emit(x_mm, y_mm)

    def _left(self) -> None:
        for pane in self.panes:
            pane.canvas.set_echo(None)
        self.left.emit()

    def _tool_left(self) -> None:
        self.set_tool("pan")
        self.tool_left.emit()

    def _apply_mode(self) -> None:
        """Give the first canvas one half or the whole width."""
        side = self.mode == "side"
        first, second = (pane.canvas for pane in self.panes)
        self._grid.removeWidget(first)
        self._grid.addWidget(first, _CANVAS_ROW, 0, 1, 1 if side else 2)
        second.setVisible(side)
        first.set_wiping(self.mode == "wipe")
        for canvas in (first, second):
            canvas.set_echo(None)
        self._grid.activate()
        self._measure()
        self._pictures.show()

    def _measure(self) -> None:
        """Tell the viewport how much room each picture has; the smaller pane decides."""
        canvases = [self.canvas_of(index) for index in (0, 1)]
        self.viewport.set_pane_size(
            min(canvas.width() for canvas in canvases),
            min(canvas.height() for canvas in canvases),
            self.devicePixelRatioF(),
        )
