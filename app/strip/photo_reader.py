"""Reads the strip's photos in the background, and keeps what was read of each."""

from collections.abc import Callable
from pathlib import Path

import attrs
from PySide6.QtCore import QObject, Signal

from app.strip.latest import Latest
from engine.progress import part
from engine.strip.photos import open_photos
from engine.strip.read import read_photo
from engine.strip.read_result import Reading
from shared.strip import Strip

Photos = tuple[Path, Path | None]
"""A photo of the strip and a second, darker one, if there is one."""

STOPPED = "The reading was stopped. Read the photo again, or choose another one."
_OPENED = 0.1
"""Share of the reading's progress at which the photo is opened."""


@attrs.frozen(eq=False)
class ReadPhoto:
    """What was read, and the names of the photos in words; of two photos the darker one comes
    second, in whichever order they were given."""

    photos: Photos
    reading: Reading
    source: str
    new: bool = False
    """Whether something else was read under the same names before."""


class PhotoReader(QObject):
    """`was_read(ReadPhoto)` when a reading has gone well."""

    changed = Signal()
    """It sets to work, has come to an end, or was refused."""
    progressed = Signal(float)
    was_read = Signal(object)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._latest = Latest(self)
        self._latest.began.connect(self.changed)
        self._latest.rested.connect(self.changed)
        self._latest.progressed.connect(self.progressed)
        self._found: dict[Photos, ReadPhoto] = {}
        self.wanted: Photos | None = None
        """What is being read, was refused, or was stopped; None when all is read."""
        self.refusal = ""
        """Why that gave no reading."""

    @property
    def busy(self) -> bool:
        """Whether a photo is being read."""
        return self._latest.busy

    def of(self, photo: Path | None, darker: Path | None) -> ReadPhoto | None:
        """What was read of photos."""
        return None if photo is None else self._found.get((photo, darker))

    def read(self, strip: Strip, photos: Photos, limit_mp: float) -> None:
        """Read photos of a strip."""
        self.wanted, self.refusal = photos, ""

        def work(progress: Callable[[float], None]) -> ReadPhoto:
            opened = open_photos(*photos, limit_mp)
            progress(_OPENED)
            reading = read_photo(
                opened.first.pixels,
                strip,
                darker=opened.darker,
                progress=part(progress, _OPENED, 1.0),
            )
            first, second = photos
            if opened.exchanged and second is not None:
                first, second = second, first
            return ReadPhoto((first, second), reading, opened.names)

        self._latest.run(work, self._was_read, self._was_refused)

    def call_off(self) -> None:
        """The user does not want to wait for it."""
        self._latest.call_off()
        self._was_refused(STOPPED)

    def go_on(self) -> None:
        """The user goes on with what was read before."""
        if not self.busy:
            self.wanted, self.refusal = None, ""

    def forget(self) -> None:
        """The strip is another."""
        self._latest.call_off()
        self._found, self.wanted, self.refusal = {}, None, ""

    def stop(self) -> None:
        """End all work."""
        self._latest.stop()

    def _was_read(self, found: ReadPhoto) -> None:
        before = self._found.get(found.photos)
        if before is not None and before.reading.fingerprint != found.reading.fingerprint:
            found = attrs.evolve(found, new=True)
        self._found[found.photos] = found
        self.wanted = None
        self.was_read.emit(found)

    def _was_refused(self, sentence: str) -> None:
        self.refusal = sentence
        self.changed.emit()
