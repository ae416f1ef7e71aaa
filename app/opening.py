"""Ways in for a photo: a path, dropped or pasted data. Decoding runs away from the window."""

from collections.abc import Callable, Mapping
from pathlib import Path

from PySide6.QtCore import QBuffer, QIODevice, QMimeData, QObject, Signal
from PySide6.QtGui import QImage

from app.jobs import Job
from app.keeping import keep_pasted
from app.session import Session
from app.settings import Settings
from engine.flow import Prepared, prepare
from engine.photo import open_photo, photo_from_bytes
from shared.recipe import Recipe

PHOTO_PATTERNS = "*.jpg *.jpeg *.png *.tif *.tiff *.webp *.bmp *.heic *.heif *.avif *.gif"
PHOTO_FILTER = f"Photos ({PHOTO_PATTERNS} {PHOTO_PATTERNS.upper()});;All files (*)"


class Opener(QObject):
    """Opens one photo at a time; whatever fails leaves the session as it was."""

    started = Signal(str)
    opened = Signal(object)
    """The Prepared photo, after the session took it."""
    failed = Signal(str)
    ended = Signal()

    def __init__(self, session: Session, settings: Settings, parent: QObject) -> None:
        super().__init__(parent)
        self._session = session
        self._settings = settings
        self._job: Job | None = None

    @property
    def busy(self) -> bool:
        """Whether a photo is being opened."""
        return self._job is not None

    def open_path(
        self,
        path: Path,
        takes: Mapping[str, Recipe] | None = None,
        then: Callable[[], None] | None = None,
    ) -> None:
        """Open a file; with `takes`, a session's photo. `then` is called if it opened."""
        matte, limit = self._matte(takes), self._settings.limit_mp

        def work(_: Callable[[float], None]) -> Prepared:
            return prepare(open_photo(path, matte=matte, limit_mp=limit))

        self._start(path.name, work, takes, then)

    def paste(self, data: QMimeData) -> bool:
        """Open what was pasted or dropped; False when it holds no picture."""
        paths = [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]
        if paths:
            self.open_path(paths[0])
            return True
        image = data.imageData()
        if not isinstance(image, QImage) or image.isNull():
            return False
        png = _png(image)
        matte, limit = self._matte(None), self._settings.limit_mp

        def work(_: Callable[[float], None]) -> Prepared:
            photo = photo_from_bytes(png, name="Pasted picture", matte=matte, limit_mp=limit)
            return prepare(keep_pasted(photo))

        self._start("the pasted picture", work)
        return True

    def wait(self) -> None:
        """Let the running work end; for closing the window."""
        if self._job is not None:
            self._job.wait()

    def _matte(self, takes: Mapping[str, Recipe] | None) -> str:
        return (takes or self._session.takes)["A"].photo.matte

    def _start(
        self,
        name: str,
        work: Callable[[Callable[[float], None]], Prepared],
        takes: Mapping[str, Recipe] | None = None,
        then: Callable[[], None] | None = None,
    ) -> None:
        if self._job is not None:
            self.failed.emit("Another photo is still being opened; try again in a moment.")
            return
        job = Job(work, self)
        self._job = job
        job.succeeded.connect(lambda prepared: self._take(prepared, takes, then))
        job.failed.connect(self.failed)
        job.finished.connect(self._end)
        self.started.emit(name)
        job.start()

    def _take(
        self,
        prepared: Prepared,
        takes: Mapping[str, Recipe] | None,
        then: Callable[[], None] | None,
    ) -> None:
        if prepared.photo.path is not None:
            self._settings.add_recent(prepared.photo.path)
        self._session.open_photo(prepared, takes)
        self.opened.emit(prepared)
        if then is not None:
            then()

    def _end(self) -> None:
        if self._job is not None:
            self._job.deleteLater()
        self._job = None
        self.ended.emit()


def holds_photo(data: QMimeData) -> bool:
    """Whether pasted or dragged data could be a photo."""
    return data.hasImage() or any(url.isLocalFile() for url in data.urls())


def _png(image: QImage) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, b"PNG")
    return bytes(buffer.data().data())
