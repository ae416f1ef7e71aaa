"""Pictures as the bytes of PNG, TIFF and BMP files, each with its resolution. No files here."""

import io
import struct
import zlib
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from shared.units import pixels_per_metre, ppi_from_pitch

_PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_PNG_GREY, _PNG_RGB = 0, 2
_PNG_FILTER_NONE, _PNG_FILTER_SUB = 0, 1
_PNG_UNIT_METRE = 1
_BMP_RESOLUTION_OFFSET = 38
_TIFF_RESOLUTION_TAGS = (282, 283)


def png_bytes(pixels: NDArray[Any], bits: int, pitch_mm: float) -> bytes:
    """A PNG (ISO/IEC 15948) of grey pixels, rows x columns, or RGB, rows x columns x 3.

    pixels: uint8 with `bits` 1 (0 is black, anything else white) or 8, uint16 with `bits` 16.

    Compressed by runs and Huffman codes alone for grey: of the ways zlib has, that is the fastest
    on dots and on photographs, and on both the smallest of the fast ones. RGB here means the
    proof, whose three equal channels the usual search shortens better.
    """
    rows, columns = pixels.shape[:2]
    lines = _png_lines(pixels, bits)
    strategy = zlib.Z_RLE if pixels.ndim == 2 else zlib.Z_DEFAULT_STRATEGY
    packer = zlib.compressobj(1, zlib.DEFLATED, 15, 9, strategy)
    colour = _PNG_GREY if pixels.ndim == 2 else _PNG_RGB
    per_metre = pixels_per_metre(pitch_mm)
    return b"".join(
        (
            _PNG_SIGNATURE,
            _png_chunk(b"IHDR", struct.pack(">IIBBBBB", columns, rows, bits, colour, 0, 0, 0)),
            _png_chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, _PNG_UNIT_METRE)),
            _png_chunk(b"IDAT", packer.compress(lines.data) + packer.flush()),
            _png_chunk(b"IEND", b""),
        )
    )


def tiff_bytes(pixels: NDArray[np.uint8], bits: int, pitch_mm: float) -> bytes:
    """A TIFF 6.0 of grey uint8 pixels, rows x columns; 0 is black, with `bits` 1 or 8.

    Packed by PackBits, the one compression that the standard asks of every reader.
    """
    buffer = io.BytesIO()
    per_inch = ppi_from_pitch(pitch_mm)
    _image(pixels, bits).save(buffer, "TIFF", compression="packbits", dpi=(per_inch, per_inch))
    return _with_exact_resolution(buffer.getvalue(), tiff_resolution(pitch_mm))


def tiff_resolution(pitch_mm: float) -> Fraction:
    """Pixels per inch as TIFF stores them: exact for whole ppi and for 0.0001 mm steps."""
    return Fraction(ppi_from_pitch(pitch_mm)).limit_denominator(10_000)


def bmp_bytes(pixels: NDArray[np.uint8], bits: int, pitch_mm: float) -> bytes:
    """A BMP of grey uint8 pixels, rows x columns; 0 is black, with `bits` 1 or 8."""
    buffer = io.BytesIO()
    _image(pixels, bits).save(buffer, "BMP")
    data = bytearray(buffer.getvalue())
    per_metre = pixels_per_metre(pitch_mm)
    struct.pack_into("<ii", data, _BMP_RESOLUTION_OFFSET, per_metre, per_metre)
    return bytes(data)


def _png_lines(pixels: NDArray[Any], bits: int) -> NDArray[np.uint8]:
    """The bytes of each row after its filter byte; all but 1-bit rows as differences."""
    rows = pixels.shape[0]
    if bits == 1:
        packed = np.packbits(pixels, axis=1)
        lines = np.empty((rows, packed.shape[1] + 1), np.uint8)
        lines[:, 0] = _PNG_FILTER_NONE
        lines[:, 1:] = packed
        return lines
    high_first = np.ascontiguousarray(pixels, ">u2" if bits == 16 else np.uint8)
    plain = high_first.view(np.uint8).reshape(rows, -1)
    step = plain.shape[1] // pixels.shape[1]
    lines = np.empty((rows, plain.shape[1] + 1), np.uint8)
    lines[:, 0] = _PNG_FILTER_SUB
    lines[:, 1 : 1 + step] = plain[:, :step]
    np.subtract(plain[:, step:], plain[:, :-step], out=lines[:, 1 + step :])
    return lines


def _png_chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _image(pixels: NDArray[np.uint8], bits: int) -> Image.Image:
    if bits == 8:
        return Image.fromarray(pixels)
    rows, columns = pixels.shape
    return Image.frombytes("1", (columns, rows), np.packbits(pixels, axis=1).tobytes())


def _with_exact_resolution(tiff: bytes, per_inch: Fraction) -> bytes:
    """The file with its two resolution fields as this fraction, where the writer had rounded."""
    data = bytearray(tiff)
    order = "<" if data[:2] == b"II" else ">"
    (directory,) = struct.unpack_from(order + "I", data, 4)
    (count,) = struct.unpack_from(order + "H", data, directory)
    for entry in range(directory + 2, directory + 2 + 12 * count, 12):
        tag, _, _, place = struct.unpack_from(order + "HHII", data, entry)
        if tag in _TIFF_RESOLUTION_TAGS:
            struct.pack_into(order + "II", data, place, per_inch.numerator, per_inch.denominator)
    return bytes(data)
