"""What a drag on the picture means: pan the view, place the photo, or draw an area."""

from collections.abc import Callable
from typing import Literal, Protocol

from PySide6.QtCore import QPointF, QRectF

from app.compare.viewport import View, Viewport

ToolName = Literal["pan", "place", "area"]
LEAST_AREA_PX = 3.0


class Drag(Protocol):
    """One drag from press to release; positions in logical pixels of the pane."""

    def move(self, to: QPointF) -> None:
        """The pointer went on."""

    def finish(self) -> None:
        """The button was released."""

    def cancel(self) -> None:
        """The user changed their mind; all is as it was."""

    @property
    def band(self) -> QRectF | None:
        """A rectangle to show meanwhile."""


class PanDrag:
    """The plate follows the hand."""

    band = None

    def __init__(self, viewport: Viewport, view: View, start: QPointF) -> None:
        self._viewport = viewport
        self._hand = view.hand
        self._start = self._last = start

    def move(self, to: QPointF) -> None:
        """Pan by the way since the last move."""
        way, self._last = to - self._last, to
        self._viewport.pan_by(self._hand * way.x(), way.y())

    def finish(self) -> None:
        """All has been done on the way."""

    def cancel(self) -> None:
        """Back to where the drag began."""
        self.move(self._start)


class PlaceDrag:
    """The photo follows the hand; one drag is one step of undo."""

    band = None

    def __init__(
        self,
        view: View,
        start: QPointF,
        placed_by: Callable[[float, float], None],
        ended: Callable[[], None],
    ) -> None:
        self._view = view
        self._start = self._last = start
        self._placed_by = placed_by
        self._ended = ended

    def move(self, to: QPointF) -> None:
        """Report the way since the last move in mm."""
        from_x, from_y = self._view.to_mm(self._last.x(), self._last.y())
        to_x, to_y = self._view.to_mm(to.x(), to.y())
        self._last = to
        self._placed_by(to_x - from_x, to_y - from_y)

    def finish(self) -> None:
        """Close the step."""
        self._ended()

    def cancel(self) -> None:
        """Report the whole way back, then close the step."""
        self.move(self._start)
        self._ended()


class AreaDrag:
    """A rectangle on the plate."""

    def __init__(
        self, view: View, start: QPointF, drawn: Callable[[float, float, float, float], None]
    ) -> None:
        self._view = view
        self._start = self._last = start
        self._drawn = drawn

    @property
    def band(self) -> QRectF:
        """The rectangle so far."""
        return QRectF(self._start, self._last).normalized()

    def move(self, to: QPointF) -> None:
        """Stretch the rectangle to the pointer."""
        self._last = to

    def finish(self) -> None:
        """Report the part that lies on the plate, unless it is too small to be meant."""
        band, view = self.band, self._view
        if min(band.width(), band.height()) < LEAST_AREA_PX:
            return
        xs, ys = zip(
            view.to_mm(band.left(), band.top()),
            view.to_mm(band.right(), band.bottom()),
            strict=True,
        )
        left, right = (min(max(x, 0.0), view.plate_width_mm) for x in sorted(xs))
        top, bottom = (min(max(y, 0.0), view.plate_height_mm) for y in ys)
        if left < right and top < bottom:
            self._drawn(left, top, right, bottom)

    def cancel(self) -> None:
        """Nothing was reported yet."""
