"""Sessions and recipes on disk, and the journal that lets unsaved work survive a crash."""

from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from app.session import TAKES, Session
from app.settings import data_folder
from engine.output import write_rgb8, write_text
from engine.photo import Photo, open_photo
from shared.errors import RimetypeError, SessionError
from shared.recipe import Recipe
from shared.recipe_file import (
    SavedSession,
    dump_recipe,
    dump_session,
    load_session,
)

SESSION_SUFFIX = ".rimetype"
JOURNAL_DELAY_MS = 3000
PASTED_PITCH_MM = 0.1
"""Files must name a resolution; nothing reads it, since sizes come from the plate."""


def saved(session: Session) -> SavedSession:
    """The session as it goes into a file."""
    photo = session.prepared.photo if session.prepared else None
    return SavedSession(
        photo_path=str(photo.path) if photo and photo.path else None,
        photo_fingerprint=photo.fingerprint if photo else None,
        takes={take: session.recipe(take) for take in TAKES},
    )


def write_session(session: Session, path: Path) -> None:
    """Save to a file, replacing an earlier save of it."""
    write_text(dump_session(saved(session)), path, overwrite=True)


def read_session(path: Path) -> SavedSession:
    """A session file; a photo path that is not absolute is meant from the file's folder."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise SessionError(f"{path.name} cannot be read; choose another session.") from None
    return load_session(text)


def write_recipe(recipe: Recipe, path: Path, *, overwrite: bool) -> None:
    """Save a recipe under its file's name."""
    write_text(dump_recipe(recipe, path.stem), path, overwrite=overwrite)


def keep_pasted(photo: Photo) -> Photo:
    """Give a pasted picture a file of its own, so that a session can find it again."""
    folder = data_folder() / "pasted"
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"pasted-{photo.fingerprint[:12]}.png"
    if not path.exists():
        write_rgb8(photo.pixels, path, PASTED_PITCH_MM)
    return open_photo(path)


class Journal(QObject):
    """Writes the session aside a few seconds after a change; removes it at a clean end."""

    failed = Signal(str)

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._path = data_folder() / "unsaved" / f"last{SESSION_SUFFIX}"
        self._timer = QTimer(self, singleShot=True, interval=JOURNAL_DELAY_MS)
        self._timer.timeout.connect(self.write)
        session.history_changed.connect(self._schedule)

    @property
    def path(self) -> Path:
        """Where the journal lies."""
        return self._path

    def left_over(self) -> SavedSession | None:
        """Unsaved work of a start that did not end cleanly."""
        try:
            return read_session(self._path) if self._path.exists() else None
        except RimetypeError:
            self._path.replace(self._path.with_suffix(".damaged"))
            return None

    def write(self) -> None:
        """Write now, if there is anything unsaved."""
        self._timer.stop()
        if not self._session.unsaved:
            self.remove()
            return
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            write_session(self._session, self._path)
        except (OSError, RimetypeError) as error:
            self.failed.emit(f"Unsaved work cannot be kept aside: {error}")

    def remove(self) -> None:
        """There is nothing to recover any more."""
        self._timer.stop()
        self._path.unlink(missing_ok=True)

    def _schedule(self) -> None:
        self._timer.start()
