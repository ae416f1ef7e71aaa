"""The photo of a burnt strip or piece from its file, perhaps with a second, darker one."""

from pathlib import Path

import attrs

from engine.exposure import share_of
from engine.photo import Photo, open_photo
from engine.strip.exposures import Darker


@attrs.frozen(eq=False)
class Photos:
    """What is read."""

    first: Photo
    darker: Darker | None
    names: str
    """For people."""
    exchanged: bool = False
    """Whether the one that was named first is the darker one."""


def open_photos(path: Path, darker_path: Path | None, limit_mp: float) -> Photos:
    """Of two photos the one that is darker by its file is the darker one, whichever is named so.

    Raises PhotoError where one cannot be opened, or where the files do not tell how they were
    exposed; see open_photo and share_of.
    """
    first = open_photo(path, limit_mp=limit_mp)
    if darker_path is None:
        return Photos(first, None, f"photo {first.name}")
    second = open_photo(darker_path, limit_mp=limit_mp)
    share = share_of(second.exposure, first.exposure)
    exchanged = share > 1.0
    if exchanged:
        first, second, share = second, first, 1.0 / share
    names = f"photos {first.name} and {second.name}"
    return Photos(first, Darker(second.pixels, share), names, exchanged)
