"""The test strip joined to the studio: its page, its menu entries and what becomes of profiles."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QImage

from app.fitted_file import with_fitted
from app.glass import profile_files
from app.qimage import image_from_array
from app.strip.check_dialog import CheckDialog
from app.strip.latest import Latest
from app.strip.planning import Planning
from app.strip.refinements import Refinements
from app.strip.strip_dialog import StripDialog
from app.strip.work import StripWork
from engine.strip.cells import small_photo
from engine.strip.make_files import STRIP
from shared.errors import RimetypeError
from shared.profile import GlassProfile

if TYPE_CHECKING:
    from app.studio import Studio


class StripPage(QObject):
    """Keeps the strip's work between two openings of the page."""

    def __init__(self, studio: "Studio") -> None:
        super().__init__(studio)
        self._studio = studio
        self.work = StripWork(studio.settings, self)
        self.planning = Planning(
            studio.session,
            lambda: studio.recipe,
            lambda: with_fitted(studio.session.profile, studio.fitted.now),
            self,
        )
        self.planning.written.connect(self._take_up)
        self._checks = Latest(self)
        self._refinements = Refinements()

    def open(self) -> None:
        """Show the page, with the strip that was worked on last."""
        studio = self._studio
        self.work.bring_back()
        dialog = StripDialog(
            self.work, self.planning, studio.session, studio.settings, self._photo(), studio
        )
        dialog.profile_taken.connect(lambda profile: self._take(dialog, profile))
        dialog.save_wanted.connect(lambda profile: self._save(dialog, profile))
        studio.dialogs.run(dialog)

    def check(self) -> None:
        """Compare a photo of the finished piece with the plate of the active take."""
        studio = self._studio
        prepared = studio.session.prepared
        if prepared is None:
            studio.notice.warn("Open the piece's photo or session first; then it can be checked.")
            return
        dialog = CheckDialog(
            prepared,
            studio.take,
            studio.recipe,
            studio.session.profile,
            studio.settings,
            self._checks,
            self._refinements,
            studio,
        )
        dialog.refined.connect(self._refine)
        studio.dialogs.run(dialog)

    def stop(self) -> None:
        """End all work; the window closes."""
        self.planning.stop()
        self.work.stop()
        self._checks.stop()

    def _photo(self) -> QImage | None:
        prepared = self._studio.session.prepared
        return image_from_array(small_photo(prepared)) if prepared is not None else None

    def _take_up(self, folder: Path) -> None:
        """Work with a strip that was written, although its page may be closed by now."""
        self.work.open_strip(folder / STRIP)
        self.work.set_step("burn")

    def _take(self, dialog: StripDialog, profile: GlassProfile) -> None:
        """Work with what the strip taught, and keep it beside the strip."""
        studio, folder = self._studio, self.work.folder
        studio.session.set_profile(profile, f"Profile of the test strip, {profile.name}")
        studio.fitted.suppose(profile)
        assert folder is not None
        name = f"{profile_files.file_stem(profile.name)}.{profile_files.SUFFIX}"
        try:
            profile_files.save_profile(profile, folder / name, studio.settings, overwrite=True)
        except RimetypeError as error:
            dialog.choose.state.warn(f"The session works with this profile, unsaved. {error}")
            return
        studio.glass.files_changed()
        dialog.choose.state.tell(
            f"The session now works with this profile. It is kept beside the strip, as {name}, "
            "and step Glass lists it."
        )

    def _refine(self, profile: GlassProfile) -> None:
        self._studio.session.set_profile(profile, "Refine the glass profile by a finished piece")

    def _save(self, dialog: StripDialog, profile: GlassProfile) -> None:
        path = profile_files.ask_save(dialog, self._studio.settings, profile.name)
        if path is None:
            return
        try:
            profile_files.save_profile(profile, path, self._studio.settings, overwrite=True)
        except RimetypeError as error:
            dialog.choose.state.warn(str(error))
        else:
            self._studio.glass.files_changed()
            dialog.choose.state.tell(f"Saved {path.name}; step Glass lists it.")
