"""Long work away from the window's thread, with progress and a way to stop it."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, QThread, Signal

from app.failures import sentence_of
from shared.errors import Cancelled

Work = Callable[[Callable[[float], None]], Any]


class Job(QThread):
    """Runs `work(progress)` once. `progress(share)` raises `Cancelled` after `stop()`."""

    progressed = Signal(float)
    succeeded = Signal(object)
    failed = Signal(str)
    stopped = Signal()

    def __init__(self, work: Work, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._work = work

    def stop(self) -> None:
        """Ask the work to end at its next report."""
        self.requestInterruption()

    def run(self) -> None:
        """Qt calls this on the worker thread."""
        try:
            result = self._work(self._progress)
        except Cancelled:
            self.stopped.emit()
        except Exception as error:  # whatever fails inside reaches the user as a sentence
            self.failed.emit(sentence_of(error))
        else:
            self.succeeded.emit(result)

    def _progress(self, share: float) -> None:
        if self.isInterruptionRequested():
            raise Cancelled
        self.progressed.emit(share)
