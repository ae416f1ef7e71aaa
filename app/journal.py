"""The journal: unsaved work is kept aside, so that it survives a crash."""

import contextlib
import os
from pathlib import Path

from PySide6.QtCore import QLockFile, QObject, QTimer, Signal

from app.folders import data_folder
from app.keeping import SESSION_SUFFIX, read_session, write_session
from app.session import Session
from shared.errors import RimetypeError
from shared.recipe_file import SavedSession

JOURNAL_DELAY_MS = 3000


class Journal(QObject):
    """Writes the session aside a few seconds after a change; removes it at a clean end.

    Each running Rimetype has a file of its own, with a lock that dies with it.
    """

    failed = Signal(str)
    """Once for each spell of failures."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._path = data_folder() / "unsaved" / f"{os.urandom(4).hex()}{SESSION_SUFFIX}"
        self._lock = _lock_of(self._path)
        self._left: Path | None = None
        self._answered = False
        self._failing = False
        self._timer = QTimer(self, singleShot=True, interval=JOURNAL_DELAY_MS)
        self._timer.timeout.connect(self.write)
        session.history_changed.connect(self._schedule)

    @property
    def path(self) -> Path:
        """Where this journal lies."""
        return self._path

    def left_over(self) -> SavedSession | None:
        """Unsaved work of a start that did not end cleanly; it stays there until `release`."""
        for path in self._of_the_dead():
            try:
                found = read_session(path)
            except RimetypeError:
                _set_aside(path)
                continue
            self._left, self._answered = path, False
            return found
        return None

    def release(self) -> None:
        """The user has answered: what was left over goes, once the present work is kept aside."""
        self._answered = True
        self._timer.start()

    def write(self) -> None:
        """Write now, if there is anything unsaved."""
        self._timer.stop()
        if not self._session.unsaved:
            self.remove()
            return
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            self._lock.tryLock(0)
            write_session(self._session, self._path)
        except (OSError, RimetypeError) as error:
            if not self._failing:
                self.failed.emit(f"Unsaved work cannot be kept aside: {_reason(error)}")
            self._failing = True
            return
        self._failing = False
        self._forget_left()

    def remove(self) -> None:
        """There is nothing to recover any more."""
        self._timer.stop()
        _remove(self._path)
        self._lock.unlock()
        self._forget_left()

    def _forget_left(self) -> None:
        if self._left is not None and self._answered:
            _remove(self._left)
            self._left = None

    def _schedule(self) -> None:
        if not self._timer.isActive():
            self._timer.start()

    def _of_the_dead(self) -> list[Path]:
        """Journals whose Rimetype does not run any more, the newest first."""
        found: list[tuple[float, Path]] = []
        with contextlib.suppress(OSError):
            for path in self._path.parent.glob(f"*{SESSION_SUFFIX}"):
                lock = _lock_of(path)
                if path != self._path and lock.tryLock(0):
                    found.append((path.stat().st_mtime, path))
                    lock.unlock()
        return [path for _, path in sorted(found, reverse=True)]


def _lock_of(path: Path) -> QLockFile:
    lock = QLockFile(str(path.with_suffix(".lock")))
    lock.setStaleLockTime(0)
    return lock


def _set_aside(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.replace(path.with_suffix(".damaged"))


def _remove(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink(missing_ok=True)


def _reason(error: OSError | RimetypeError) -> str:
    return str(error) if isinstance(error, RimetypeError) else f"{error.strerror}."
