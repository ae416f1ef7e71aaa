"""Paints the pictures of one pane where the shared viewport says."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, QTimer
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app import theme
from app.compare import overlays
from app.compare.divider import Divider
from app.compare.frame import Frame, Picture
from app.compare.viewport import View, Viewport

WAIT_BEFORE_SIGN_MS = 500


class PictureView(QWidget):
    """One picture, or two beside a divider, under the shared zoom and pan.

    A picture that is older than the zoom or the pan is painted stretched to where it belongs.
    """

    def __init__(self, viewport: Viewport, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._viewport = viewport
        self._picture: Picture | None = None
        self._second: Picture | None = None
        self._tags = ("", "")
        self._margin_mm = 0.0
        self._empty_text = ""
        self._facts = ""
        self._echo: tuple[float, float] | None = None
        self._band: QRectF | None = None
        self._ring = False
        self._wait = QTimer(self, interval=WAIT_BEFORE_SIGN_MS, singleShot=True)
        self._wait.timeout.connect(self._show_waiting)
        self._sign_shown = False
        self.divider = Divider(self)
        self.divider.hide()
        self.divider.moved.connect(self.update)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        viewport.changed.connect(self._viewport_changed)
        self._describe()

    @property
    def frame(self) -> Frame | None:
        """The picture that is painted."""
        return self._picture.frame if self._picture else None

    @property
    def waiting_shown(self) -> bool:
        """Whether the sign of work going on is visible."""
        return self._sign_shown

    def set_frame(self, frame: Frame | None) -> None:
        """The picture; right of the divider there may be another."""
        self._picture = _picture(frame, self._picture)
        self._describe()
        self.update()

    def set_second(self, frame: Frame | None) -> None:
        """The picture right of the divider, while the divider is shown."""
        self._second = _picture(frame, self._second)
        self.update()

    def set_wiping(self, on: bool) -> None:
        """Show or hide the divider and the second picture."""
        self.divider.place()
        self.divider.setVisible(on)
        self.update()

    def set_tags(self, left: str = "", right: str = "") -> None:
        """A few words in the two upper corners, saying which picture is which."""
        if (left, right) != self._tags:
            self._tags = (left, right)
            self.update()

    def set_margin_mm(self, margin_mm: float) -> None:
        """The safe margin; 0 shows none."""
        if margin_mm != self._margin_mm:
            self._margin_mm = margin_mm
            self.update()

    def set_empty_text(self, text: str) -> None:
        """What to do next, shown while there is no picture."""
        self._empty_text = text
        self._describe()
        self.update()

    def set_facts(self, facts: str) -> None:
        """What the picture shows, such as its take and stage, for who cannot see it."""
        self._facts = facts
        self._describe()

    def set_echo(self, spot_mm: tuple[float, float] | None) -> None:
        """The spot under the pointer in the other pane."""
        self._echo = spot_mm
        self.update()

    def set_waiting(self, waiting: bool) -> None:
        """Work on this picture goes on; a sign appears when it takes half a second."""
        if waiting:
            if not self._wait.isActive() and not self._sign_shown:
                self._wait.start()
            return
        self._wait.stop()
        if self._sign_shown:
            self._sign_shown = False
            self.update()

    def view(self) -> View:
        """The mapping of this pane now."""
        return self._view_of(self._picture)

    def view_at(self, spot: QPointF) -> View:
        """The mapping at a place of this pane; the two sides of a wipe may differ."""
        right = self._wiping and spot.x() >= self._split_px
        return self._view_of(self._second if right else self._picture)

    def _view_of(self, picture: Picture | None) -> View:
        mirrored = picture is not None and picture.frame.mirrored
        return self._viewport.view(self.width(), self.height(), mirrored=mirrored)

    @property
    def _wiping(self) -> bool:
        return not self.divider.isHidden()

    @property
    def _split_px(self) -> int:
        return round(self.divider.share * self.width())

    def sizeHint(self) -> QSize:
        """Room for a picture."""
        return QSize(360, 400)

    def minimumSizeHint(self) -> QSize:
        """Still of use."""
        return QSize(160, 120)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Surround, plate, pictures, then what lies over them."""
        del event
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(theme.PANE))
        pane = QRectF(self.rect())
        if self._picture is None:
            overlays.paint_message(painter, pane, self._empty_text)
        else:
            painter.save()
            self._paint_pictures(painter)
            painter.restore()
        self._paint_overlays(painter, pane)
        painter.end()

    def _paint_pictures(self, painter: QPainter) -> None:
        """Work in device pixels, on whole ones even where the pane does not begin on one."""
        ratio = self.devicePixelRatioF()
        placed = painter.deviceTransform()
        painter.scale(1.0 / ratio, 1.0 / ratio)
        painter.translate(round(placed.dx()) - placed.dx(), round(placed.dy()) - placed.dy())
        width, height = self.width() * ratio, self.height() * ratio
        if not self._wiping:
            self._paint_side(painter, self._picture, QRectF(0, 0, width, height))
            return
        split = round(self._split_px * ratio)
        self._paint_side(painter, self._picture, QRectF(0, 0, split, height))
        self._paint_side(painter, self._second, QRectF(split, 0, width - split, height))

    def _paint_side(self, painter: QPainter, picture: Picture | None, seen: QRectF) -> None:
        view = self._view_of(picture)
        painter.setClipRect(seen)
        overlays.paint_ground(painter, view)
        if picture is not None:
            picture.paint(painter, view, seen)
        if self._margin_mm > 0.0:
            overlays.paint_margin(painter, view, self._margin_mm)

    def _paint_overlays(self, painter: QPainter, pane: QRectF) -> None:
        if self._echo is not None and self._picture is not None:
            overlays.paint_echo(painter, QPointF(*self.view().to_px(*self._echo)))
        if self._band is not None:
            overlays.paint_band(painter, self._band)
        top, bottom = Qt.AlignmentFlag.AlignTop, Qt.AlignmentFlag.AlignBottom
        side = Qt.AlignmentFlag.AlignLeft
        for text in self._tags:
            if text:
                overlays.paint_tag(painter, pane, text, top | side)
            side = Qt.AlignmentFlag.AlignRight
        if self._sign_shown:
            overlays.paint_tag(painter, pane, "Working…", bottom | side)
        if self._ring:
            overlays.paint_ring(painter, pane)

    def _show_waiting(self) -> None:
        self._sign_shown = True
        self.update()

    def _viewport_changed(self) -> None:
        self._describe()
        self.update()

    def _describe(self) -> None:
        if self._picture is None and self._empty_text:
            text = self._empty_text
        else:
            width, height = self._viewport.plate_mm
            facts = f"{self._facts}, " if self._facts else ""
            text = f"{facts}zoom {self._viewport.percent:.0f} %, plate {width:g} by {height:g} mm"
        if text != self.accessibleDescription():
            self.setAccessibleDescription(text)


def _picture(frame: Frame | None, last: Picture | None) -> Picture | None:
    """A picture of the frame; the last one, with its reductions, when nothing changed."""
    if frame is None:
        return None
    return last if last is not None and last.frame is frame else Picture(frame)
