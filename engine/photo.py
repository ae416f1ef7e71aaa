"""The photo: a picture file, bytes or an array as upright sRGB pixels, or one plain sentence.

Nothing here writes. Files are decoded by Pillow alone (see photo_decode); what that needs is
imported with the first photo, since the window is there before it.
"""

import contextlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine.exposure import Exposure
from shared.errors import PhotoError
from shared.limits import DEFAULT_LIMIT_MP

LARGEST_FILE = 2**30
"""Largest file in bytes (1 GiB): 256 megapixels of uncompressed 8-bit colour fit."""

LONGEST_NAME_SHOWN = 80


@attrs.frozen(eq=False)
class Photo:
    """A decoded picture."""

    pixels: NDArray[Any]
    """Rows x columns x 3, uint8 or uint16 (16-bit grey keeps its bits), sRGB encoded, upright,
    read-only."""
    name: str
    """For people: the file's name, or what the caller calls the picture."""
    path: Path | None
    fingerprint: str
    """SHA-256 of the file's bytes, in hexadecimal."""
    notes: tuple[str, ...] = ()
    """Sentences worth showing about how the picture was read."""
    exposure: Exposure | None = None
    """As the file tells it."""

    @property
    def rows(self) -> int:
        """Height in pixels."""
        return int(self.pixels.shape[0])

    @property
    def columns(self) -> int:
        """Width in pixels."""
        return int(self.pixels.shape[1])

    @property
    def megapixels(self) -> float:
        """Millions of pixels."""
        return self.rows * self.columns / 1e6


def open_photo(
    path: str | os.PathLike[str], *, matte: str = "#000000", limit_mp: float = DEFAULT_LIMIT_MP
) -> Photo:
    """The picture in a file; raises PhotoError with one sentence when it cannot be used.

    `matte` (`#rrggbb`) shows through see-through parts. A picture of more than `limit_mp` million
    pixels is refused on the strength of its header.
    """
    path = Path(path)
    name = shown_name(path.name or str(path))
    with _one_sentence(name):
        data = _read(path, name)
    return photo_from_bytes(data, name=name, matte=matte, limit_mp=limit_mp, path=path)


def photo_from_bytes(
    data: bytes,
    *,
    name: str,
    matte: str = "#000000",
    limit_mp: float = DEFAULT_LIMIT_MP,
    path: Path | None = None,
) -> Photo:
    """The picture in the bytes of a file, as they come by paste and drop; see open_photo."""
    name = shown_name(name)
    behind = _rgb(matte)
    if not data:
        raise PhotoError(f"{name} is empty; choose the original photo.")
    with _one_sentence(name):
        from engine import photo_decode

        pixels, exposure, notes = photo_decode.decode(data, name, behind, limit_mp)
        pixels.setflags(write=False)
        return Photo(pixels, name, path, _sha256(data), notes, exposure)


def photo_from_array(pixels: NDArray[Any], name: str) -> Photo:
    """A photo of a copy of `pixels`: rows x columns x 3, uint8 or uint16, sRGB encoded, upright.

    Raises ValueError for any other array.
    """
    if pixels.ndim != 3 or pixels.shape[2] != 3 or pixels.size == 0:
        raise ValueError(f"rows x columns x 3 are needed, not {pixels.shape}")
    if pixels.dtype not in (np.uint8, np.uint16):
        raise ValueError(f"uint8 or uint16 is needed, not {pixels.dtype}")
    own = pixels.copy(order="C")
    own.setflags(write=False)
    shape = f"{own.shape} {own.dtype.name}".encode()
    return Photo(own, shown_name(name), None, _sha256(shape, own.data))


def reduced(photo: Photo, longest: int) -> NDArray[np.float32]:
    """A small copy for analysis: rows x columns x 3, float32, 0 to 1, sRGB encoded.

    The longer side has at most `longest` pixels; each is the mean of the area that it stands for,
    rounded to the photo's own levels. A photo that is small enough keeps its size.
    """
    factor = min(1.0, longest / max(photo.rows, photo.columns))
    size = (max(1, round(photo.columns * factor)), max(1, round(photo.rows * factor)))
    small = cv2.resize(photo.pixels, size, interpolation=cv2.INTER_AREA)
    return np.divide(small, np.iinfo(photo.pixels.dtype).max, dtype=np.float32)


def shown_name(name: str) -> str:
    """A file name that is safe to show: without control characters, and not overlong."""
    name = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in name)
    if len(name) <= LONGEST_NAME_SHOWN:
        return name
    half = LONGEST_NAME_SHOWN // 2
    return f"{name[: half - 1]}\N{HORIZONTAL ELLIPSIS}{name[-half:]}"


@contextlib.contextmanager
def _one_sentence(name: str) -> Iterator[None]:
    """Turns whatever goes wrong inside into a PhotoError.

    Decoders raise nearly every class of exception on malformed files, hence `Exception`.
    """
    try:
        yield
    except PhotoError:
        raise
    except FileNotFoundError:
        raise PhotoError(f"{name} is not there; was it moved or renamed?") from None
    except PermissionError:
        raise PhotoError(f"{name} may not be read; allow it or copy the file.") from None
    except MemoryError:
        raise PhotoError(
            f"{name} needs more memory than is free; close other programs or use a smaller copy."
        ) from None
    except Exception as error:
        raise PhotoError(
            f"{name} is damaged or incomplete and cannot be opened; copy the original again."
        ) from error


def _read(path: Path, name: str) -> bytes:
    """All bytes of a regular file. Nothing else is opened: a pipe would wait for ever."""
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise PhotoError(f"{name} is a folder; choose a photo inside it.")
    if not stat.S_ISREG(mode):
        raise PhotoError(f"{name} is not a file but a device or a pipe; choose a photo.")
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except PermissionError:
        raise
    except OSError as error:
        raise PhotoError(f"{name} cannot be read ({error.strerror}); copy it again.") from error
    if len(data) > LARGEST_FILE:
        raise PhotoError(
            f"{name} is larger than {LARGEST_FILE // 2**20} megabytes; save a smaller copy."
        )
    return data


def _sha256(*parts: bytes | memoryview) -> str:
    import hashlib

    digest = hashlib.sha256()
    for part in parts:
        digest.update(part)
    return digest.hexdigest()


def _rgb(colour: str) -> tuple[int, int, int]:
    if len(colour) != 7 or colour[0] != "#":
        raise ValueError(f"not a colour such as #ffffff: {colour!r}")
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
