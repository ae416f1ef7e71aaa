"""After the burn: a photo of the finished piece held against the plate; a map of what differs."""

from collections.abc import Callable
from pathlib import Path

import attrs
from PySide6.QtCore import QRectF, Signal
from PySide6.QtWidgets import QDialog, QHBoxLayout, QProgressBar, QVBoxLayout, QWidget

from app import theme
from app.qimage import image_from_array
from app.settings import Settings
from app.strip.latest import Latest
from app.strip.parts import Sentence, caption, prose, push
from app.strip.photograph_page import DropTarget, ask_photo
from app.strip.strip_photo import StripPhoto
from engine import glass
from engine.colour import eight_bit
from engine.flow import Prepared
from engine.plate_bitmap import burn
from engine.strip.check import Check, check_piece, refined
from engine.strip.check_map import REACH_L, difference_picture
from engine.strip.photos import open_photos
from shared.errors import RimetypeError
from shared.profile import GlassProfile
from shared.recipe import Recipe

HOW = (
    "Lay the finished piece on dull black and photograph all of it from the front and straight "
    "above: even light, no flash, no reflections. A second photo, exposed one stop less, shows "
    "what the camera did to the tones. All is compared with the plate of take {take} as it stands "
    "now, with this glass profile."
)
_FRAME_MM = 2.0
_BURNT = 0.6
"""Share of the progress at which the plate is known."""


class CheckDialog(QDialog):
    """`refined(profile)` when the user takes the offer. `work` outlives the dialog."""

    refined = Signal(object)

    def __init__(
        self,
        prepared: Prepared,
        take: str,
        recipe: Recipe,
        profile: GlassProfile,
        settings: Settings,
        work: Latest,
        parent: QWidget | None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Check a finished piece")
        self._prepared, self._recipe, self._profile = prepared, recipe, profile
        self._settings = settings
        self._work = work
        self._photo: Path | None = None
        self.check: Check | None = None
        self.how = prose(HOW.format(take=take))
        self.choose = push("Choose the photo...", self._ask, main=True)
        self.add = push("Add a darker one...", self._ask_darker)
        self.add.setEnabled(False)
        self.add.setToolTip("Choose the photo first")
        self.target = DropTarget("Drop one photo or both here", self.take_photo)
        self.map = StripPhoto("Map of the lightness error")
        self.map.hide()
        self.legend = caption(
            f"Grey is as wanted; pale amber came out lighter, blue came out darker, in full colour "
            f"from {REACH_L:g} L* on. The frame shows the worst place."
        )
        self.legend.hide()
        self.progress = QProgressBar()
        self.progress.setRange(0, 1000)
        self.progress.setTextVisible(False)
        self.progress.setAccessibleName("Checking")
        self.progress.hide()
        work.progressed.connect(self._progressed)
        work.rested.connect(self.progress.hide)
        self.state = Sentence()
        self.refine = push("Refine the profile", self._refine)
        self.refine.setEnabled(False)
        self._lay_out()

    def take_photo(self, path: Path, darker: Path | None = None) -> None:
        """Compare a photo, perhaps with a second one, with the plate."""
        self._photo = path
        self.add.setEnabled(True)
        self.add.setToolTip("")
        self._compare(path, darker)

    def take_darker(self, path: Path) -> None:
        """Compare the same photo once more, with a second one."""
        if self._photo is not None:
            self._compare(self._photo, path)

    def _compare(self, photo: Path, darker: Path | None) -> None:
        prepared, recipe, profile = self._prepared, self._recipe, self._profile
        limit = self._settings.limit_mp

        def work(progress: Callable[[float], None]) -> Check:
            done = burn(prepared, recipe, profile, lambda share: progress(_BURNT * share))
            ends = glass.ends(profile.light, recipe.glass.backing, recipe.plate.mark)
            opened = open_photos(photo, darker, limit)
            progress(_BURNT + 0.1)
            second = opened.darker
            if second is not None:
                second = attrs.evolve(second, pixels=eight_bit(second.pixels))
            pixels, frost = eight_bit(opened.first.pixels), done.frost(profile)
            return check_piece(pixels, frost, ends, recipe.plate.pitch_mm, second)

        self.check = None
        self.refine.setEnabled(False)
        self.progress.setValue(0)
        self.progress.show()
        names = f"{photo.name} and {darker.name}" if darker else photo.name
        self.state.tell(f"Comparing {names} with the plate\u2026")
        self._work.run(work, self._show, self._refused)

    def done(self, result: int) -> None:
        """What is being compared is not wanted any more."""
        self._work.call_off()
        super().done(result)

    def _progressed(self, share: float) -> None:
        self.progress.setValue(round(1000 * share))

    def _show(self, check: Check) -> None:
        self.check = check
        self.target.hide()
        self.map.show()
        self.legend.show()
        self.map.show_image(image_from_array(difference_picture(check)))
        self.map.mark(_worst(check), check.sentence)
        self.state.tell(check.sentence)
        self.refine.setEnabled(self._profile.origin == "measured")
        self.refine.setToolTip(
            "" if self.refine.isEnabled() else "Only a measured profile can be refined"
        )
        self.choose.setText("Another photo...")
        for button, main in ((self.refine, check.offers), (self.choose, False)):
            button.setProperty("role", "main" if main else "")
            button.style().polish(button)

    def _refused(self, sentence: str) -> None:
        self.state.warn(sentence)

    def _refine(self) -> None:
        if self.check is None:
            return
        try:
            better = refined(self._profile, self._recipe.screen.kind, self.check)
        except RimetypeError as error:
            self.state.warn(str(error))
            return
        self.refine.setEnabled(False)
        self._profile = better
        self.refined.emit(better)
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
        below.addStretch(1)
        below.addWidget(push("Close", self.reject))
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.setSpacing(theme.GRID)
        column.addWidget(self.how)
        column.addWidget(self.target, 1)
        column.addWidget(self.map, 1)
        column.addWidget(self.legend)
        column.addWidget(self.state)
        column.addLayout(below)
        self.resize(760, 640)


def _worst(check: Check) -> QRectF:
    """The worst place, in pixels of the map."""
    x, y = (mm / check.pitch_mm for mm in check.worst_at_mm)
    half = _FRAME_MM / 2.0 / check.pitch_mm
    return QRectF(x - half, y - half, 2.0 * half, 2.0 * half)
