"""The strip that was written or opened: its photo, what was read, and what follows from it."""

from collections.abc import Callable
from pathlib import Path

import attrs
from PySide6.QtCore import QObject, Signal

from app.settings import Settings
from app.strip.latest import Latest
from app.strip.notes import Notes, read_notes, write_notes
from app.strip.ranking import Known, Ranking
from engine.strip.corrections import Corrections, Entry, entries
from engine.strip.judge import Judgement
from engine.strip.make_files import STRIP
from engine.strip.photos import open_photos
from engine.strip.read import read_photo
from engine.strip.read_result import Reading
from shared.errors import RimetypeError
from shared.profile import GlassProfile
from shared.strip import Strip, read_strip

PURPOSE = "strip-made"
STOPPED = "The reading was stopped. Read the photo again, or choose another one."
_OPENED = 0.1
"""Share of the reading's progress at which the photo is opened."""


@attrs.frozen(eq=False)
class _Read:
    reading: Reading
    source: str


class StripWork(QObject):
    """Signals tell which part changed; all that is derived follows by itself."""

    strip_changed = Signal()
    reading_changed = Signal()
    """Another photo, reading or correction, or the reading goes on."""
    judgement_changed = Signal()
    """Another ranking, choice or profile, or the ranking is being reckoned."""
    read_progressed = Signal(float)
    judge_progressed = Signal(float)

    def __init__(self, settings: Settings, parent: QObject) -> None:
        super().__init__(parent)
        self._settings = settings
        self._reader = Latest(self)
        self._reader.began.connect(self.reading_changed)
        self._reader.rested.connect(self.reading_changed)
        self._reader.progressed.connect(self.read_progressed)
        self._ranking = Ranking(self)
        self._ranking.changed.connect(self.judgement_changed)
        self._ranking.progressed.connect(self.judge_progressed)
        self.folder: Path | None = None
        self.strip: Strip | None = None
        self.notes = Notes()
        self.reading: Reading | None = None
        self.refusal = ""
        self._source = ""
        self.earlier: GlassProfile | None = None
        """A measured profile that this strip shall refine."""

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
        self._reader.call_off()
        self.folder, self.strip = path.parent, strip
        self._settings.set_folder(PURPOSE, path.parent)
        self.notes = read_notes(path.parent, strip)
        self.reading, self.refusal = None, ""
        self.strip_changed.emit()
        self.reading_changed.emit()
        self._ranking.forget()
        if self.notes.photo is not None and self.notes.photo.is_file():
            self._read()
        elif self.entries:
            self._rank()
        return ""

    def read(self, photo: Path, darker: Path | None = None) -> None:
        """Read another photo; corrections of the one before do not hold for it."""
        self._keep(photo=photo, darker=darker, corrections=Corrections(), choice=None)
        self._read()

    def read_with(self, darker: Path | None) -> None:
        """Read the same photo with another second one, or without any."""
        self._keep(darker=darker)
        self._read()

    def read_again(self) -> None:
        """The same once more, after it was stopped or refused."""
        self._read()

    def stop_reading(self) -> None:
        """Leave the photo unread."""
        self._reader.call_off()
        self._was_refused(STOPPED)

    def rank_again(self) -> None:
        """Fit and rank with what counts now, after it was stopped."""
        self._rank()

    def stop_ranking(self) -> None:
        """Leave the settings unranked."""
        self._ranking.call_off()

    def correct(self, patch: int, value: float | None) -> None:
        """Type a patch's value in, or take that back."""
        self._correct(self.notes.corrections.with_value(patch, value))

    def set_unit(self, unit: str, scale: tuple[float, ...]) -> None:
        """What typed values are, where there is no photo; other units make other values."""
        now = self.notes.corrections
        kept = now.values if unit == now.unit else {}
        self._correct(Corrections(kept, now.used, unit, scale))

    def use(self, patch: int, on: bool) -> None:
        """Let a patch count, or not."""
        self._correct(self.notes.corrections.with_used(patch, on))

    def forget_corrections(self) -> None:
        """As it was read."""
        now = self.notes.corrections
        self._correct(Corrections(unit=now.unit, scale=now.scale))

    def choose(self, run: int | None) -> None:
        """The setting that the user's eye prefers; None for the recommended one."""
        self._keep(choice=run)
        self._ranking.choose(run)

    def refine(self, earlier: GlassProfile | None) -> None:
        """Let an earlier profile count beside this strip, or not."""
        self.earlier = earlier
        self._rank()

    def set_step(self, step: str) -> None:
        """Where the user is."""
        if self.strip is not None and step != self.notes.step:
            self._keep(step=step)

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

    def _keep(self, **changed: object) -> None:
        self.notes = attrs.evolve(self.notes, **changed)  # type: ignore[arg-type]
        if self.folder is not None and self.strip is not None:
            write_notes(self.notes, self.folder, self.strip)

    def _read(self) -> None:
        strip, photo, darker = self.strip, self.notes.photo, self.notes.darker
        limit = self._settings.limit_mp
        if strip is None or photo is None:
            return
        self.reading, self.refusal = None, ""
        self._ranking.forget()

        def work(progress: Callable[[float], None]) -> _Read:
            opened = open_photos(photo, darker, limit)
            progress(_OPENED)

            def report(share: float) -> None:
                progress(_OPENED + (1.0 - _OPENED) * share)

            pixels = opened.first.pixels
            reading = read_photo(pixels, strip, darker=opened.darker, progress=report)
            return _Read(reading, opened.names)

        self._reader.run(work, self._was_read, self._was_refused)

    def _was_read(self, found: _Read) -> None:
        self.reading, self.refusal, self._source = found.reading, "", found.source
        self.reading_changed.emit()
        self._rank()

    def _was_refused(self, sentence: str) -> None:
        self.refusal = sentence
        self.reading_changed.emit()
        self.judgement_changed.emit()

    @property
    def unit(self) -> str:
        """What the values in the table are."""
        return "frost" if self.reading is not None else self.notes.corrections.unit

    def _correct(self, corrections: Corrections) -> None:
        self._keep(corrections=corrections)
        self.reading_changed.emit()
        if self.entries:
            self._rank()

    def _rank(self) -> None:
        """Fit and rank with what counts now."""
        strip, folder, reading, notes = self.strip, self.folder, self.reading, self.notes
        if strip is None or folder is None:
            return
        source = self._source if reading is not None else "typed in"
        known = (strip, folder, reading, notes.corrections, source, notes.choice, self.earlier)
        self._ranking.rank(Known(*known))
