"""After the burn: a photo of the finished piece held against the plate; a map of what differs."""

from collections.abc import Callable
from pathlib import Path

import attrs
from PySide6.QtCore import QRectF, Signal
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app import theme
from app.dropping import DropSign
from app.qimage import image_from_array
from app.settings import Settings
from app.strip.burnt_with import BurntWith
from app.strip.check_words import (
    DROP,
    HOW,
    NOT_MEASURED,
    OF_PLACES,
    OWN_PHOTO,
    REFINED_EARLIER,
    SAY_WHICH,
    STOPPED,
    USED,
)
from app.strip.latest import Latest
from app.strip.parts import Sentence, caption, keep_focus, prose, push
from app.strip.photograph_page import ask_photo, dropped_photos
from app.strip.progress_row import ProgressRow
from app.strip.refinements import Refinements
from app.strip.strip_photo import StripPhoto
from app.strip.words import in_inches
from engine import glass
from engine.colour import eight_bit
from engine.flow import Prepared
from engine.plate_bitmap import burn
from engine.progress import part
from engine.strip.check import Check, check_piece
from engine.strip.check_map import REACH_L, difference_picture
from engine.strip.check_refine import REFINED, refined
from engine.strip.photos import open_photos
from shared.errors import InputError, RimetypeError
from shared.profile import GlassProfile
from shared.recipe import Recipe

_FRAME_MM = 2.0
_BURNT, _FORETOLD, _OPENED = 0.3, 0.4, 0.45
"""Shares of the progress at which the plate, its frost and the photo are known."""


@attrs.frozen(eq=False)
class _Compared:
    check: Check
    fingerprint: str
    """Of the photo that was compared."""


class CheckDialog(QDialog):
    """`refined(profile)` when the user takes the offer. `work` and `refinements` outlive the
    dialog.

    The plate is burnt with the profile that it was made with; what it should give is foretold by
    the newest version of it.
    """

    refined = Signal(object)

    def __init__(
        self,
        prepared: Prepared,
        take: str,
        recipe: Recipe,
        profile: GlassProfile,
        settings: Settings,
        work: Latest,
        refinements: Refinements,
        parent: QWidget | None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Check a finished piece")
        self._prepared, self._recipe, self._profile = prepared, recipe, profile
        self._settings = settings
        self._work = work
        self._refinements = refinements
        self._photos: tuple[Path, Path | None] | None = None
        self._compared: _Compared | None = None
        versions = refinements.versions(profile)
        how = HOW.format(take=take, profile=profile.name)
        self.how = prose(f"{how} {REFINED_EARLIER}" if REFINED in versions[-1].note else how)
        self.burnt_with = BurntWith()
        self.burnt_with.chosen.connect(self._compare)
        self.choose = push("Choose the photo...", self._ask, main=True)
        self.add = push("Add a darker one...", self._ask_darker)
        self.add.setEnabled(False)
        self.add.setToolTip("Choose the photo first")
        self.map = StripPhoto("Map of the lightness error")
        self.legend = caption(
            f"Grey is as wanted; pale amber came out lighter, blue came out darker, in full colour "
            f"from {REACH_L:g} L* on. The frame shows the worst place."
        )
        self.progress = ProgressRow("Checking", self._stop)
        work.progressed.connect(self.progress.show_share)
        work.rested.connect(self._rested)
        self.state = Sentence()
        self.refine = push("Refine the profile", self._refine)
        self._lay_out()
        self.setAcceptDrops(True)
        self.sign = DropSign(self)
        self._show_none(DROP)
        self.burnt_with.show_versions(versions)
        (self.choose if self.burnt_with.profile else self.burnt_with.box).setFocus()

    @property
    def check(self) -> Check | None:
        """What was found."""
        return self._compared.check if self._compared else None

    def take_photo(self, path: Path, darker: Path | None = None) -> None:
        """Compare a photo, perhaps with a second one, with the plate."""
        self._photos = (path, darker)
        self.add.setEnabled(True)
        self.add.setToolTip("")
        self._compare()

    def take_darker(self, path: Path) -> None:
        """Compare the same photo once more, with a second one."""
        if self._photos is not None:
            self.take_photo(self._photos[0], path)

    def _compare(self) -> None:
        if self._photos is None:
            return
        made_with = self.burnt_with.profile
        if made_with is None:
            self.state.warn(SAY_WHICH)
            return
        prepared, recipe, profile = self._prepared, self._recipe, self._profile
        photo, darker = self._photos
        limit = self._settings.limit_mp

        def work(progress: Callable[[float], None]) -> _Compared:
            done = burn(prepared, recipe, made_with, part(progress, 0.0, _BURNT))
            frost = done.frost(profile, part(progress, _BURNT, _FORETOLD))
            ends = glass.ends(profile.light, recipe.glass.backing, recipe.plate.mark)
            opened = open_photos(photo, darker, limit)
            if opened.first.fingerprint == prepared.photo.fingerprint:
                raise InputError(OWN_PHOTO)
            progress(_OPENED)
            second = opened.darker
            if second is not None:
                second = attrs.evolve(second, pixels=eight_bit(second.pixels))
            pixels, pitch_mm = eight_bit(opened.first.pixels), recipe.plate.pitch_mm
            check = check_piece(pixels, frost, ends, pitch_mm, second, part(progress, _OPENED, 1.0))
            return _Compared(check, opened.first.fingerprint)

        names = f"{photo.name} and {darker.name}" if darker else photo.name
        comparing = f"Comparing {names} with the plate\u2026"
        self._show_none(comparing)
        self.progress.show_busy(True)
        self.state.tell(comparing)
        self._work.run(work, self._show, self._refused)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Welcome photos only, one or two, at any time."""
        photos = dropped_photos(event.mimeData())
        if photos:
            words = f"Let go to check {' and '.join(path.name for path in photos)}"
            self.sign.show_words(words, self.rect())
            event.acceptProposedAction()

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        """Not here after all."""
        del event
        self.sign.hide()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take the photos."""
        self.sign.hide()
        event.acceptProposedAction()
        self.take_photo(*dropped_photos(event.mimeData()))

    def done(self, result: int) -> None:
        """What is being compared is not wanted any more."""
        self._work.call_off()
        super().done(result)

    def _stop(self) -> None:
        self._work.call_off()
        self._show_none(DROP)
        self.state.tell(STOPPED)

    def _rested(self) -> None:
        held = self.progress.stop.hasFocus()
        self.progress.show_busy(False)
        if held:
            keep_focus(self.choose)

    def _show(self, compared: _Compared) -> None:
        used = self._refinements.used(self._profile, compared.fingerprint)
        check = attrs.evolve(compared.check, used=used)
        self._compared = attrs.evolve(compared, check=check)
        self.legend.show()
        self.map.show_image(image_from_array(difference_picture(check)))
        said = in_inches(check.sentence) if self._settings.inches else check.sentence
        self.map.mark(_worst(check), said)
        self.state.tell(said)
        self._offer(check)
        self.choose.setText("Another photo...")

    def _show_none(self, why: str) -> None:
        """What is shown belongs to the photo that was compared last; now there is none."""
        self._compared = None
        self.map.show_image(None, why)
        self.legend.hide()
        self._let_refine(False)
        self._stress(self.choose)

    def _refused(self, sentence: str) -> None:
        self._show_none(DROP)
        self.state.warn(sentence)

    def _offer(self, check: Check) -> None:
        """Let the profile be refined where it can be."""
        why = OF_PLACES if check.of_places else ""
        if check.used:
            why = USED
        if self._profile.origin != "measured":
            why = NOT_MEASURED
        self._let_refine(not why, why)
        self._stress(self.refine if check.offers else None)

    def _let_refine(self, on: bool, why_not: str = "") -> None:
        self.refine.setEnabled(on)
        self.refine.setToolTip(why_not)

    def _stress(self, main: QPushButton | None) -> None:
        for button in (self.refine, self.choose):
            button.setProperty("role", "main" if button is main else "")
            button.style().polish(button)

    def _refine(self) -> None:
        if self._compared is None:
            return
        before, made_with, check = self._profile, self.burnt_with.profile, self._compared.check
        try:
            self._profile = refined(before, self._recipe.screen, self._recipe.plate.pitch_mm, check)
        except RimetypeError as error:
            self.state.warn(str(error))
            return
        self._refinements.keep(self._profile, before, self._compared.fingerprint)
        self.burnt_with.show_versions(self._refinements.versions(self._profile), made_with)
        self._offer(attrs.evolve(check, used=True))
        self.refined.emit(self._profile)
        self.state.tell(
            "The session now works with the refined profile; step Glass saves it as a file, and "
            "Undo takes it back."
        )

    def _ask(self) -> None:
        path = ask_photo(self, self._settings, "Photo of the finished piece")
        if path is not None:
            self.take_photo(path)

    def _ask_darker(self) -> None:
        path = ask_photo(self, self._settings, "Darker photo of the finished piece")
        if path is not None:
            self.take_darker(path)

    def _lay_out(self) -> None:
        below = QHBoxLayout()
        below.setSpacing(theme.GRID)
        below.addWidget(self.choose)
        below.addWidget(self.add)
        below.addWidget(self.refine)
        below.addWidget(self.progress, 1)
        below.addStretch()
        below.addWidget(push("Close", self.reject))
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.setSpacing(theme.GRID)
        column.addWidget(self.how)
        column.addWidget(self.burnt_with)
        column.addWidget(self.map, 1)
        column.addWidget(self.legend)
        column.addWidget(self.state)
        column.addLayout(below)
        self.setMinimumSize(640, 560)
        self.resize(760, 640)


def _worst(check: Check) -> QRectF:
    """The worst place, in pixels of the map."""
    x, y = (mm / check.pitch_mm for mm in check.worst_at_mm)
    half = _FRAME_MM / 2.0 / check.pitch_mm
    return QRectF(x - half, y - half, 2.0 * half, 2.0 * half)
