"""The strip that is being planned: the user's wishes, what they give, and its writing."""

import contextlib
from collections.abc import Callable, Sequence
from pathlib import Path

import attrs
from PySide6.QtCore import QObject, Signal

from app.glass.origin_line import GUESS
from app.session import Session
from app.strip.history import History
from app.strip.latest import Latest
from engine.progress import part
from engine.strip import make
from engine.strip.make import Plan, Planned
from engine.strip.make_files import STRIP, check_folder, write_strip
from engine.strip.make_settings import default_pairs, default_speeds, starting_at
from shared.atomic import allowed_target
from shared.errors import RimetypeError
from shared.profile import GlassProfile, Machine
from shared.recipe import Recipe

NO_PHOTO = "Open a photo first: the strip's cells show a part of it."
ANOTHER_STRIP = (
    "A strip exists already in this folder; choose another one, or tick Replace a strip that is "
    "there."
)
_COMPUTED = 0.9
"""Share of the progress after which only the writing is left."""


@attrs.frozen
class Wish:
    """What the user asks for."""

    plan: Plan
    floor_pct: float | None = None
    """The machine's true firing floor, where the profile does not know it."""


class Planning(QObject):
    """`changed` when there is another layout, or another reason why there is none.

    Every wish goes through `wish`, so every wish can be undone.
    """

    changed = Signal()
    history_changed = Signal()
    progressed = Signal(float)
    written = Signal(object)
    """The folder, after the strip was written into it."""
    failed = Signal(str)
    stopped = Signal()
    """The user stopped it, and nothing was written."""
    rested = Signal()

    def __init__(
        self,
        session: Session,
        recipe: Callable[[], Recipe],
        profile: Callable[[], GlassProfile],
        parent: QObject,
    ) -> None:
        """`profile` holds what is known of the glass before, and what is fitted now."""
        super().__init__(parent)
        self._session = session
        self._recipe = recipe
        self._profile = profile
        self._layouts = Latest(self)
        self._writing = Latest(self)
        self._writing.progressed.connect(self.progressed)
        self._writing.stopped.connect(self.stopped)
        self._writing.rested.connect(self.rested)
        self.history = History(Wish(self._first_plan(profile())))
        """What was wished for; `wish`, `say_floor`, `undo` and `redo` change it."""
        self.planned: Planned | None = None
        self.problem = NO_PHOTO

    @property
    def plan(self) -> Plan:
        """What is wished for."""
        return self.history.now.plan

    @property
    def busy(self) -> bool:
        """Whether a strip is being computed and written."""
        return self._writing.busy

    @property
    def machine(self) -> Machine:
        """The one that will burn the strip, with the firing floor that the user said."""
        return self._known().machine

    @property
    def guesses(self) -> str:
        """A sentence on what nobody measured or said of the machine and the first settings."""
        if self._profile().origin != GUESS:
            return ""
        floor = ", the firing floor" if self.history.now.floor_pct is None else ""
        return f"This{floor} and the settings to begin with are a starting guess."

    @property
    def least_margin_mm(self) -> float:
        """Twice the thickness of the glass."""
        return self._recipe().plate.least_margin_mm

    def start_afresh(self) -> None:
        """The wishes that follow from the glass profile and the take."""
        self.wish(self._first_plan(self._known()), "Start afresh")

    def wish(self, plan: Plan, name: str) -> None:
        """Lay out another plan; the step is called `name`."""
        self._commit(attrs.evolve(self.history.now, plan=plan), name)

    def say_floor(self, floor_pct: float) -> None:
        """The tube does not fire below this power, whatever the profile says."""
        own = self._profile().machine.firing_floor_pct
        said = None if floor_pct == own else floor_pct
        self._commit(attrs.evolve(self.history.now, floor_pct=said), "Firing floor")

    def undo(self) -> None:
        """One step back."""
        self.history.undo()
        self._moved()

    def redo(self) -> None:
        """One step forward."""
        self.history.redo()
        self._moved()

    def refresh(self) -> None:
        """Lay the plan out for the photo, take and profile of now; as long as nothing was wished
        for, the plan itself follows them."""
        prepared, recipe, profile = self._session.prepared, self._recipe(), self._known()
        if self.history.undo_name is None:
            plan = self._first_plan(profile)
        else:
            plan = attrs.evolve(self.plan, pitch_mm=recipe.plate.pitch_mm)
        self.history.amend(attrs.evolve(self.history.now, plan=plan))
        if prepared is None:
            self._refused(NO_PHOTO)
            return
        self._layouts.run(
            lambda _: make.plan_strip(prepared, recipe, profile, plan), self._laid, self._refused
        )

    def write(self, folder: Path, *, overwrite: bool) -> None:
        """Compute the bitmaps and write everything."""
        prepared, recipe, profile = self._session.prepared, self._recipe(), self._known()
        plan = self.plan
        if prepared is None:
            self.failed.emit(NO_PHOTO)
            return
        photo_path = prepared.photo.path
        if not overwrite and (folder / STRIP).is_file():
            self.failed.emit(ANOTHER_STRIP)
            return
        ours = [path for path in (folder, *folder.parents) if not path.exists()]
        try:
            check_folder(folder)
            allowed_target(folder / STRIP, overwrite=overwrite, photo_path=photo_path)
        except RimetypeError as error:
            self.failed.emit(str(error))
            return

        def work(progress: Callable[[float], None]) -> Path:
            try:
                made = make.make_strip(
                    prepared, recipe, profile, plan, part(progress, 0.0, _COMPUTED)
                )
                write_strip(made, folder, overwrite=overwrite, photo_path=photo_path)
            except RimetypeError:
                _remove_empty(ours)
                raise
            return folder

        self._writing.run(work, self.written.emit, self.failed.emit)

    def stop_writing(self) -> None:
        """Let the strip be; once the writing itself has begun, it comes to its end."""
        self._writing.end_early()

    def stop(self) -> None:
        """End all work."""
        self._layouts.stop()
        self._writing.stop()

    def _commit(self, wish: Wish, name: str) -> None:
        if wish != self.history.now:
            self.history.commit(name, wish)
            self._moved()

    def _known(self) -> GlassProfile:
        """What is known of the glass before, with the firing floor that the user said."""
        profile, floor = self._profile(), self.history.now.floor_pct
        if floor is None:
            return profile
        return attrs.evolve(profile, machine=attrs.evolve(profile.machine, firing_floor_pct=floor))

    def _moved(self) -> None:
        self.history_changed.emit()
        self.refresh()

    def _first_plan(self, profile: GlassProfile) -> Plan:
        recipe = self._recipe()
        start = starting_at(profile, recipe.plate.pitch_mm)
        return Plan(
            default_pairs(start),
            default_speeds(start),
            make.default_screens(recipe),
            pitch_mm=recipe.plate.pitch_mm,
        )

    def _laid(self, planned: Planned) -> None:
        self.planned, self.problem = planned, ""
        self.changed.emit()

    def _refused(self, sentence: str) -> None:
        self.planned, self.problem = None, sentence
        self.changed.emit()


def _remove_empty(folders: Sequence[Path]) -> None:
    """Take folders away, the innermost first, as far as nothing is in them."""
    with contextlib.suppress(OSError):
        for folder in folders:
            folder.rmdir()
