"""The tone curve of a screen on a glass: frost against drive."""

import attrs
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QPainter, QPen, QShowEvent
from PySide6.QtWidgets import QWidget

from app import theme
from app.glass.axis import Axis
from app.glass.plot import Line, Plot
from app.jobs import Job
from engine.curve_points import TonePoints, tone_points
from shared.profile import GlassProfile
from shared.recipe import Screen, field_info
from shared.units import percent

_GAP_SHOWN = 0.004
"""A gap above bare glass that is smaller cannot be made out in the plot."""
_LABELS = {option.value: option.label for option in field_info("screen.kind").options}


@attrs.frozen
class _Wish:
    profile: GlassProfile
    screen: Screen
    pitch_mm: float


class TonePlot(Plot):
    """Reckons the curve on a worker; only the newest wish is shown. `stop` before it goes."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("drive, %", parent)
        self.axis = Axis(0.0, 1.0)
        self.shown: TonePoints | None = None
        self._wish: _Wish | None = None
        self._job: Job | None = None
        self._say("No screen yet")

    def show_screen(self, profile: GlassProfile, screen: Screen, pitch_mm: float) -> None:
        """Show a screen's curve on a glass at a pitch, as soon as it is reckoned."""
        wish = _Wish(profile, screen, pitch_mm)
        if wish == self._wish:
            return
        self._wish = wish
        self.shown, self.lines, self.caption = None, (), ""
        self._say(f"{_LABELS[screen.kind]}: reckoning its tones\u2026")
        self._start()

    def stop(self) -> None:
        """Drop what is wanted and wait for what runs."""
        self._wish = None
        if self._job is not None:
            self._job.wait()

    def showEvent(self, event: QShowEvent) -> None:
        """What was wished for while nobody looked is reckoned now."""
        super().showEvent(event)
        self._start()

    def tick_text(self, value: float) -> str:
        """Drives in percent."""
        return f"{100.0 * value:.3g}"

    def paint_before(self, painter: QPainter) -> None:
        """A step where the screen leaves a gap above bare glass."""
        if self.shown is None or self.shown.least <= _GAP_SHOWN:
            return
        foot, top = self.place_of(0.0, 0.0), self.place_of(0.0, self.shown.least)
        painter.setPen(QPen(QColor(theme.WARN), 2))
        painter.drawLine(foot + QPointF(1, 0), top + QPointF(1, 0))
        painter.setPen(QColor(theme.WARN))
        gap = f"\u26a0 gap from bare glass to {percent(self.shown.least)}"
        painter.drawText(foot + QPointF(8, -5), gap)

    def _start(self) -> None:
        """One job at a time; the end of it starts the newest wish."""
        wish = self._wish
        if wish is None or self._job is not None or self.shown is not None or not self.isVisible():
            return
        job = Job(lambda _: tone_points(wish.profile, wish.screen, wish.pitch_mm), self)
        job.succeeded.connect(lambda found: self._show(wish, found))
        job.failed.connect(self._say)
        job.finished.connect(self._ended)
        self._job = job
        job.start()

    def _show(self, wish: _Wish, found: object) -> None:
        assert isinstance(found, TonePoints)
        if wish != self._wish:
            return
        self.shown = found
        self.lines = (Line(_LABELS[wish.screen.kind], found.points),)
        how = "measured" if found.measured else "reckoned"
        half = next((drive for drive, frost in found.points if frost >= 0.5), None)
        words = f"{_LABELS[wish.screen.kind]}, {how}: lightest tone {percent(found.least)} frost, "
        words += f"half frost at {percent(half)} drive, " if half is not None else ""
        self.message, self.caption = "", f"{_LABELS[wish.screen.kind]}, {how}"
        self.setAccessibleDescription(f"{words}fullest {percent(found.points[-1][1])}.")
        self.update()

    def _ended(self) -> None:
        job, self._job = self._job, None
        if job is not None:
            job.deleteLater()
        self._start()

    def _say(self, sentence: str) -> None:
        self.message = sentence
        self.setAccessibleDescription(sentence)
        self.update()
