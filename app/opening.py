"""Ways in for a photo: a path, dropped or pasted data. Decoding runs away from the window."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import attrs
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMimeData, QObject, Signal
from PySide6.QtGui import QImage, QImageWriter

from app.jobs import Job
from app.keeping import keep_pasted
from app.session import TAKES, Session
from app.settings import Settings
from shared.recipe import Recipe

if TYPE_CHECKING:
    from engine.flow import Prepared
    from engine.photo import Photo

PHOTO_PATTERNS = "*.jpg *.jpeg *.png *.tif *.tiff *.webp *.bmp *.heic *.heif *.avif *.gif"
PHOTO_FILTER = f"Photos ({PHOTO_PATTERNS} {PHOTO_PATTERNS.upper()});;All files (*)"
PHOTO_SUFFIXES = tuple(pattern.removeprefix("*") for pattern in PHOTO_PATTERNS.split())


@attrs.frozen(eq=False)
class _Wish:
    """One photo to open, and what becomes of it."""

    name: str
    read: "Callable[[], Photo]"
    matte: str
    take: "Callable[[Prepared], None]"
    anew: "Prepared | None" = None
    """The photo that is read again."""


class Opener(QObject):
    """Opens one photo at a time, the newest wish wins; what fails leaves the session as it was."""

    started = Signal(str)
    opened = Signal(object)
    """The Prepared photo, after the session took it."""
    failed = Signal(str)

    def __init__(self, session: Session, settings: Settings, parent: QObject) -> None:
        super().__init__(parent)
        self._session = session
        self._settings = settings
        self._job: Job | None = None
        self._wish: _Wish | None = None
        self._next: _Wish | None = None
        self._mattes: WeakKeyDictionary[Prepared, str] = WeakKeyDictionary()
        session.takes_changed.connect(self._follow_matte)

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

        def read() -> "Photo":
            from engine.photo import open_photo

            return open_photo(path, matte=matte, limit_mp=limit)

        self._start(_Wish(path.name, read, matte, lambda found: self._take(found, takes, then)))

    def paste(self, data: QMimeData) -> bool:
        """Open what was pasted or dropped; False when it holds no picture."""
        paths = local_paths(data)
        if paths:
            self.open_path(paths[0])
            return True
        image = data.imageData()
        if not isinstance(image, QImage) or image.isNull():
            return False
        png = _png(image)
        matte, limit = self._matte(None), self._settings.limit_mp

        def read() -> "Photo":
            from engine.photo import photo_from_bytes

            photo = photo_from_bytes(png, name="Pasted picture", matte=matte, limit_mp=limit)
            return keep_pasted(photo, png)

        self._start(_Wish("the pasted picture", read, matte, self._take))
        return True

    def wait(self, most_ms: int) -> bool:
        """Call everything off; whether the work ended in time. For closing the window."""
        self._next = self._wish = None
        if self._job is None:
            return True
        self._job.stop()
        return self._job.wait(most_ms)

    def _matte(self, takes: Mapping[str, Recipe] | None) -> str:
        return (takes or self._session.takes)["A"].photo.matte

    def _start(self, wish: _Wish) -> None:
        if wish.anew is None:
            self.started.emit(wish.name)
        if self._job is not None:
            self._next = wish
            self._job.stop()
            return
        self._run(wish)

    def _run(self, wish: _Wish) -> None:
        def work(progress: Callable[[float], None]) -> "Prepared":
            from engine.flow import prepare

            photo = wish.read()
            progress(0.5)
            return prepare(photo)

        self._wish = wish
        self._job = Job(work, self)
        self._job.succeeded.connect(self._succeeded)
        self._job.failed.connect(self._failed)
        self._job.finished.connect(self._end)
        self._job.start()

    def _succeeded(self, prepared: object) -> None:
        from engine.flow import Prepared

        assert isinstance(prepared, Prepared)
        if self._wish is not None and self._next is None:
            self._mattes[prepared] = self._wish.matte
            self._wish.take(prepared)

    def _failed(self, sentence: str) -> None:
        if self._wish is None or self._next is not None:
            return
        if self._wish.anew is not None:
            self._mattes.pop(self._wish.anew, None)
        self.failed.emit(sentence)

    def _end(self) -> None:
        if self._job is not None:
            self._job.deleteLater()
        self._job = self._wish = None
        following, self._next = self._next, None
        if following is not None:
            self._run(following)

    def _take(
        self,
        prepared: "Prepared",
        takes: Mapping[str, Recipe] | None = None,
        then: Callable[[], None] | None = None,
    ) -> None:
        if prepared.photo.path is not None:
            self._settings.add_recent(prepared.photo.path)
        self._session.open_photo(prepared, takes)
        self.opened.emit(prepared)
        if then is not None:
            then()

    def _follow_matte(self) -> None:
        """Read a see-through photo again when another colour is wanted behind it."""
        prepared = self._session.prepared
        read = self._mattes.get(prepared) if prepared is not None else None
        if prepared is None or read is None:
            return
        from engine.photo_pixels import NOTE_SEE_THROUGH

        if NOTE_SEE_THROUGH not in prepared.photo.notes:
            return
        mattes = (self._session.recipe(take).photo.matte for take in TAKES)
        wanted = next((matte for matte in mattes if matte != read), None)
        newest = self._next or self._wish
        under_way = newest is not None and (newest.anew is None or newest.matte == wanted)
        if wanted is None or under_way:
            return
        path, limit = prepared.photo.path, self._settings.limit_mp
        assert path is not None

        def again() -> "Photo":
            from engine.photo import open_photo

            return open_photo(path, matte=wanted, limit_mp=limit)

        def take(found: "Prepared") -> None:
            self._take_anew(prepared, found, wanted)

        self._start(_Wish(path.name, again, wanted, take, anew=prepared))

    def _take_anew(self, before: "Prepared", found: "Prepared", matte: str) -> None:
        """Both takes share the photo, so both get the colour with which it was read."""
        takes = self._session.takes
        if self._session.prepared is before and matte in {
            recipe.photo.matte for recipe in takes.values()
        }:
            both = {name: recipe.changed(photo__matte=matte) for name, recipe in takes.items()}
            self._session.reread(found, both)


def local_paths(data: QMimeData) -> list[Path]:
    """The files that were pasted or dragged."""
    return [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]


def _png(image: QImage) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"png")).write(image)
    return bytes(buffer.data().data())
