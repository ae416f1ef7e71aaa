"""Everything that is written: plate bitmap, look, proof and text. Verified, whole or not at all."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import BmpImagePlugin, Image, PngImagePlugin, TiffImagePlugin

from engine import encode
from shared.atomic import NewFile, allowed_target, read_back_differently, write_atomically
from shared.errors import OutputError
from shared.units import MM_PER_INCH, pixels_per_metre, ppi_from_pitch

PLATE_SUFFIXES = (".png", ".tif", ".tiff", ".bmp")
"""Extensions that a plate bitmap may have; the look and the proof are PNG."""

_SAME_RESOLUTION = 1e-6
"""Relative. A decoder may round the inch in a metre; the next whole number is 1e-5 away."""

_DECODERS: dict[str, Callable[[Path], Image.Image]] = {
    ".png": PngImagePlugin.PngImageFile,
    ".tif": TiffImagePlugin.TiffImageFile,
    ".tiff": TiffImagePlugin.TiffImageFile,
    ".bmp": BmpImagePlugin.BmpImageFile,
}
_MODES = {1: "1", 8: "L", 16: "I;16"}


@attrs.frozen(eq=False)
class Bitmap:
    """A plate as its file has it: mirrored already, 0 for full power and 255 for none."""

    pixels: NDArray[np.uint8]
    """Rows x columns. With 1 bit only 0 and 255."""
    bits: Literal[1, 8]
    pitch_mm: float

    def __attrs_post_init__(self) -> None:
        if self.pixels.ndim != 2 or self.pixels.dtype != np.uint8 or not self.pixels.size:
            raise ValueError("a bitmap needs uint8 pixels in rows and columns")
        if self.bits == 1 and not np.array_equal(self.pixels, (self.pixels >> 7) * 255):
            raise ValueError("a bitmap of 1 bit holds only 0 and 255")


@attrs.frozen
class Written:
    """What a file says of its size. Files hold whole pixels per metre or fractions per inch."""

    path: Path
    pitch_mm: float
    """As stored in the file."""
    size_error_mm: float
    """How much the longer side by the stored pitch is too long (or, below 0, too short)."""

    @property
    def exact_to_a_pixel(self) -> bool:
        """Whether a program that goes by the file is off by less than one etch pixel."""
        return abs(self.size_error_mm) < self.pitch_mm


def write_bitmap(
    bitmap: Bitmap, path: Path, *, overwrite: bool = False, photo_path: Path | None = None
) -> Written:
    """Write a plate; the extension (.png, .tif, .tiff, .bmp) says the format.

    The file is decoded again from the disk, and its pixels, bits and resolution are compared,
    before it takes its name. `photo_path` is never written over.

    Raises OutputError when the place cannot be used and WriteError when the writing failed.
    """
    return _write(bitmap.pixels, bitmap.bits, bitmap.pitch_mm, path, overwrite, photo_path)


def write_grey16(
    look: NDArray[Any],
    path: Path,
    pitch_mm: float,
    *,
    overwrite: bool = False,
    photo_path: Path | None = None,
) -> Written:
    """Write a look, float 0 to 1 or uint16 0 to 65535, rows x columns, as 16-bit grey PNG.

    Verified and refused as by `write_bitmap`.
    """
    _only_png(path)
    if look.dtype != np.uint16:
        look = np.rint(look * np.float32(65535.0)).astype(np.uint16)
    return _write(look, 16, pitch_mm, path, overwrite, photo_path)


def write_grey8(
    codes: NDArray[np.uint8],
    path: Path,
    pitch_mm: float,
    *,
    overwrite: bool = False,
    photo_path: Path | None = None,
) -> Written:
    """Write grey codes, rows x columns, as 8-bit PNG; verified as by `write_bitmap`."""
    _only_png(path)
    return _write(codes, 8, pitch_mm, path, overwrite, photo_path)


def write_rgb8(
    codes: NDArray[np.uint8],
    path: Path,
    pitch_mm: float,
    *,
    overwrite: bool = False,
    photo_path: Path | None = None,
) -> Written:
    """Write sRGB codes, rows x columns x 3, as 8-bit PNG; verified as by `write_bitmap`."""
    _only_png(path)
    return _write(codes, 8, pitch_mm, path, overwrite, photo_path)


def bitmap_file(bitmap: Bitmap, path: Path) -> NewFile:
    """A plate as a file that is still to be written; format and check as in `write_bitmap`."""
    return _encoded(bitmap.pixels, bitmap.bits, bitmap.pitch_mm, path)[0]


def grey16_file(look: NDArray[np.uint16], path: Path, pitch_mm: float) -> NewFile:
    """A look, rows x columns, as a file that is still to be written, 16-bit grey PNG."""
    _only_png(path)
    return _encoded(look, 16, pitch_mm, path)[0]


def read_resolution_mm(path: Path) -> tuple[float, float]:
    """Pitch across and down, in mm, as a file of ours states it."""
    with _DECODERS[path.suffix.lower()](path) as image:
        return _pitch_of(image)


def _write(
    pixels: NDArray[Any],
    bits: int,
    pitch_mm: float,
    path: Path,
    overwrite: bool,
    photo_path: Path | None,
) -> Written:
    _known_suffix(path)
    allowed_target(path, overwrite=overwrite, photo_path=photo_path)
    file, stored_mm = _encoded(pixels, bits, pitch_mm, path)
    write_atomically(path, file.data, overwrite=overwrite, photo_path=photo_path, check=file.check)
    return Written(path, stored_mm, (stored_mm - pitch_mm) * max(pixels.shape[:2]))


def _encoded(pixels: NDArray[Any], bits: int, pitch_mm: float, path: Path) -> tuple[NewFile, float]:
    """The file with its check, and the pitch that it states, in mm."""
    suffix = _known_suffix(path)
    if suffix == ".png":
        data = encode.png_bytes(pixels, bits, pitch_mm)
    elif suffix == ".bmp":
        data = encode.bmp_bytes(pixels, bits, pitch_mm)
    else:
        data = encode.tiff_bytes(pixels, bits, pitch_mm)
    stored_mm = _stored_pitch(pitch_mm, suffix)

    def check(draft: Path) -> None:
        if not _holds(draft, suffix, pixels, bits, stored_mm):
            raise read_back_differently(path)

    return NewFile(path, data, check), stored_mm


def _known_suffix(path: Path) -> str:
    suffix = path.suffix.lower()
    if suffix not in PLATE_SUFFIXES:
        raise OutputError(
            f"{path.name} needs an extension that says the format; "
            f"end it with one of {', '.join(PLATE_SUFFIXES)}."
        )
    return suffix


def _only_png(path: Path) -> None:
    if path.suffix.lower() != ".png":
        raise OutputError(f"{path.name} is written as PNG; end its name with .png.")


def _stored_pitch(pitch_mm: float, suffix: str) -> float:
    if suffix in (".png", ".bmp"):
        return 1000.0 / pixels_per_metre(pitch_mm)
    return MM_PER_INCH / float(encode.tiff_resolution(pitch_mm))


def _holds(draft: Path, suffix: str, pixels: NDArray[Any], bits: int, pitch_mm: float) -> bool:
    """Whether the file says this size, depth and pitch, and decodes to these pixels.

    Pillow reads what the file says; its decoder is named, not searched for, and so has no limit on
    the size. OpenCV, which wrote nothing, decodes the pixels.
    """
    rows, columns = pixels.shape[:2]
    mode = _MODES[bits] if pixels.ndim == 2 else "RGB"
    with _DECODERS[suffix](draft) as image:
        said = image.mode == mode and image.size == (columns, rows)
        same_pitch = np.allclose(_pitch_of(image), pitch_mm, rtol=_SAME_RESOLUTION, atol=0.0)
    if not (said and same_pitch):
        return False
    decoded = cv2.imdecode(np.fromfile(draft, np.uint8), cv2.IMREAD_UNCHANGED)
    if decoded is None:
        return False
    seen = decoded if pixels.ndim == 2 else decoded[:, :, ::-1]  # blue first
    return np.array_equal(seen, pixels)


def _pitch_of(image: Image.Image) -> tuple[float, float]:
    across, down = image.info["dpi"]
    return ppi_from_pitch(float(across)), ppi_from_pitch(float(down))
