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


def open_photos(path: Path, darker_path: Path | None, limit_mp: float) -> Photos:
    """Raises PhotoError where one cannot be opened, or where the files do not tell how they were
    exposed; see open_photo and share_of."""
    first = open_photo(path, limit_mp=limit_mp)
    if darker_path is None:
        return Photos(first, None, f"photo {first.name}")
    second = open_photo(darker_path, limit_mp=limit_mp)
    darker = Darker(second.pixels, share_of(second.exposure, first.exposure))
    return Photos(first, darker, f"photos {first.name} and {second.name}")
