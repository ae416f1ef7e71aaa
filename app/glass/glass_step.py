"""The step Glass of the bench, joined to the session: profile, curve, modulation."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QDialog

from app.glass.origin_line import GUESS
from shared.errors import RimetypeError
from shared.profile import GlassProfile
from shared.profile_file import read_profile
from shared.stale import stale_today

if TYPE_CHECKING:
    from app.glass.glass_panel import GlassPanel
    from app.studio import Studio
    from engine.glass_report import GlassReport
    from engine.view import Picture

_PIXELS_PERCENT = 100.0
"""Below this zoom, what compensation does cannot be seen."""


class GlassStep(QObject):
    """Keeps the head of the step true and takes what the user wants of the profile.

    The head is made, and what it needs imported, when the step is first opened.
    """

    def __init__(self, studio: "Studio") -> None:
        super().__init__(studio)
        self._studio = studio
        self.panel: GlassPanel | None = None
        studio.fitted.changed.connect(self.follow)
        studio.renderer.reported.connect(self._reported)
        studio.bench.step_opened.connect(self._step_opened)
        self.follow()

    @property
    def is_open(self) -> bool:
        """Whether the user looks at this step."""
        return self._studio.bench.open_name == "glass"

    def _make_panel(self) -> "GlassPanel":
        from app.glass.glass_panel import GlassPanel

        panel = GlassPanel()
        self._studio.bench.add_to_step("glass", panel, "top")
        panel.profile_chosen.connect(self._take)
        panel.edit_wanted.connect(self.edit)
        panel.compare_wanted.connect(self.compare)
        panel.save_wanted.connect(self.save)
        panel.open_wanted.connect(self.open)
        panel.strip_wanted.connect(self._studio.open_strip)
        panel.fitted_wanted.connect(self._studio.dialogs.fitted)
        return panel

    def follow(self) -> None:
        """Show the session's profile and the bench's screen."""
        studio = self._studio
        recipe, profile = studio.recipe, studio.session.profile
        reasons = stale_today(profile, studio.fitted.now, recipe.plate.thickness_mm)
        studio.bench.set_summary("glass", _summary(profile, stale=bool(reasons)))
        if self.panel is None:
            return
        if profile != self.panel.profile:
            self.panel.show_profile(profile)
        self.panel.show_stale(reasons)
        self.panel.show_screen(recipe.screen, recipe.plate.pitch_mm)

    def show_compensation(self) -> None:
        """The proof without compensation on the left, with it on the right, in etch pixels.

        The take that the bench works on keeps its recipe; the other one becomes its counterpart.
        """
        studio, compare = self._studio, self._studio.compare
        if studio.session.prepared is None:
            studio.notice.warn("Open a photo first; then both proofs can be shown.")
            return
        take, recipe = studio.take, studio.recipe
        other = "B" if take == "A" else "A"
        on = recipe.glass.compensate > 0.0
        counterpart = recipe.changed(glass__compensate=0.0 if on else 1.0)
        words = "without" if on else "with"
        studio.session.set_recipe(other, counterpart, f"{words.capitalize()} it in {other}")
        sides = (other, take) if on else (take, other)
        compare.set_mode("side")
        for pane, shown in enumerate(sides):
            compare.set_take(pane, shown)
            compare.set_stage(pane, "proof")
        compare.set_active(sides.index(take))
        if compare.viewport.percent < _PIXELS_PERCENT:
            compare.viewport.zoom_one_to_one()
        studio.panes.refresh()
        studio.notice.tell(
            f"Left without, right with making up for spread. Take {other} is take {take} "
            f"{words} it; undo brings the old take {other} back."
        )

    def show_tones(self, picture: "Picture") -> None:
        """The photo's tones on the characteristic curve."""
        if self.panel is not None and self.is_open:
            from engine.drive import aim_of
            from engine.glass_report import frost_counts

            aim = aim_of(self._studio.recipe, self._studio.session.profile)
            self.panel.set_tones(frost_counts(picture.looks, aim).tolist())

    def stop(self) -> None:
        """Let nothing be reckoned any more."""
        if self.panel is not None:
            self.panel.stop()

    def _step_opened(self, name: str) -> None:
        self._studio.panes.report_wanted = name == "glass"
        if name == "glass":
            if self.panel is None:
                self.panel = self._make_panel()
                self.follow()
            self._studio.panes.refresh()

    def _reported(self, report: "GlassReport") -> None:
        if self.panel is not None:
            self.panel.set_modulation(report.modulation, report.ran_out)

    def _take(self, profile: GlassProfile) -> None:
        self._studio.session.set_profile(profile)

    def edit(self) -> None:
        """The form of the profile."""
        from app.glass.profile_dialog import ProfileDialog

        dialog = ProfileDialog(self._studio.session.profile, self._studio.settings, self._studio)
        dialog.accepted.connect(
            lambda: self._studio.session.set_profile(dialog.profile, "Edit the glass profile")
        )
        self._run(dialog)

    def compare(self) -> None:
        """Two profiles in one plot."""
        from app.glass.compare_dialog import CompareDialog

        self._run(CompareDialog(self._studio.session.profile, self._studio.settings, self._studio))

    def _run(self, dialog: QDialog) -> None:
        self._studio.dialogs.run(dialog)

    def save(self) -> None:
        """Keep the profile in a file."""
        from app.glass import profile_files

        studio, profile = self._studio, self._studio.session.profile
        path = profile_files.ask_save(studio, studio.settings, profile.name)
        if path is None:
            return
        try:
            profile_files.save_profile(profile, path, overwrite=True)
        except RimetypeError as error:
            studio.notice.warn(str(error))
        else:
            studio.notice.tell(f"Saved the glass profile as {path.name}.")

    def open(self) -> None:
        """Choose a profile's file."""
        from app.glass import profile_files

        path = profile_files.ask_open(self._studio, self._studio.settings)
        if path is not None:
            self.open_file(path)

    def open_file(self, path: Path) -> None:
        """Work with the profile of a file."""
        try:
            self._take(read_profile(path))
        except RimetypeError as error:
            self._studio.notice.warn(str(error))


def _summary(profile: GlassProfile, *, stale: bool) -> str:
    """What the closed step says of the profile."""
    if profile.origin == GUESS:
        return profile.origin
    return f"\u26a0 stale: {profile.name}" if stale else profile.name
