"""Work of which only the newest wish counts."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.jobs import Job, Work


class Latest(QObject):
    """Runs one job at a time; a newer wish takes the place of an older one. `stop` before it goes.

    `began` when it sets to work, `stopped` when work ended at `end_early`, `rested` when nothing is
    left to do.
    """

    began = Signal()
    stopped = Signal()
    rested = Signal()
    progressed = Signal(float)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._job: Job | None = None
        self._next: Callable[[], None] | None = None
        self._wanted = True

    @property
    def busy(self) -> bool:
        """Whether work goes on."""
        return self._job is not None

    def run(self, work: Work, done: Callable[[Any], None], failed: Callable[[str], None]) -> None:
        """Do `work`, then call `done` with its result or `failed` with a sentence."""
        if self._job is not None:
            self.call_off()
            self._next = lambda: self._start(work, done, failed)
            return
        self._start(work, done, failed)

    def call_off(self) -> None:
        """What runs now, or waits, is not wanted any more."""
        self._wanted, self._next = False, None
        if self._job is not None:
            self._job.stop()

    def end_early(self) -> None:
        """Ask what runs to stop; if it comes to its end all the same, that counts."""
        if self._job is not None:
            self._job.stop()

    def stop(self) -> None:
        """Call everything off and wait for the end."""
        self.call_off()
        if self._job is not None:
            self._job.wait()

    def _start(
        self, work: Work, done: Callable[[Any], None], failed: Callable[[str], None]
    ) -> None:
        self._wanted = True
        job = self._job = Job(work, self)
        job.progressed.connect(self._report)
        job.succeeded.connect(lambda found: self._pass_on(done, found))
        job.failed.connect(lambda sentence: self._pass_on(failed, sentence))
        job.stopped.connect(self._ended_early)
        job.finished.connect(self._ended)
        job.start()
        self.began.emit()

    def _pass_on(self, told: Callable[[Any], None], what: object) -> None:
        if self._wanted:
            told(what)

    def _ended_early(self) -> None:
        if self._wanted:
            self.stopped.emit()

    def _report(self, share: float) -> None:
        if self._wanted:
            self.progressed.emit(share)

    def _ended(self) -> None:
        if self._job is not None:
            self._job.deleteLater()
        self._job = None
        following, self._next = self._next, None
        if following is not None:
            following()
        else:
            self.rested.emit()
