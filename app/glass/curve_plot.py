"""The characteristic curve: frost against fluence, with the photo's tones on it."""

import math
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QWidget

from app import theme
from app.glass.axis import Axis
from app.glass.curve_marks import Mark, curve_in_words, marks_of, reach_of, tones_in_words
from app.glass.plot import Line, Plot, joined
from engine.curve_points import characteristic_points, tones_along_fluence
from shared.profile import GENERIC, GlassProfile, Knot

_GAP = 4.0
_RADIUS = 3.0
_BARB = 3.0


class CurvePlot(Plot):
    """Shows one profile, and a second one beside it for comparing."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("fluence, J/mm\u00b2", parent)
        self.profile = GENERIC
        self._second: GlassProfile | None = None
        self._counts: Sequence[float] = ()
        self._tones: Sequence[float] = ()
        self._marks: tuple[Mark, ...] = ()
        self.show_profile(GENERIC)

    def show_profile(self, profile: GlassProfile, second: GlassProfile | None = None) -> None:
        """Draw a profile's curve, and another's, dashed, in the same axes."""
        self.profile, self._second = profile, second
        shown = [profile] if second is None else [profile, second]
        low, high = reach_of(shown)
        self.axis = Axis(low, high, by_decades=True)
        self.lines = tuple(
            Line(f"{p.name} ({p.origin})", characteristic_points(p, low, high), p is not profile)
            for p in shown
        )
        self._marks = marks_of(profile)
        self._follow_tones()

    def set_tones(self, counts: Sequence[float]) -> None:
        """How often each frost comes in the photo, at even frosts from 0 to 1; empty for none."""
        self._counts = counts
        self._follow_tones()

    def head_room(self) -> float:
        """Legend and rows of marks."""
        rows = max((row for _, _, row in self._labels()), default=-1) + 1
        return super().head_room() + rows * self.metrics.height()

    def paint_behind(self, painter: QPainter) -> None:
        """The setting's reach, and the tones."""
        area = self.area()
        ends = [self.place_of(m.fluence, 0.0).x() for m in self._marks if m.of_setting]
        if len(ends) == 2:
            reach = QRectF(QPointF(ends[0], area.top()), QPointF(ends[1], area.bottom()))
            painter.fillRect(reach, QColor(theme.WINDOW))
        self.paint_counts(painter, self._tones)

    def paint_before(self, painter: QPainter) -> None:
        """Marks and measured points."""
        base = super().head_room() - _GAP
        high, area = self.metrics.height(), self.area()
        labels = self._labels()
        for mark, _, row in labels:
            x = math.floor(self.place_of(mark.fluence, 0.0).x()) + 0.5
            painter.setPen(_pen_of(mark))
            painter.drawLine(QPointF(x, base + row * high + 2), QPointF(x, area.bottom()))
        for mark, room, row in labels:
            place = room.translated(0.0, base + row * high)
            painter.fillRect(place.adjusted(2, 1, -1, -1), QColor(theme.PANE))
            painter.setPen(_pen_of(mark).color())
            painter.drawText(place, Qt.AlignmentFlag.AlignCenter, mark.text)
        if self._second is not None:
            self._paint_knots(painter, self._second.knots, theme.QUIET)
        self._paint_knots(painter, self.profile.knots, theme.TEXT)

    def _follow_tones(self) -> None:
        low, high = self.axis.low, self.axis.high
        self._tones = ()
        if len(self._counts) > 1:
            self._tones = tones_along_fluence(self._counts, self.profile, low, high)
        beside = f"Beside it: {curve_in_words(self._second)}" if self._second else ""
        words = (curve_in_words(self.profile), tones_in_words(self._tones, low, high), beside)
        self.setAccessibleDescription(joined(words))
        self.update()

    def _labels(self) -> list[tuple[Mark, QRectF, int]]:
        """Each mark with its text's place across and its row, so that no two texts touch."""
        words = self.metrics
        left, right = self.sides()
        ends: list[float] = []
        found = []
        for mark in sorted(self._marks, key=lambda mark: mark.fluence):
            wide = words.horizontalAdvance(mark.text) + 2 * _GAP
            x = left + self.axis.share(mark.fluence) * (right - left)
            start = x if x + wide <= right else x - wide
            row = next((n for n, end in enumerate(ends) if end <= min(start, x)), len(ends))
            ends[row : row + 1] = [max(start + wide, x)]
            found.append((mark, QRectF(start, 0.0, wide, words.height()), row))
        return found

    def _paint_knots(self, painter: QPainter, knots: Sequence[Knot], colour: str) -> None:
        painter.setPen(QPen(QColor(colour), 1.25))
        painter.setBrush(QColor(theme.PANE))
        for knot in knots:
            place = self.place_of(knot.fluence_j_mm2, knot.frost)
            for end in (knot.frost - knot.scatter, knot.frost + knot.scatter):
                tip = self.place_of(knot.fluence_j_mm2, end)
                painter.drawLine(place, tip)
                painter.drawLine(tip - QPointF(_BARB, 0), tip + QPointF(_BARB, 0))
            painter.drawEllipse(place, _RADIUS, _RADIUS)


def _pen_of(mark: Mark) -> QPen:
    if mark.of_setting:
        return QPen(QColor(theme.TEXT), 1)
    return QPen(QColor(theme.QUIET), 1, Qt.PenStyle.DotLine)
