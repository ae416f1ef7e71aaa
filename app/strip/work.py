"""The strip that was written or opened: its photo, what was read, and what follows from it."""

from pathlib import Path

import attrs
from PySide6.QtCore import QObject, Signal

from app.settings import Settings
from app.strip.history import History
from app.strip.notes import Notes, read_notes, write_notes
from app.strip.photo_reader import PhotoReader, ReadPhoto
from app.strip.ranking import Known, Ranking
from app.strip.typed_units import UNITS
from app.strip.words import setting_words
from engine.strip.corrections import Corrections, Entry, entries
from engine.strip.judge import Judgement
from engine.strip.make_files import STRIP
from engine.strip.read_result import Reading
from shared.errors import RimetypeError
from shared.profile import GlassProfile
from shared.strip import Strip, read_strip

PURPOSE = "strip-made"


class StripWork(QObject):
    """Signals tell which part changed; all that is derived follows by itself.

    Every change of the notes goes through `_commit`, so every change can be undone. What was read
    of a photo is kept, so that its notes can hold again.
    """

    strip_changed = Signal()
    reading_changed = Signal()
    """Another photo, reading or correction, or the reading goes on."""
    judgement_changed = Signal()
    """Another ranking, choice or profile, or the ranking is being reckoned."""
    history_changed = Signal()
    read_progressed = Signal(float)
    judge_progressed = Signal(float)

    def __init__(self, settings: Settings, parent: QObject) -> None:
        super().__init__(parent)
        self._settings = settings
        self._reader = PhotoReader(self)
        self._reader.changed.connect(self.reading_changed)
        self._reader.was_read.connect(self._was_read)
        self._reader.progressed.connect(self.read_progressed)
        self._ranking = Ranking(self)
        self._ranking.changed.connect(self.judgement_changed)
        self._ranking.progressed.connect(self.judge_progressed)
        self.folder: Path | None = None
        self.strip: Strip | None = None
        self.history = History(Notes())
        """What held; `_commit`, `undo` and `redo` change it."""
        self.earlier: GlassProfile | None = None
        """A measured profile that this strip shall refine."""

    @property
    def notes(self) -> Notes:
        """What holds now."""
        return self.history.now

    @property
    def photos(self) -> tuple[Path | None, Path | None]:
        """The photo and the second one that were asked for last, refused or not."""
        return self._reader.wanted or (self.notes.photo, self.notes.darker)

    @property
    def reading(self) -> Reading | None:
        """What was read of the photo that holds."""
        return None if self._read is None else self._read.reading

    @property
    def refusal(self) -> str:
        """Why the photo that was asked for last gave no reading."""
        return self._reader.refusal

    @property
    def is_reading(self) -> bool:
        """Whether a photo is being read."""
        return self._reader.busy

    @property
    def is_judging(self) -> bool:
        """Whether the settings are being ranked."""
        return self._ranking.busy

    @property
    def judgement(self) -> Judgement | None:
        """The ranking."""
        return self._ranking.judgement

    @property
    def judge_problem(self) -> str:
        """Why there is no ranking."""
        return self._ranking.problem

    @property
    def entries(self) -> dict[int, Entry]:
        """All patches of which something is known."""
        if self.strip is None:
            return {}
        return entries(self.strip, self.reading, self.notes.corrections)

    def bring_back(self) -> None:
        """The strip that was worked on last, if it is still there."""
        if self.strip is None:
            folder = Path(self._settings.folder(PURPOSE))
            if (folder / STRIP).is_file():
                self.open_strip(folder / STRIP)

    def open_strip(self, path: Path) -> str:
        """Take up a strip by its file; a sentence if that cannot be."""
        try:
            strip = read_strip(path)
        except RimetypeError as error:
            return str(error)
        self._reader.forget()
        self.folder, self.strip = path.parent, strip
        self._settings.set_folder(PURPOSE, path.parent)
        self.history = History(read_notes(path.parent, strip))
        self.strip_changed.emit()
        self.reading_changed.emit()
        self.history_changed.emit()
        self._ranking.forget()
        if self.notes.photo is not None and self.notes.photo.is_file():
            self.read(self.notes.photo, self.notes.darker)
        else:
            self._rank()
        return ""

    def undo(self) -> None:
        """One step back."""
        before = self.notes
        self.history.undo()
        self._follow(before)

    def redo(self) -> None:
        """One step forward."""
        before = self.notes
        self.history.redo()
        self._follow(before)

    def read(self, photo: Path, darker: Path | None = None) -> None:
        """Read a photo; until that has gone well, all stays as it is."""
        if self.strip is not None:
            self._reader.read(self.strip, (photo, darker), self._settings.limit_mp)

    def read_with(self, darker: Path | None) -> None:
        """Read the same photo with another second one, or without any."""
        photo, _ = self.photos
        if photo is not None:
            self.read(photo, darker)

    def read_again(self) -> None:
        """The same once more, after it was stopped or refused."""
        self.read_with(self.photos[1])

    def stop_reading(self) -> None:
        """Leave the photo unread."""
        self._reader.call_off()

    def rank_again(self) -> None:
        """Fit and rank with what counts now, after it was stopped."""
        self._rank()

    def stop_ranking(self) -> None:
        """Leave the settings unranked."""
        self._ranking.call_off()

    def correct(self, patch: int, value: float | None) -> None:
        """Type a patch's value in, or take that back."""
        found = self.notes.corrections.with_value(patch, value)
        self._correct(found, f"Value of patch {patch + 1}")

    def correct_all(self, values: dict[int, float]) -> None:
        """Type the values of several patches in at once."""
        found = self.notes.corrections.with_values(values)
        self._correct(found, f"{len(values)} value{'s' * (len(values) > 1)}")

    def set_unit(self, unit: str, scale: tuple[float, ...]) -> None:
        """What typed values are, where there is no photo; other units make other values."""
        now = self.notes.corrections
        if unit == now.unit:
            self._correct(attrs.evolve(now, scale=scale), "Grey scale")
        else:
            found = Corrections({}, now.used, unit, scale)
            self._correct(found, f"Typed values as {UNITS[unit].label}")

    def use(self, patch: int, on: bool) -> None:
        """Let a patch count, or not."""
        found = self.notes.corrections.with_used(patch, on)
        self._correct(found, f"{'Use' if on else 'Leave out'} patch {patch + 1}")

    def forget_corrections(self) -> None:
        """As it was read."""
        name = "Clear the values" if self.reading is None else "As it was read"
        self._commit(name, self.notes.uncorrected())

    def choose(self, run: int | None) -> None:
        """The setting that the user's eye prefers; None for the recommended one."""
        name = "Take the recommended setting"
        if run is not None and self.strip is not None:
            name = f"Choose {setting_words(self.strip.runs[run])}"
        self._commit(name, attrs.evolve(self.notes, choice=run))

    def refine(self, earlier: GlassProfile | None) -> None:
        """Let an earlier profile count beside this strip, or not."""
        self.earlier = earlier
        self._rank()

    def set_step(self, step: str) -> None:
        """Where the user is."""
        if self.strip is not None and step != self.notes.step:
            self.history.amend(attrs.evolve(self.notes, step=step))
            self._keep()

    @property
    def chosen(self) -> int | None:
        """The run that counts: the user's choice, else the recommended one."""
        return self._ranking.chosen

    @property
    def best(self) -> int | None:
        """The recommended run."""
        return self._ranking.best

    @property
    def profile(self) -> GlassProfile | None:
        """Of the chosen run; None until it is reckoned."""
        return self._ranking.profile

    def stop(self) -> None:
        """End all work."""
        self._reader.stop()
        self._ranking.stop()

    def _was_read(self, found: ReadPhoto) -> None:
        """Corrections and choice are of one photo and do not hold for another."""
        (photo, darker), now = found.photos, self.notes
        notes = attrs.evolve(now, photo=photo, darker=darker)
        name = f"Photo {photo.name}"
        if now.photo is None or now.photo not in found.photos or found.new:
            notes = attrs.evolve(notes.uncorrected(), choice=None)
        elif darker != now.darker:
            name = f"Darker photo {darker.name}" if darker else "Leave out the darker photo"
        if notes != now:
            self._commit(name, notes)
        else:
            self.reading_changed.emit()
            self._rank()

    @property
    def unit(self) -> str:
        """What the values in the table are."""
        return "frost" if self.reading is not None else self.notes.corrections.unit

    @property
    def _read(self) -> ReadPhoto | None:
        return self._reader.of(self.notes.photo, self.notes.darker)

    def _correct(self, corrections: Corrections, name: str) -> None:
        self._commit(name, attrs.evolve(self.notes, corrections=corrections))

    def _commit(self, name: str, notes: Notes) -> None:
        before = self.notes
        if notes != before:
            self.history.commit(name, notes)
            self._follow(before)

    def _follow(self, before: Notes) -> None:
        """Keep the notes that hold now, and let all that rests on them follow."""
        now = attrs.evolve(self.notes, step=before.step)
        self.history.amend(now)
        self._keep()
        self._reader.go_on()
        self.reading_changed.emit()
        if attrs.evolve(before, choice=now.choice) == now:
            self._ranking.choose(now.choice)
        else:
            self._rank()
        self.history_changed.emit()
        same = (now.photo, now.darker) == (before.photo, before.darker)
        if now.photo is not None and self._read is None and not same:
            self.read(now.photo, now.darker)

    def _keep(self) -> None:
        if self.folder is not None and self.strip is not None:
            write_notes(self.notes, self.folder, self.strip)

    def _rank(self) -> None:
        """Fit and rank with what counts now."""
        strip, folder, read, notes = self.strip, self.folder, self._read, self.notes
        if strip is None or folder is None or not self.entries:
            self._ranking.forget()
            return
        source = read.source if read is not None else "typed in"
        known = (strip, folder, self.reading, notes.corrections, source, notes.choice, self.earlier)
        self._ranking.rank(Known(*known))
