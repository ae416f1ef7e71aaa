"""The measured dot gain of each screen as a table that can be edited, one screen at a time."""

from typing import Any

import attrs
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app import theme
from app.glass.exact_table import ExactTable
from app.glass.row_table import Row
from engine.facts import screen_label
from shared.errors import ProfileError
from shared.profile import Gain, GlassProfile, ScreenGains
from shared.profile_fields import figures
from shared.recipe import field_info

SCREENS = tuple(
    str(option.value)
    for option in field_info("screen.kind").options
    if option.value not in ("continuous", "threshold")
)
"""Those that have a dot gain; the curve itself serves the continuous screen."""
NOTE = (
    "What a screen's drive came out as. Three or more points replace what is reckoned from beam, "
    "curve and spread."
)
_STEP = 0.1


class GainPoints(ExactTable):
    """The points of one screen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Dot gain", "Dot gain point", tuple(figures(Gain).values()), parent)

    def points(self) -> tuple[Gain, ...]:
        """The points as they stand; ProfileError when one cannot be."""
        found = []
        for number, row in enumerate(self.rows(), start=1):
            try:
                found.append(Gain(*row))
            except ProfileError as problem:
                raise ProfileError(f"Dot gain point {number}: {problem}") from None
        return tuple(found)

    def _next(self) -> Row:
        """A point a tenth further on than the last."""
        try:
            last = self.points()[-1]
        except (IndexError, ProfileError):
            return (_STEP, _STEP, 0.0)
        return attrs.astuple(attrs.evolve(last, drive=min(1.0, round(last.drive + _STEP, 6))))


class GainsTable(QWidget):
    """Chooses the screen whose points are shown, and keeps those of the others."""

    edited = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._kept: dict[str, tuple[Gain, ...]] = {}
        self._shown = SCREENS[0]
        self.chooser = QComboBox()
        self.chooser.setAccessibleName("Screen whose dot gain is shown")
        for kind in SCREENS:
            self.chooser.addItem(screen_label(kind), kind)
        self.chooser.activated.connect(self._choose)
        self.points = GainPoints()
        self.points.edited.connect(self.edited)
        note = QLabel(NOTE)
        note.setWordWrap(True)
        theme.as_caption(note)
        label = QLabel("&Screen")
        label.setBuddy(self.chooser)
        row = QHBoxLayout()
        row.setSpacing(theme.GRID)
        row.addWidget(label)
        row.addWidget(self.chooser, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.GRID)
        column.addWidget(note)
        column.addLayout(row)
        column.addWidget(self.points)

    def set_gains(self, profile: GlassProfile) -> None:
        """Show a profile's points, without telling anybody: first those of a screen that has some,
        unless the screen that is shown has."""
        self._kept = {gains.screen: gains.points for gains in profile.gains}
        if not self._kept.get(self._shown):
            self._shown = next((k for k in SCREENS if self._kept.get(k)), self._shown)
        self.chooser.setCurrentIndex(SCREENS.index(self._shown))
        self._show()

    def gains(self) -> tuple[ScreenGains, ...]:
        """All screens that have points; ProfileError when one point cannot be."""
        points = self.points.points()
        if points != _rising(self._kept.get(self._shown, ())):
            self._kept[self._shown] = points
        kept: dict[str, Any] = {kind: known for kind, known in self._kept.items() if known}
        return tuple(ScreenGains(kind, known) for kind, known in kept.items())

    def _choose(self) -> None:
        try:
            self.gains()
        except ProfileError:
            self.chooser.setCurrentIndex(SCREENS.index(self._shown))
            return
        self._shown = str(self.chooser.currentData())
        self._show()

    def _show(self) -> None:
        rising = _rising(self._kept.get(self._shown, ()))
        self.points.set_rows([attrs.astuple(point) for point in rising])


def _rising(points: tuple[Gain, ...]) -> tuple[Gain, ...]:
    return tuple(sorted(points, key=lambda point: point.drive))
