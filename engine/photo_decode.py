"""Decoding: the bytes of a picture file as upright sRGB pixels, by Pillow.

Every setting of Pillow that has to be touched is touched here, and put back.
"""

import contextlib
import io
import math
import sys
import threading
import warnings
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import (
    AvifImagePlugin,
    BmpImagePlugin,
    ExifTags,
    GifImagePlugin,
    Image,
    JpegImagePlugin,
    MpoImagePlugin,
    PngImagePlugin,
    TiffImagePlugin,
    UnidentifiedImageError,
    WebPImagePlugin,
)

from engine.exposure import Exposure
from engine.photo_pixels import first, pixels_of, tiff_tags
from shared.errors import PhotoError

# The import of a plugin registers it.
PLUGINS = (
    AvifImagePlugin.AvifImageFile,
    BmpImagePlugin.BmpImageFile,
    GifImagePlugin.GifImageFile,
    JpegImagePlugin.JpegImageFile,
    MpoImagePlugin.MpoImageFile,
    PngImagePlugin.PngImageFile,
    TiffImagePlugin.TiffImageFile,
    WebPImagePlugin.WebPImageFile,
)
HEIF = "HEIF"
HEIF_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"mif2", b"msf1"}
AVIF_BRANDS = {b"avif", b"avis"}
PNG_DEPTH_AT = 24
ANIMATED = {"GIF", "PNG", "WEBP", "AVIF"}
COLOUR_MODES = {"LA", "RGB", "RGBA", "RGBX", "CMYK", "LAB"}

SLOWEST_S = 3600.0
TREATMENT = (
    ExifTags.Base.CustomRendered,
    ExifTags.Base.SceneCaptureType,
    ExifTags.Base.Contrast,
)
"""EXIF tags 41985, 41990 and 41992."""

NOTE_FRAMES = "It is an animation; the first frame is used."
NOTE_PAGES = "It holds several pages; the first is used."
NOTE_DEPTH = "Its 16-bit colours are read with 8 bits, which is enough for etching."

_pillow = threading.Lock()


def decode(
    data: bytes, name: str, matte: tuple[int, int, int], limit_mp: float
) -> tuple[NDArray[Any], Exposure | None, tuple[str, ...]]:
    """The first picture in `data`: rows x columns x 3, uint8 or uint16, how it was exposed, and
    notes about it.

    Raises PhotoError for what is understood and nearly any exception for malformed data; the
    caller turns those into a sentence.
    """
    with _pillow_for_us():
        pixels, orientation, exposure, notes = _read(data, name, matte, limit_mp)
    return _upright(pixels, orientation), exposure, tuple(notes)


def _read(
    data: bytes, name: str, matte: tuple[int, int, int], limit_mp: float
) -> tuple[NDArray[Any], int, Exposure | None, list[str]]:
    """Pixels as stored, EXIF orientation, exposure and notes."""
    try:
        image = Image.open(io.BytesIO(data), formats=_formats(data, name))
    except UnidentifiedImageError:
        raise PhotoError(
            f"{name} cannot be read as a picture: it is something else, a rare variant, or damaged "
            "at its beginning; use JPEG, PNG, TIFF, WebP, HEIC, AVIF, GIF or BMP."
        ) from None
    _check_size(image.size, name, limit_mp)
    # For frames and tiles that are larger than the header says.
    Image.MAX_IMAGE_PIXELS = math.ceil(min(limit_mp * 1e6, sys.maxsize))
    image.load()
    _check_size(image.size, name, limit_mp)
    orientation, exposure = _orientation(image), _exposure(image)
    if image.format == "PNG":
        _fit_key(image, data[PNG_DEPTH_AT])
    pixels, notes = pixels_of(image, matte, name)
    return pixels, orientation, exposure, notes + _notes(image, data)


@contextlib.contextmanager
def _pillow_for_us() -> Iterator[None]:
    """Pillow without a limit and without warnings, then as it was.

    Both are settings of the whole process, so one picture is decoded at a time; that bounds the
    memory too. While it is, other threads would find the same settings, which does no harm.
    """
    with _pillow, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        before = Image.MAX_IMAGE_PIXELS
        # Pillow's own check of the header would hide the size that our sentence states.
        Image.MAX_IMAGE_PIXELS = None
        try:
            yield
        finally:
            Image.MAX_IMAGE_PIXELS = before


def _formats(data: bytes, name: str) -> list[str]:
    """The allow-list. HEIF is read by another library, which is optional and loaded on need."""
    formats = [str(plugin.format) for plugin in PLUGINS if plugin.format in Image.OPEN]
    if not _is_heif(data):
        return formats
    try:
        import pillow_heif
    except ImportError:
        raise PhotoError(
            f"{name} is a HEIC photo, which needs one more part: run `pip install pillow-heif`, "
            "or save the photo as JPEG."
        ) from None
    if HEIF not in Image.OPEN:
        pillow_heif.register_heif_opener()
    return [HEIF]


def _is_heif(data: bytes) -> bool:
    """By the brands of the file type box (ISO/IEC 14496-12, 4.3; 23008-12, 10)."""
    if data[4:8] != b"ftyp":
        return False
    end = min(int.from_bytes(data[:4], "big"), 256)
    brands = {data[8:12]} | {data[at : at + 4] for at in range(16, end, 4)}
    return bool(brands & HEIF_BRANDS) and not brands & AVIF_BRANDS


def _check_size(size: tuple[int, int], name: str, limit_mp: float) -> None:
    columns, rows = size
    megapixels = columns * rows / 1e6
    if megapixels > limit_mp:
        raise PhotoError(
            f"{name} has {columns} × {rows} pixels ({megapixels:,.1f} megapixels), more than the "
            f"limit of {limit_mp:g} megapixels; if you trust it, raise the limit with --limit-mp "
            "on the command line or in the studio's Preferences."
        )


def _fit_key(image: Image.Image, depth: int) -> None:
    """Brings the see-through colour of a PNG, given in the file's bits, to Pillow's 8 bits."""
    key = image.info.get("transparency")
    if isinstance(key, int) and image.mode == "L":
        image.info["transparency"] = key * 255 // (2**depth - 1)
    elif isinstance(key, tuple) and depth == 16:
        image.info["transparency"] = tuple(value >> 8 for value in key)


def _orientation(image: Image.Image) -> int:
    """EXIF tag 274, 1 to 8; 1 where it is missing, senseless or cannot be read."""
    with contextlib.suppress(Exception):
        value = image.getexif().get(ExifTags.Base.Orientation, 1)
        if isinstance(value, int) and 1 <= value <= 8:
            return value
    return 1


def _exposure(image: Image.Image) -> Exposure | None:
    """EXIF tags 33434, 34855 and 33437, and TREATMENT (EXIF 2.32, 4.6.5); None where time or speed
    is missing or senseless."""
    with contextlib.suppress(Exception):
        told = image.getexif().get_ifd(ExifTags.IFD.Exif)
        seconds = float(told[ExifTags.Base.ExposureTime])
        iso = float(first(told[ExifTags.Base.ISOSpeedRatings]))
        f_number = float(told.get(ExifTags.Base.FNumber, 0.0))
        if 0.0 < seconds < SLOWEST_S and 0.0 < iso < math.inf and 0.0 <= f_number < math.inf:
            found = (told.get(tag) for tag in TREATMENT)
            treatment = tuple(code if isinstance(code, int) else None for code in found)
            return Exposure(seconds, iso, f_number, treatment)
    return None


def _upright(pixels: NDArray[Any], orientation: int) -> NDArray[Any]:
    """Rows x columns x 3 turned for display by the EXIF orientation (EXIF 2.32, 4.6.4)."""
    if orientation >= 5:
        pixels = pixels.swapaxes(0, 1)
    if orientation in (3, 4, 7, 8):
        pixels = pixels[::-1]
    if orientation in (2, 3, 6, 7):
        pixels = pixels[:, ::-1]
    return np.ascontiguousarray(pixels)


def _notes(image: Image.Image, data: bytes) -> list[str]:
    """What else is worth knowing. Looking for more frames spoils the image, so this comes last."""
    notes = []
    if image.mode in COLOUR_MODES and _bits(image, data) == 16:
        notes.append(NOTE_DEPTH)
    with contextlib.suppress(Exception):  # a damaged later frame does no harm
        if image.format == "TIFF" and getattr(image, "is_animated", False):
            notes.append(NOTE_PAGES)
        elif image.format in ANIMATED and getattr(image, "is_animated", False):
            notes.append(NOTE_FRAMES)
    return notes


def _bits(image: Image.Image, data: bytes) -> int:
    """Bits per channel in a PNG (ISO/IEC 15948, 11.2.2) or TIFF; 8 otherwise."""
    if image.format == "PNG":
        return data[PNG_DEPTH_AT]
    return int(first(tiff_tags(image).get(TiffImagePlugin.BITSPERSAMPLE, 8)))
