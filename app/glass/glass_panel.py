"""The head of the step Glass: which profile, its curve with the photo's tones, and its detail."""

from collections.abc import Sequence

import attrs
from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app import theme
from app.compare.controls import QuietCombo
from app.glass.curve_plot import CurvePlot
from app.glass.modulation_table import ModulationTable
from app.glass.origin_line import OriginLine
from app.glass.tone_plot import TonePlot
from engine.compensate import Modulation
from shared.profile import GENERIC, GlassProfile
from shared.profile_file import starting_guesses
from shared.recipe import Screen

OPEN = "Open profile..."
_TIP = Qt.ItemDataRole.ToolTipRole
_TONES_HIGH = 128
_CURVE_HIGH = 168


class GlassPanel(QWidget):
    """Shows one profile; what the user wants of it is told by signals. `stop` before it goes."""

    profile_chosen = Signal(object)
    edit_wanted = Signal()
    compare_wanted = Signal()
    save_wanted = Signal()
    open_wanted = Signal()
    strip_wanted = Signal()
    fitted_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.profile = GENERIC
        self._screen: Screen | None = None
        self._pitch_mm = GENERIC.setting.pitch_mm
        self._guesses = tuple(starting_guesses().values())
        self._known: tuple[GlassProfile, ...] = ()
        self.chooser = QuietCombo()
        self.chooser.setAccessibleName("Glass profile")
        self.chooser.setSizeAdjustPolicy(
            QuietCombo.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.chooser.activated.connect(self._chosen)
        self.origin = OriginLine()
        self.note = QLabel()
        self.note.setWordWrap(True)
        self.note.setAccessibleName("Note of the glass profile")
        theme.as_caption(self.note)
        self.stale = QLabel()
        self.stale.setWordWrap(True)
        self.stale.setProperty("role", "warning")
        self.stale.setAccessibleName("Why the glass profile may not hold")
        self.stale.hide()
        self.curve = CurvePlot()
        self.curve.setFixedHeight(_CURVE_HIGH)
        self.tones = TonePlot()
        self.tones.setFixedHeight(_TONES_HIGH)
        self.modulation = ModulationTable()
        self.edit, self.compare, self.save, self.strip, self.fitted = self._make_buttons()
        self._lay_out()
        self.show_profile(GENERIC)

    def show_profile(self, profile: GlassProfile) -> None:
        """Show another profile, without telling anybody."""
        self.profile = profile
        self.origin.show_origin(profile)
        self.note.setText(profile.note)
        self.note.setVisible(bool(profile.note))
        self._fill_chooser()
        self._follow()

    def set_known(self, profiles: Sequence[GlassProfile]) -> None:
        """Offer the profiles that were used last."""
        self._known = tuple(profiles)
        self._fill_chooser()

    def show_stale(self, reasons: Sequence[str]) -> None:
        """Say why the profile may not hold for what is fitted now; nothing if it does."""
        self.stale.setText(f"\u26a0 It may not hold any more. {' '.join(reasons)}")
        self.stale.setVisible(bool(reasons))

    def show_screen(self, screen: Screen, pitch_mm: float) -> None:
        """Show the tone curve of a screen, and the setting's fluences, at the plate's pitch."""
        self._screen, self._pitch_mm = screen, pitch_mm
        self._follow()

    def set_tones(self, counts: Sequence[float]) -> None:
        """How often each frost comes, at even frosts from 0 to 1; empty without a photo."""
        self.curve.set_tones(counts)

    def set_modulation(self, rows: Sequence[Modulation], ran_out: float | None = None) -> None:
        """How much of the look's modulation is left; `ran_out` is the share of the plate, 0 to 1,
        on which the frost that compensation would need cannot be made."""
        self.modulation.set_rows(rows, ran_out)

    def stop(self) -> None:
        """Wait for what is being reckoned."""
        self.tones.stop()

    def _follow(self) -> None:
        setting = attrs.evolve(self.profile.setting, pitch_mm=self._pitch_mm)
        self.curve.show_profile(attrs.evolve(self.profile, setting=setting))
        if self._screen is not None:
            self.tones.show_screen(self.profile, self._screen, self._pitch_mm)

    def _fill_chooser(self) -> None:
        """Profiles used last, starting guesses, and before them one that is neither."""
        box = self.chooser
        box.clear()
        known = [profile for profile in self._known if profile not in self._guesses]
        own = [] if self.profile in (*known, *self._guesses) else [self.profile]
        for group in ([*own, *known], self._guesses):
            for profile in group:
                box.addItem(profile.name, profile)
                box.setItemData(box.count() - 1, profile.origin, _TIP)
                if profile == self.profile:
                    box.setCurrentIndex(box.count() - 1)
            if group:
                box.insertSeparator(box.count())
        box.addItem(OPEN)
        box.setToolTip(f"{self.profile.name}: {self.profile.origin}")

    def _chosen(self, row: int) -> None:
        """The owner answers by `show_profile`; until then the box shows what holds."""
        wanted = self.chooser.itemData(row)
        self._fill_chooser()
        if wanted is None:
            self.open_wanted.emit()
        elif wanted != self.profile:
            self.profile_chosen.emit(wanted)

    def _make_buttons(self) -> list[QPushButton]:
        wishes = (
            ("Edit...", "Edit the glass profile", self.edit_wanted),
            ("Compare...", "Compare the glass profile with another", self.compare_wanted),
            ("Save as...", "Save the glass profile as a file", self.save_wanted),
            ("Test strip...", "Measure this glass with a test strip (Ctrl+T)", self.strip_wanted),
            (
                "Fitted now...",
                "Say which tube, lens, focus and glass are there",
                self.fitted_wanted,
            ),
        )
        made = []
        for text, name, signal in wishes:
            button = QPushButton(text)
            button.setAccessibleName(name)
            button.setToolTip(name)
            button.clicked.connect(signal)
            made.append(button)
        return made

    def _lay_out(self) -> None:
        label = QLabel("Glass profile")
        label.setBuddy(self.chooser)
        grid = QGridLayout()
        grid.setSpacing(theme.GRID)
        for column, button in enumerate((self.edit, self.compare, self.save)):
            grid.addWidget(button, 0, 2 * column, 1, 2)
        for column, button in enumerate((self.strip, self.fitted)):
            grid.addWidget(button, 1, 3 * column, 1, 3)
        everything = QVBoxLayout(self)
        everything.setContentsMargins(0, 0, 0, 0)
        everything.setSpacing(6)
        above: tuple[QWidget, ...] = (label, self.chooser, self.origin, self.stale, self.note)
        below: tuple[QWidget, ...] = (self.curve, self.tones, self.modulation)
        for widget in above:
            everything.addWidget(widget)
        everything.addLayout(grid)
        for widget in below:
            everything.addWidget(widget)
