"""The settings of a strip ranked, and the profile of the one that is chosen."""

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import attrs
from PySide6.QtCore import QObject, Signal

from app.strip.latest import Latest
from engine.strip.corrections import Corrections, corrected
from engine.strip.fit import fit_profile, planned_profile
from engine.strip.fit_merge import check_refines
from engine.strip.fit_values import Measured
from engine.strip.judge import Judgement, choosing, judge
from engine.strip.judge_photo import read_look
from engine.strip.read_result import Reading
from shared.profile import GlassProfile
from shared.strip import Strip

STOPPED = "The ranking was stopped. Rank again when the readings are right."


@attrs.frozen(eq=False)
class Known:
    """All that a ranking rests on. `choice` is the run that the user's eye prefers."""

    strip: Strip
    folder: Path
    reading: Reading | None
    corrections: Corrections
    source: str
    choice: int | None
    earlier: GlassProfile | None


@attrs.frozen(eq=False)
class _Ranked:
    known: Known
    judgement: Judgement
    measured: Measured


class Ranking(QObject):
    """Ranks in the background; only the newest wish counts."""

    changed = Signal()
    """Another ranking or profile, or it is being reckoned."""
    progressed = Signal(float)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._judge = Latest(self)
        self._fitter = Latest(self)
        self._judge.began.connect(self.changed)
        self._judge.rested.connect(self.changed)
        self._judge.progressed.connect(self.progressed)
        self._ranked: _Ranked | None = None
        self._judged: dict[int, Judgement] = {}
        """By the run that is chosen in it, with the dot gain of every screen."""
        self._choice: int | None = None
        self.problem = ""

    @property
    def busy(self) -> bool:
        """Whether the settings are being ranked."""
        return self._judge.busy

    @property
    def judgement(self) -> Judgement | None:
        """The ranking, with the chosen run as soon as that is reckoned."""
        ranked, run = self._ranked, self.chosen
        if ranked is None or run is None:
            return None
        return self._judged.get(run, ranked.judgement)

    @property
    def best(self) -> int | None:
        """The recommended run."""
        return None if self._ranked is None else self._ranked.judgement.verdicts[0].run

    @property
    def chosen(self) -> int | None:
        """The run that counts: the user's choice, else the recommended one."""
        if self._ranked is None:
            return None
        return self.best if self._choice is None else self._choice

    @property
    def profile(self) -> GlassProfile | None:
        """Of the chosen run, with the dot gain of every screen; None until that is reckoned."""
        judged = None if self.chosen is None else self._judged.get(self.chosen)
        return None if judged is None else judged.profile

    def rank(self, known: Known) -> None:
        """Fit a profile for each setting, and rank them."""

        def work(progress: Callable[[float], None]) -> _Ranked:
            strip = known.strip
            if known.earlier is not None:
                check_refines(known.earlier, planned_profile(strip))
            measured = corrected(strip, known.reading, known.corrections, known.source)
            judgement = judge(
                strip,
                measured,
                read_look(known.folder, strip),
                known.reading,
                choose=known.choice,
                date=_today(),
                earlier=known.earlier,
                progress=progress,
            )
            return _Ranked(known, judgement, measured)

        self.problem, self._choice = "", known.choice
        self._judge.run(work, self._was_ranked, self._failed)

    def choose(self, run: int | None) -> None:
        """Let another run count; None for the recommended one."""
        self._choice = run
        self._fit_chosen()
        self.changed.emit()

    def call_off(self) -> None:
        """The user does not want to wait for it."""
        self._judge.call_off()
        self._failed(STOPPED)

    def forget(self) -> None:
        """What it rested on is another."""
        self._judge.call_off()
        self._fitter.call_off()
        self._ranked, self.problem = None, ""
        self.changed.emit()

    def stop(self) -> None:
        """End all work."""
        self._judge.stop()
        self._fitter.stop()

    def _was_ranked(self, found: _Ranked) -> None:
        judgement = found.judgement
        self._ranked, self.problem = found, ""
        self._judged = {judgement.chosen.run: judgement}
        self._fit_chosen()
        self.changed.emit()

    def _fit_chosen(self) -> None:
        """The ranking fits only what it needs; what is taken has the dot gain of every screen."""
        ranked, run = self._ranked, self.chosen
        if ranked is None or run is None or run in self._judged:
            return
        known = ranked.known

        def work(_: Callable[[float], None]) -> Judgement:
            fit = fit_profile(
                known.strip, ranked.measured, run, date=_today(), earlier=known.earlier
            )
            return choosing(ranked.judgement, known.strip, ranked.measured, fit)

        self._fitter.run(work, lambda judged: self._was_fitted(ranked, judged), self._failed)

    def _was_fitted(self, ranked: _Ranked, judged: Judgement) -> None:
        if ranked is self._ranked:
            self._judged[judged.chosen.run] = judged
            self.changed.emit()

    def _failed(self, sentence: str) -> None:
        self._ranked, self.problem = None, sentence
        self.changed.emit()


def _today() -> str:
    return dt.datetime.now(dt.UTC).astimezone().date().isoformat()
