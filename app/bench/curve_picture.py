"""Painting the curve editor: a tone scale from bare glass to full frost on both sides."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen

from app import theme

if TYPE_CHECKING:
    from app.bench.curve_editor import CurveEditor

_RADIUS = 4.5
_PATCHES = 11
_GAP = 7.0
_THICK = 5.0


def paint_curve(editor: "CurveEditor", table: Sequence[float], counts: Sequence[float]) -> None:
    """Paint the ground, the step wedges, the histogram, the line and the points."""
    painter = QPainter(editor)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(theme.LINE), 1))
    painter.setBrush(QColor(theme.PANE))
    painter.drawRoundedRect(QRectF(editor.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
    _paint_histogram(painter, editor, counts)
    _paint_guides(painter, editor)
    _paint_wedges(painter, editor.area())
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
    for tenth in (0, 5, 10):
        painter.drawLine(editor.place_of(0.0, tenth / 10), editor.place_of(1.0, tenth / 10))
        painter.drawLine(editor.place_of(tenth / 10, 0.0), editor.place_of(tenth / 10, 1.0))
    painter.setPen(QPen(QColor(theme.EDGE), 1, Qt.PenStyle.DotLine))
    painter.drawLine(editor.place_of(0.0, 0.0), editor.place_of(1.0, 1.0))


def _paint_wedges(painter: QPainter, area: QRectF) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    across, down = area.width() / _PATCHES, area.height() / _PATCHES
    for patch in range(_PATCHES):
        grey = round(255 * patch / (_PATCHES - 1))
        painter.setBrush(QColor(grey, grey, grey))
        painter.drawRect(QRectF(area.left() + patch * across, area.bottom() + _GAP, across, _THICK))
        top = area.bottom() - (patch + 1) * down
        painter.drawRect(QRectF(area.left() - _GAP - _THICK, top, _THICK, down))


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
