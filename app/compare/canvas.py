"""The picture of one pane under the hand: gestures and keys become zoom, pan and wishes."""

from PySide6.QtCore import QEvent, QPointF, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QHideEvent,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPointingDevice,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QWidget

from app.compare.picture_view import PictureView
from app.compare.tools import AreaDrag, Drag, PanDrag, PlaceDrag, ToolName
from app.compare.viewport import Viewport
from shared import units

PAN_STEP_PX = 48.0
PAN_FINE_STEP_PX = 1.0
PLACE_STEP_MM = 0.5
PLACE_FINE_STEP_MM = 0.1
SCALE_STEP = 1.05
NOTCH = 120

_CURSORS = {
    "pan": Qt.CursorShape.OpenHandCursor,
    "place": Qt.CursorShape.SizeAllCursor,
    "area": Qt.CursorShape.CrossCursor,
}
_ARROWS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}
_KEYBOARD_REASONS = (
    Qt.FocusReason.TabFocusReason,
    Qt.FocusReason.BacktabFocusReason,
    Qt.FocusReason.ShortcutFocusReason,
)


def device_px_per_mm(widget: QWidget) -> float:
    """Device pixels per mm of the display that a widget is on, by what the display tells."""
    dots_per_inch = widget.screen().physicalDotsPerInch()
    return dots_per_inch * widget.devicePixelRatioF() / units.MM_PER_INCH


class Canvas(PictureView):
    """A picture that can be zoomed, panned, placed and measured.

    Signals, in mm of the plate as seen from the front: `hovered` and `left` follow the pointer;
    `place_began`, `placed_by`, `scaled_by` and `place_ended` wrap one step of undo; `area_drawn`
    gives left, top, right and bottom; `tool_left` says that Esc was pressed.
    """

    hovered = Signal(float, float)
    left = Signal()
    place_began = Signal()
    placed_by = Signal(float, float)
    scaled_by = Signal(float)
    place_ended = Signal()
    area_drawn = Signal(float, float, float, float)
    tool_left = Signal()
    resized = Signal()
    pressed = Signal()

    def __init__(self, viewport: Viewport, parent: QWidget | None = None) -> None:
        super().__init__(viewport, parent)
        self._tool: ToolName = "pan"
        self._drag: Drag | None = None
        self._wheel = 0
        self._keys_place = False
        self._over_plate = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setCursor(_CURSORS["pan"])

    @property
    def tool(self) -> ToolName:
        """What a drag does."""
        return self._tool

    def set_tool(self, tool: ToolName) -> None:
        """What a drag does: pan the view, place the photo or draw an area."""
        self._cancel_drag()
        self._tool = tool
        self.setCursor(_CURSORS[tool])

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin what the tool does; the middle button always pans."""
        self.pressed.emit()
        spot = event.position()
        if event.button() == Qt.MouseButton.MiddleButton:
            self._begin(PanDrag(self._viewport, self.view_at(spot), spot))
        elif event.button() == Qt.MouseButton.LeftButton and self._picture is not None:
            self._begin(self._drag_of_tool(spot))
        else:
            super().mousePressEvent(event)

    def _begin(self, drag: Drag) -> None:
        self._cancel_drag()
        self._drag = drag
        if isinstance(drag, PanDrag):
            self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def _drag_of_tool(self, spot: QPointF) -> Drag:
        view = self.view_at(spot)
        if self._tool == "place":
            self.place_began.emit()
            return PlaceDrag(view, spot, self.placed_by.emit, self.place_ended.emit)
        if self._tool == "area":
            return AreaDrag(view, spot, self.area_drawn.emit)
        return PanDrag(self._viewport, view, spot)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Go on with the drag, and tell where the pointer is."""
        if self._drag is not None:
            self._drag.move(event.position())
            self._show_band()
        self._hover(event.position())

    def _hover(self, spot: QPointF) -> None:
        x_mm, y_mm = self.view_at(spot).to_mm(spot.x(), spot.y())
        width, height = self._viewport.plate_mm
        over = self._picture is not None and 0.0 <= x_mm < width and 0.0 <= y_mm < height
        if over:
            self.hovered.emit(x_mm, y_mm)
        elif self._over_plate:
            self.left.emit()
        self._over_plate = over

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End the drag."""
        if self._drag is None:
            super().mouseReleaseEvent(event)
            return
        drag, self._drag = self._drag, None
        drag.finish()
        self.setCursor(_CURSORS[self._tool])
        self._show_band()

    def _cancel_drag(self) -> None:
        if self._drag is not None:
            drag, self._drag = self._drag, None
            drag.cancel()
            self.setCursor(_CURSORS[self._tool])
            self._show_band()

    def _show_band(self) -> None:
        self._band = self._drag.band if self._drag else None
        self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Between the whole plate and 1:1 at the pointer."""
        if event.button() != Qt.MouseButton.LeftButton or self._tool != "pan":
            self.mousePressEvent(event)
        elif self._viewport.fitted:
            spot = event.position()
            self._viewport.zoom_one_to_one(self.view_at(spot).to_mm(spot.x(), spot.y()))
        else:
            self._viewport.zoom_fit()

    def leaveEvent(self, event: QEvent) -> None:
        """The pointer is elsewhere."""
        if self._over_plate:
            self._over_plate = False
            self.left.emit()
        super().leaveEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer; with Ctrl, scale the photo while it is being placed."""
        event.accept()
        spot = event.position()
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        touchpad = event.device().type() == QPointingDevice.DeviceType.TouchPad
        if touchpad and not control and not event.pixelDelta().isNull():
            way = event.pixelDelta()
            self._viewport.pan_by(self.view_at(spot).hand * way.x(), way.y())
            return
        self._wheel += event.angleDelta().y()
        steps = int(self._wheel / NOTCH)
        self._wheel -= steps * NOTCH
        if steps == 0:
            return
        if control and self._tool == "place":
            self.place_began.emit()
            self.scaled_by.emit(SCALE_STEP**steps)
            self.place_ended.emit()
            return
        self._viewport.zoom_step(steps, self.view_at(spot).to_mm(spot.x(), spot.y()))
        self._hover(spot)

    def event(self, event: QEvent) -> bool:
        """Pinch zooms at the fingers; a display of another density counts as another size."""
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self.resized.emit()
        if (
            isinstance(event, QNativeGestureEvent)
            and event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture
        ):
            spot = event.position()
            factor = max(0.1, 1.0 + event.value())
            self._viewport.zoom_at(factor, *self.view_at(spot).to_mm(spot.x(), spot.y()))
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Zoom, pan and place without a pointer."""
        key = Qt.Key(event.key())
        if key in _ARROWS:
            fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self._arrow(*_ARROWS[key], fine=fine)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self._viewport.zoom_step(1)
        elif key == Qt.Key.Key_Minus:
            self._viewport.zoom_step(-1)
        elif key in (Qt.Key.Key_0, Qt.Key.Key_Home):
            self._viewport.zoom_fit()
        elif key == Qt.Key.Key_1:
            self._viewport.zoom_one_to_one()
        elif key == Qt.Key.Key_2:
            self._viewport.zoom_actual(device_px_per_mm(self))
        elif key == Qt.Key.Key_Escape and self._drag is not None:
            self._cancel_drag()
        elif key == Qt.Key.Key_Escape and self._tool != "pan":
            self.set_tool("pan")
            self.tool_left.emit()
        else:
            super().keyPressEvent(event)

    def _arrow(self, across: int, down: int, *, fine: bool) -> None:
        hand = self.view().hand
        if self._tool == "place" and self._picture is not None:
            step = PLACE_FINE_STEP_MM if fine else PLACE_STEP_MM
            if not self._keys_place:
                self._keys_place = True
                self.place_began.emit()
            self.placed_by.emit(hand * across * step, down * step)
        else:
            way = PAN_FINE_STEP_PX if fine else PAN_STEP_PX
            self._viewport.pan_by(-hand * across * way, -down * way)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """A key held down is one step of undo."""
        if Qt.Key(event.key()) in _ARROWS and not event.isAutoRepeat():
            self._end_keys()
        super().keyReleaseEvent(event)

    def _end_keys(self) -> None:
        if self._keys_place:
            self._keys_place = False
            self.place_ended.emit()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the focus when it came by keyboard."""
        self._ring = event.reason() in _KEYBOARD_REASONS
        self.pressed.emit()
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Leave no step of undo open."""
        self._ring = False
        self._end_keys()
        super().focusOutEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:
        """Leave no drag open."""
        self._cancel_drag()
        super().hideEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The divider keeps its share; who joins the panes is told."""
        super().resizeEvent(event)
        self.divider.place()
        self.resized.emit()
