"""The one zoom and pan that both panes share, in millimetres of the plate seen from the front."""

import math

import attrs
from PySide6.QtCore import QObject, Signal

Rect = tuple[float, float, float, float]

STEP = 1.25
MOST_DEVICE_PX_PER_ETCH_PX = 64.0
WHOLE_RATIOS = (1, 2, 3, 4, 5, 6, 8, 10, 13, 16, 20, 25, 32, 40, 50, 64)
FIT_PADDING_PX = 10
_SAME = 1e-9


@attrs.frozen
class View:
    """How one pane of a given size shows the plate; pure mapping, nothing changes.

    `width` and `height` are the pane's in logical pixels, `device_ratio` device pixels per logical
    pixel, `scale` device pixels per mm. A mirrored view shows the plate as seen from the back,
    turned about the pane's centre, so that the same spot stays in the middle.
    """

    width: int
    height: int
    device_ratio: float
    centre_x_mm: float
    centre_y_mm: float
    scale: float
    plate_width_mm: float
    plate_height_mm: float
    mirrored: bool = False

    @property
    def hand(self) -> int:
        """1 when millimetres grow to the right, -1 when they grow to the left."""
        return -1 if self.mirrored else 1

    @property
    def origin(self) -> tuple[int, int]:
        """Where the plate's corner at 0, 0 mm lies, in whole device pixels from the pane's."""
        across = math.floor(self._device_width / 2 - self.centre_x_mm * self.scale + 0.5)
        down = math.floor(self.height * self.device_ratio / 2 - self.centre_y_mm * self.scale + 0.5)
        return (round(self._device_width) - across if self.mirrored else across), down

    @property
    def _device_width(self) -> float:
        return self.width * self.device_ratio

    def to_px(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Millimetres on the plate to logical pixels of the pane."""
        across, down = self.origin
        return (
            (across + self.hand * x_mm * self.scale) / self.device_ratio,
            (down + y_mm * self.scale) / self.device_ratio,
        )

    def to_mm(self, x_px: float, y_px: float) -> tuple[float, float]:
        """Logical pixels of the pane to millimetres on the plate."""
        across, down = self.origin
        return (
            self.hand * (x_px * self.device_ratio - across) / self.scale,
            (y_px * self.device_ratio - down) / self.scale,
        )

    def device_rect(self, left_mm: float, top_mm: float, right_mm: float, bottom_mm: float) -> Rect:
        """Left, top, right and bottom in device pixels of a rectangle given in mm."""
        across, down = self.origin
        ends = sorted(across + self.hand * x * self.scale for x in (left_mm, right_mm))
        return ends[0], down + top_mm * self.scale, ends[1], down + bottom_mm * self.scale

    @property
    def visible_device_rect(self) -> tuple[int, int, int, int]:
        """The part of the pane that the plate covers: left, top, right, bottom, device pixels."""
        left, top, right, bottom = self.device_rect(
            0.0, 0.0, self.plate_width_mm, self.plate_height_mm
        )
        return (
            max(0, math.floor(left)),
            max(0, math.floor(top)),
            min(math.ceil(self._device_width), math.ceil(right)),
            min(math.ceil(self.height * self.device_ratio), math.ceil(bottom)),
        )

    @property
    def visible_mm(self) -> Rect:
        """The visible part of the plate: left, top, right, bottom in mm, on whole device pixels.

        A picture of it with `visible_size` pixels is painted pixel for pixel.
        """
        left, top, right, bottom = self.visible_device_rect
        first = self.to_mm(left / self.device_ratio, top / self.device_ratio)
        last = self.to_mm(right / self.device_ratio, bottom / self.device_ratio)
        return min(first[0], last[0]), first[1], max(first[0], last[0]), last[1]

    @property
    def visible_size(self) -> tuple[int, int]:
        """Columns and rows of device pixels in `visible_mm`."""
        left, top, right, bottom = self.visible_device_rect
        return max(0, right - left), max(0, bottom - top)


class Viewport(QObject):
    """Zoom and pan as state; every change is announced once by `changed`."""

    changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._plate_mm = (200.0, 250.0)
        self._pitch_mm = 0.1
        self._pane = (0, 0)
        self._device_ratio = 1.0
        self._centre = (100.0, 125.0)
        self._scale = 1.0
        self._free_ratio = 1.0
        self._fitted = True

    @property
    def plate_mm(self) -> tuple[float, float]:
        """Width and height of the plate in mm."""
        return self._plate_mm

    @property
    def pitch_mm(self) -> float:
        """Distance between etch pixels in mm."""
        return self._pitch_mm

    @property
    def centre_mm(self) -> tuple[float, float]:
        """The spot of the plate in the middle of each pane."""
        return self._centre

    @property
    def scale(self) -> float:
        """Device pixels per mm."""
        return self._scale

    @property
    def fitted(self) -> bool:
        """Whether the whole plate is shown and stays so when the panes change size."""
        return self._fitted

    @property
    def ratio(self) -> float:
        """Device pixels per etch pixel."""
        return self._scale * self._pitch_mm

    @property
    def percent(self) -> float:
        """100 is one etch pixel to one device pixel."""
        return self.ratio * 100.0

    @property
    def dots_exact(self) -> bool:
        """Whether every etch pixel covers the same whole number of device pixels."""
        return self.ratio > 1.0 - _SAME and abs(self.ratio - round(self.ratio)) < _SAME * self.ratio

    def view(self, width: int, height: int, *, mirrored: bool = False) -> View:
        """The mapping for a pane of this size in logical pixels."""
        return View(
            width,
            height,
            self._device_ratio,
            *self._centre,
            self._scale,
            *self._plate_mm,
            mirrored=mirrored,
        )

    def set_plate(self, width_mm: float, height_mm: float, pitch_mm: float) -> None:
        """Another plate: a new size is shown whole, a new pitch keeps the spot and the size."""
        size = (width_mm, height_mm)
        if size == self._plate_mm and pitch_mm == self._pitch_mm:
            return
        resized = size != self._plate_mm
        self._plate_mm, self._pitch_mm = size, pitch_mm
        if resized or self._fitted:
            self._fit()
        else:
            self._place(self._scale, self._centre)
        self.changed.emit()

    def set_pane_size(self, width: int, height: int, device_ratio: float) -> None:
        """Size of one pane in logical pixels, and device pixels per logical pixel."""
        if (width, height) == self._pane and device_ratio == self._device_ratio:
            return
        self._pane, self._device_ratio = (width, height), device_ratio
        if self._fitted:
            self._fit()
        else:
            self._place(self._scale, self._centre)
        self.changed.emit()

    def zoom_fit(self) -> None:
        """Show the whole plate, and go on doing so until the next zoom or pan."""
        self._fit()
        self.changed.emit()

    def zoom_one_to_one(self, at_mm: tuple[float, float] | None = None) -> None:
        """One etch pixel to one device pixel, round a spot that stays where it is."""
        self.zoom_to_percent(100.0, at_mm)

    def zoom_actual(self, device_px_per_mm: float) -> None:
        """One mm of the plate to one mm of this display, even for a tiny or a huge plate."""
        self._zoom_to(device_px_per_mm, self._centre, bounded=False)

    def zoom_to_percent(self, percent: float, at_mm: tuple[float, float] | None = None) -> None:
        """Any zoom within the limits; 100 is one etch pixel to one device pixel."""
        self._zoom_to(percent / 100.0 / self._pitch_mm, at_mm or self._centre)

    def zoom_at(self, factor: float, x_mm: float, y_mm: float) -> None:
        """Zoom smoothly about a spot that stays where it is, as a pinch does.

        From 1:1 upwards whole ratios alone are shown; small factors add up until the next one.
        """
        if factor <= 0.0:
            raise ValueError("a zoom factor is greater than 0")
        low, high = self._limits()
        free = min(max(self._free_ratio * factor, low), high)
        shown = float(round(free)) if free >= 1.0 else free
        self._zoom_to(shown / self._pitch_mm, (x_mm, y_mm))
        self._free_ratio = free

    def zoom_step(self, steps: int, at_mm: tuple[float, float] | None = None) -> None:
        """Zoom in (or out, when negative) by steps of 1.25, by whole ratios from 1:1 upwards."""
        ratio = self.ratio
        for _ in range(abs(steps)):
            ratio = _step_up(ratio) if steps > 0 else _step_down(ratio)
        self._zoom_to(ratio / self._pitch_mm, at_mm or self._centre)

    def pan_by(self, dx_px: float, dy_px: float) -> None:
        """Move the plate by logical pixels, to the right and down as seen from the front."""
        moved = self._device_ratio / self._scale
        x_mm, y_mm = self._centre
        before = self._centre
        self._place(self._scale, (x_mm - dx_px * moved, y_mm - dy_px * moved))
        if self._centre != before:
            self._fitted = False
            self.changed.emit()

    def _zoom_to(self, scale: float, at_mm: tuple[float, float], *, bounded: bool = True) -> None:
        if bounded:
            low, high = self._limits()
            scale = min(max(scale, low / self._pitch_mm), high / self._pitch_mm)
        kept = self._scale / scale
        x_mm, y_mm = at_mm
        before = (self._scale, self._centre, self._fitted)
        self._place(
            scale,
            (x_mm + (self._centre[0] - x_mm) * kept, y_mm + (self._centre[1] - y_mm) * kept),
        )
        self._fitted = False
        if before != (self._scale, self._centre, self._fitted):
            self.changed.emit()

    def _limits(self) -> tuple[float, float]:
        """Least and greatest device pixels per etch pixel; the zoom of now is never outside."""
        fit = self._fit_scale() * self._pitch_mm
        low, high = min(fit / 2.0, 1.0), max(fit, MOST_DEVICE_PX_PER_ETCH_PX)
        return min(low, self.ratio), max(high, self.ratio)

    def _fit_scale(self) -> float:
        room = [max(1, side - 2 * FIT_PADDING_PX) * self._device_ratio for side in self._pane]
        return min(room[0] / self._plate_mm[0], room[1] / self._plate_mm[1])

    def _fit(self) -> None:
        self._place(self._fit_scale(), (self._plate_mm[0] / 2.0, self._plate_mm[1] / 2.0))
        self._fitted = True

    def _place(self, scale: float, centre: tuple[float, float]) -> None:
        """Take a scale and a centre, which is kept over the plate."""
        self._scale = scale
        self._free_ratio = self.ratio
        self._centre = (
            min(max(centre[0], 0.0), self._plate_mm[0]),
            min(max(centre[1], 0.0), self._plate_mm[1]),
        )


def _step_up(ratio: float) -> float:
    if ratio < 1.0 - _SAME:
        grown = ratio * STEP
        return 1.0 if grown > 1.0 - _SAME else grown
    return next((float(w) for w in WHOLE_RATIOS if w > ratio * (1.0 + _SAME)), ratio)


def _step_down(ratio: float) -> float:
    if ratio < 1.0 + _SAME:
        return ratio / STEP
    return float(next(w for w in reversed(WHOLE_RATIOS) if w < ratio * (1.0 - _SAME)))
