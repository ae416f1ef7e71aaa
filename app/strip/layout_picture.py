"""A drawing of a strip: markers, cells and patches where they will lie on the scrap."""

from pathlib import Path

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QHelpEvent,
    QImage,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from app import theme
from app.compare import overlays
from app.strip.words import counted, patch_words, setting_words
from shared.strip import Box, Patch, Strip

_FROST = QColor("#dcdcdc")
_GLASS = QColor("#0c0c0c")
_ROOM = 14
_CORNER = 10.0


class LayoutPicture(QWidget):
    """From the front, or as the machine sees it; a patch or cell under the pointer is named.

    `pressed` gives the number of a patch that was pressed.
    """

    pressed = Signal(int)

    def __init__(self, *, as_machine: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._as_machine = as_machine
        self._strip: Strip | None = None
        self._cell: QImage | None = None
        self._empty = ""
        self._marked: int | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Layout of the test strip")

    @property
    def strip(self) -> Strip | None:
        """What is drawn."""
        return self._strip

    def show_strip(self, strip: Strip | None, cell: QImage | None = None, empty: str = "") -> None:
        """Draw a strip, each cell as that part of the photo, or say why there is none."""
        self._strip, self._cell, self._empty, self._marked = strip, cell, empty, None
        self.setAccessibleDescription(_in_words(strip) if strip else empty)
        self.update()

    def mark(self, patch: int) -> None:
        """Frame a patch."""
        self._marked = patch
        self.update()

    def sizeHint(self) -> QSize:
        """Room for a drawing."""
        return QSize(420, 460)

    def minimumSizeHint(self) -> QSize:
        """Still of use."""
        return QSize(160, 160)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The scrap, and what will be burnt on it."""
        del event
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(theme.PANE))
        strip = self._strip
        if strip is None:
            overlays.paint_message(painter, QRectF(self.rect()), self._empty)
            painter.end()
            return
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        scrap = self._placed(Box(0.0, 0.0, *strip.size_mm))
        painter.fillRect(scrap, _GLASS)
        painter.setPen(QPen(QColor(theme.EDGE), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(scrap)
        for marker in strip.markers:
            self._paint_marker(painter, self._placed(marker.box))
        for patch in strip.patches:
            self._paint_patch(painter, patch)
        for cell in strip.cells:
            self._paint_cell(painter, self._placed(cell.box))
        if self._marked is not None:
            painter.setPen(QPen(QColor(theme.ACCENT), 2.5))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            place = self._placed(strip.patches[self._marked].box)
            painter.drawRect(place.adjusted(-3, -3, 3, 3))
        if self._as_machine:
            _paint_corner(painter, scrap.topLeft())
        painter.end()

    def event(self, event: QEvent) -> bool:
        """Name what lies under the pointer."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            words = self.words_at(QPointF(event.pos()))
            if words:
                QToolTip.showText(event.globalPos(), words, self)
            else:
                QToolTip.hideText()
            return True
        return super().event(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Say which patch was pressed."""
        for number, patch in enumerate(self._strip.patches if self._strip else ()):
            if self._placed(patch.box).contains(event.position()):
                self.pressed.emit(number)
                return

    def words_at(self, spot: QPointF) -> str:
        """What lies at a place of this widget."""
        strip = self._strip
        if strip is None:
            return ""
        for cell in strip.cells:
            if self._placed(cell.box).contains(spot):
                return f"Cell of setting {cell.run + 1}: {setting_words(strip.runs[cell.run])}"
        for patch in strip.patches:
            if self._placed(patch.box).contains(spot):
                return patch_words(strip, patch)
        return ""

    @property
    def _mirrored(self) -> bool:
        return self._as_machine and self._strip is not None and self._strip.etched == "back"

    def _placed(self, box: Box) -> QRectF:
        """A rectangle of the strip, on this widget."""
        assert self._strip is not None
        width, height = self._strip.size_mm
        room_x, room_y = self.width() - 2 * _ROOM, self.height() - 2 * _ROOM
        scale = min(room_x / width, room_y / height)
        left = (self.width() - width * scale) / 2.0
        top = (self.height() - height * scale) / 2.0
        x = width - box.left_mm - box.width_mm if self._mirrored else box.left_mm
        return QRectF(
            left + x * scale, top + box.top_mm * scale, box.width_mm * scale, box.height_mm * scale
        )

    def _paint_marker(self, painter: QPainter, place: QRectF) -> None:
        quiet = place.width() / 6.0
        painter.fillRect(place.adjusted(-quiet, -quiet, quiet, quiet), _FROST)
        painter.fillRect(place, _GLASS)
        painter.fillRect(place.adjusted(quiet, quiet, -quiet, -quiet), QColor(theme.EDGE))

    def _paint_patch(self, painter: QPainter, patch: Patch) -> None:
        place = self._placed(patch.box)
        if patch.kind == "lines":
            painter.fillRect(place, _GLASS)
            count = 4
            for number in range(count):
                share = place.width() / count if patch.upright else place.height() / count
                if patch.upright:
                    line = QRectF(place.left() + number * share, place.top(), share / 2, 0)
                    line.setHeight(place.height())
                else:
                    line = QRectF(place.left(), place.top() + number * share, 0, share / 2)
                    line.setWidth(place.width())
                painter.fillRect(line, _FROST)
            return
        drive = {"bare": 0.0, "solid": 1.0}.get(patch.kind, patch.drive)
        painter.fillRect(place, _between(_GLASS, _FROST, drive))
        painter.setPen(QPen(QColor(theme.LINE), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(place)

    def _paint_cell(self, painter: QPainter, place: QRectF) -> None:
        if self._cell is None:
            painter.fillRect(place, QColor(theme.RAISED))
            return
        painter.drawImage(
            place, self._cell.flipped(Qt.Orientation.Horizontal) if self._mirrored else self._cell
        )


def _paint_corner(painter: QPainter, corner: QPointF) -> None:
    """The zero point of every run."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(theme.ACCENT))
    down, right = QPointF(0.0, _CORNER), QPointF(_CORNER, 0.0)
    away = QPointF(-2.0, -2.0)
    painter.drawPolygon(QPolygonF([corner + away, corner + away - down, corner + away - right]))


def _between(first: QColor, second: QColor, share: float) -> QColor:
    mixed = [
        round(a + (b - a) * share)
        for a, b in zip(first.getRgb()[:3], second.getRgb()[:3], strict=True)  # type: ignore[index]
    ]
    return QColor(*mixed)


def _in_words(strip: Strip) -> str:
    width, height = strip.size_mm
    return (
        f"Strip {strip.number} of {width:g} by {height:g} mm: "
        f"{counted(len(strip.cells), 'cell', 'cells')}, {len(strip.patches)} patches and "
        f"{len(strip.markers)} markers at the corners."
    )


def cell_look(folder: Path, strip: Strip) -> QImage | None:
    """What a written strip's cells show, if its file is there."""
    look = QImage(str(folder / strip.cell_look))
    return None if look.isNull() else look
