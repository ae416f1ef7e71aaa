"""What is drawn over the picture of a pane: outlines, marks, and words."""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from app import theme
from app.compare.viewport import View

PAD_PX = 8.0
ECHO_PX = 7.0
_SHADE = QColor(0, 0, 0, 150)


def paint_ground(painter: QPainter, view: View) -> None:
    """The plate where no picture has arrived yet, with its outline; device pixels."""
    plate = _snapped(view, 0.0)
    painter.fillRect(plate, QColor(theme.WINDOW))
    painter.setPen(QPen(QColor(theme.LINE), 0))
    painter.drawRect(plate.adjusted(-0.5, -0.5, 0.5, 0.5))


def paint_margin(painter: QPainter, view: View, margin_mm: float) -> None:
    """The safe margin as a thin dashed line that shows on light and on dark; device pixels."""
    inside = _snapped(view, margin_mm).adjusted(0.5, 0.5, -0.5, -0.5)
    width = max(1.0, round(view.device_ratio))
    painter.setPen(QPen(_SHADE, width))
    painter.drawRect(inside)
    dashes = QPen(QColor(theme.QUIET), width)
    dashes.setDashPattern([4.0, 4.0])
    painter.setPen(dashes)
    painter.drawRect(inside)


def _snapped(view: View, inset_mm: float) -> QRectF:
    left, top, right, bottom = view.device_rect(
        inset_mm, inset_mm, view.plate_width_mm - inset_mm, view.plate_height_mm - inset_mm
    )
    return QRectF(
        QPointF(round(left), round(top)), QPointF(max(right, left + 1), max(bottom, top + 1))
    )


def paint_echo(painter: QPainter, spot: QPointF) -> None:
    """The spot under the pointer in the other pane: a small open cross; logical pixels."""
    for colour, width in ((_SHADE, 3.0), (QColor(theme.ACCENT), 1.0)):
        painter.setPen(QPen(colour, width))
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            way = QPointF(dx, dy)
            painter.drawLine(spot + way * 3.0, spot + way * ECHO_PX)


def paint_band(painter: QPainter, band: QRectF) -> None:
    """The rectangle that is being dragged; logical pixels."""
    painter.setPen(QPen(_SHADE, 3.0))
    painter.drawRect(band)
    pen = QPen(QColor(theme.ACCENT), 1.0, Qt.PenStyle.DashLine)
    painter.setPen(pen)
    painter.drawRect(band)


def paint_tag(painter: QPainter, pane: QRectF, text: str, corner: Qt.AlignmentFlag) -> None:
    """A few words on a dark ground in a corner of the pane; logical pixels."""
    font = theme.caption_font()
    size = QFontMetricsF(font).size(Qt.TextFlag.TextSingleLine, text)
    box = QRectF(0.0, 0.0, size.width() + 2 * PAD_PX, size.height() + PAD_PX)
    inner = pane.adjusted(PAD_PX, PAD_PX, -PAD_PX, -PAD_PX)
    box.moveTopLeft(inner.topLeft())
    if corner & Qt.AlignmentFlag.AlignRight:
        box.moveRight(inner.right())
    if corner & Qt.AlignmentFlag.AlignBottom:
        box.moveBottom(inner.bottom())
    painter.save()
    painter.setFont(font)
    painter.fillRect(box, QColor(theme.WINDOW))
    painter.setPen(QColor(theme.TEXT))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.restore()


def paint_message(painter: QPainter, pane: QRectF, text: str) -> None:
    """What to do next, in the middle of an empty pane; logical pixels."""
    painter.setPen(QColor(theme.QUIET))
    box = pane.adjusted(4 * PAD_PX, PAD_PX, -4 * PAD_PX, -PAD_PX)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, text)


def paint_ring(painter: QPainter, pane: QRectF) -> None:
    """The keyboard's focus, inside the pane's edge; logical pixels."""
    painter.setPen(QPen(QColor(theme.ACCENT), 2.0))
    painter.drawRect(pane.adjusted(1.0, 1.0, -1.0, -1.0))
