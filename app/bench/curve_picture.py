"""Painting the curve editor."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen

from app import theme

if TYPE_CHECKING:
    from app.bench.curve_editor import CurveEditor

_RADIUS = 4.5


def paint_curve(editor: "CurveEditor", table: Sequence[float], counts: Sequence[float]) -> None:
    """Paint the ground, the histogram, the line and the points."""
    painter = QPainter(editor)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(theme.LINE), 1))
    painter.setBrush(QColor(theme.PANE))
    painter.drawRoundedRect(QRectF(editor.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
    _paint_histogram(painter, editor, counts)
    _paint_guides(painter, editor)
    _paint_words(painter, editor)
    _paint_line(painter, editor, table)
    _paint_points(painter, editor)
    if editor.hasFocus():
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(theme.ACCENT), 2))
        painter.drawRoundedRect(QRectF(editor.rect()).adjusted(1, 1, -1, -1), 3, 3)


def _paint_histogram(painter: QPainter, editor: "CurveEditor", counts: Sequence[float]) -> None:
    if len(counts) < 3:
        return
    inner = max(*counts[1:-1], 1e-12)
    path = QPainterPath(editor.place_of(0.0, 0.0))
    for number, count in enumerate(counts):
        path.lineTo(editor.place_of(number / (len(counts) - 1), min(count / inner, 1.0)))
    path.lineTo(editor.place_of(1.0, 0.0))
    painter.fillPath(path, QColor(theme.RAISED))


def _paint_guides(painter: QPainter, editor: "CurveEditor") -> None:
    painter.setPen(QPen(QColor(theme.LINE), 1))
    for share in (0.25, 0.5, 0.75):
        painter.drawLine(editor.place_of(share, 0.0), editor.place_of(share, 1.0))
        painter.drawLine(editor.place_of(0.0, share), editor.place_of(1.0, share))
    painter.setPen(QPen(QColor(theme.EDGE), 1, Qt.PenStyle.DashLine))
    painter.drawLine(editor.place_of(0.0, 0.0), editor.place_of(1.0, 1.0))


def _paint_words(painter: QPainter, editor: "CurveEditor") -> None:
    painter.setFont(theme.caption_font())
    painter.setPen(QColor(theme.QUIET))
    area = editor.area().adjusted(3, 2, -3, -2)
    flag = Qt.AlignmentFlag
    painter.drawText(area, flag.AlignTop | flag.AlignLeft, "frost")
    painter.drawText(area, flag.AlignBottom | flag.AlignRight, "bare")


def _paint_line(painter: QPainter, editor: "CurveEditor", table: Sequence[float]) -> None:
    path = QPainterPath(editor.place_of(0.0, table[0]))
    for number, output in enumerate(table):
        path.lineTo(editor.place_of(number / (len(table) - 1), output))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(QColor(theme.TEXT), 1.75))
    painter.drawPath(path)


def _paint_points(painter: QPainter, editor: "CurveEditor") -> None:
    for index, (x, y) in enumerate(editor.points):
        place: QPointF = editor.place_of(x, y)
        chosen = index == editor.chosen and editor.hasFocus()
        painter.setPen(QPen(QColor(theme.TEXT), 1.5))
        painter.setBrush(QColor(theme.ACCENT if chosen else theme.PANE))
        radius = _RADIUS + 1.0 if chosen else _RADIUS
        painter.drawEllipse(place, radius, radius)
