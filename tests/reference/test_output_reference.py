"""The size in mm and the polarity of files, field by field, and by other libraries."""

import struct
import zlib
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from engine.output import Bitmap, write_bitmap, write_grey8, write_grey16, write_rgb8
from shared.units import pitch_from_ppi

PIXELS = np.array([[0, 255, 255], [0, 0, 255]], np.uint8)


def written(folder: Path, name: str, pitch_mm: float, bits: int = 1) -> bytes:
    path = folder / name
    write_bitmap(Bitmap(PIXELS, bits, pitch_mm), path)
    return path.read_bytes()


def png_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Chunks of a PNG by ISO/IEC 15948, clause 5: length, kind, content, CRC over kind, content."""
    assert data[:8] == bytes([137, 80, 78, 71, 13, 10, 26, 10])
    place = 8
    while place < len(data):
        length, kind = struct.unpack_from(">I4s", data, place)
        content = data[place + 8 : place + 8 + length]
        assert struct.unpack_from(">I", data, place + 8 + length)[0] == zlib.crc32(kind + content)
        yield kind, content
        place += 12 + length


def tiff_fields(data: bytes) -> dict[int, tuple[int, ...]]:
    """Fields of the first directory by TIFF 6.0, section 2, as whole numbers (rationals as two)."""
    order = {b"II": "<", b"MM": ">"}[data[:2]]
    forty_two, directory = struct.unpack_from(order + "HI", data, 2)
    assert forty_two == 42
    fields: dict[int, tuple[int, ...]] = {}
    sizes = {1: "B", 2: "B", 3: "H", 4: "I", 5: "II"}
    for entry in range(struct.unpack_from(order + "H", data, directory)[0]):
        start = directory + 2 + 12 * entry
        tag, kind, count = struct.unpack_from(order + "HHI", data, start)
        layout = order + sizes[kind] * count
        place = start + 8
        if struct.calcsize(layout) > 4:
            (place,) = struct.unpack_from(order + "I", data, start + 8)
        fields[tag] = struct.unpack_from(layout, data, place)
    return fields


@pytest.mark.parametrize(
    ("pitch_mm", "chunk"),
    [
        (0.1, "00000009 70485973 00002710 00002710 01 94695119"),
        (pitch_from_ppi(300), "00000009 70485973 00002e23 00002e23 01 78a53f76"),
    ],
)
def test_png_phys_chunk(tmp_path: Path, pitch_mm: float, chunk: str) -> None:
    """PNG 3rd edition (2025), pHYs: pixels per metre across and down, unit 1. 254 ppi is 10000,
    300 ppi 11811; whole chunks with their CRC worked out by an independent program."""
    assert bytes.fromhex(chunk) in written(tmp_path, "a.png", pitch_mm)


@pytest.mark.parametrize(
    ("ppi", "per_metre"),
    [(254, 10_000), (300, 11_811), (508, 20_000), (600, 23_622), (1000, 39_370)],
)
def test_pixels_per_metre_in_png_and_bmp(tmp_path: Path, ppi: int, per_metre: int) -> None:
    """PNG pHYs as above; BITMAPINFOHEADER biXPelsPerMeter and biYPelsPerMeter, signed 32 bits at
    offsets 38 and 42 of the file (field order from its description, offsets from memory)."""
    png = dict(png_chunks(written(tmp_path, "a.png", pitch_from_ppi(ppi))))
    assert struct.unpack(">IIB", png[b"pHYs"]) == (per_metre, per_metre, 1)
    bmp = written(tmp_path, "a.bmp", pitch_from_ppi(ppi))
    assert struct.unpack_from("<ii", bmp, 38) == (per_metre, per_metre)


@pytest.mark.parametrize("bits", [1, 8])
def test_png_header(tmp_path: Path, bits: int) -> None:
    """IHDR, ISO/IEC 15948 clause 11.2.2: width, height, depth, colour type 0 (grey), no interlace.
    pHYs comes before the picture's data, IEND last."""
    chunks = list(png_chunks(written(tmp_path, "a.png", 0.1, bits)))
    assert [kind for kind, _ in chunks] == [b"IHDR", b"pHYs", b"IDAT", b"IEND"]
    assert struct.unpack(">IIBBBBB", chunks[0][1]) == (3, 2, bits, 0, 0, 0, 0)


def test_png_of_one_bit_is_packed_from_the_left(tmp_path: Path) -> None:
    """ISO/IEC 15948 clause 7.2: leftmost pixel in the high bit; grey 1 is white."""
    chunks = dict(png_chunks(written(tmp_path, "a.png", 0.1)))
    assert zlib.decompress(chunks[b"IDAT"])[0:2] == bytes([0, 0b01100000])
    assert zlib.decompress(chunks[b"IDAT"])[3] & 0b11100000 == 0b00100000


@pytest.mark.parametrize(
    ("pitch_mm", "per_inch"),
    [
        (0.1, Fraction(254)),
        (pitch_from_ppi(300), Fraction(300)),
        (0.0847, Fraction(254_000, 847)),
        (0.05, Fraction(508)),
        (0.01, Fraction(2540)),
        (1.0, Fraction(127, 5)),
    ],
)
def test_tiff_resolution(tmp_path: Path, pitch_mm: float, per_inch: Fraction) -> None:
    """TIFF 6.0: XResolution 282 and YResolution 283 rational, ResolutionUnit 296 = 2 (inch); an
    inch is 25.4 mm, so these fractions are exact."""
    for name in ("a.tif", "b.tiff"):
        fields = tiff_fields(written(tmp_path, name, pitch_mm))
        assert fields[282] == fields[283] == (per_inch.numerator, per_inch.denominator)
        assert fields[296] == (2,)


@pytest.mark.parametrize("bits", [1, 8])
def test_tiff_header(tmp_path: Path, bits: int) -> None:
    """TIFF 6.0, sections 3 and 4: width 256, length 257, BitsPerSample 258, PackBits 259 = 32773,
    PhotometricInterpretation 262 = 1 (BlackIsZero), written out so that nobody has to guess."""
    fields = tiff_fields(written(tmp_path, "a.tif", 0.1, bits))
    assert fields[256] == (3,)
    assert fields[257] == (2,)
    assert fields[258] == (bits,)
    assert fields[259] == (32773,)
    assert fields[262] == (1,)


@pytest.mark.parametrize("bits", [1, 8])
def test_bmp_header(tmp_path: Path, bits: int) -> None:
    """BITMAPINFOHEADER (from memory): depth at 28, no compression at 30, then the palette as blue,
    green, red, 0: code 0 is black, the last one white. Rows from the bottom, 4 bytes a step."""
    data = written(tmp_path, "a.bmp", 0.1, bits)
    start, size, columns, rows = struct.unpack_from("<IIii", data, 10)
    depth, compression = struct.unpack_from("<HI", data, 28)
    assert (size, columns, rows, depth, compression) == (40, 3, 2, bits, 0)
    palette = data[54:start]
    assert palette[:4] == bytes(4)
    assert palette[-4:-1] == bytes([255] * 3)
    last_row = data[start : start + 4]
    if bits == 1:
        assert palette == bytes([0, 0, 0, 0, 255, 255, 255, 0])
        assert last_row[0] & 0b11100000 == 0b00100000
    else:
        assert last_row[:3] == bytes([0, 0, 255])


@pytest.mark.parametrize("name", ["a.png", "a.tif", "a.tiff", "a.bmp"])
@pytest.mark.parametrize("bits", [1, 8])
@pytest.mark.parametrize("columns", [1, 7, 8, 9, 31, 32, 33, 500])
def test_opencv_reads_the_same_pixels(tmp_path: Path, name: str, bits: int, columns: int) -> None:
    """OpenCV's decoders."""
    rng = np.random.default_rng(columns)
    pixels = rng.integers(0, 2, (13, columns), np.uint8) * np.uint8(255)
    write_bitmap(Bitmap(pixels, bits, 0.1), tmp_path / name)
    assert np.array_equal(cv2.imread(str(tmp_path / name), cv2.IMREAD_GRAYSCALE), pixels)


def test_opencv_reads_the_same_looks_and_proofs(tmp_path: Path) -> None:
    """OpenCV's PNG decoder, 16-bit grey, 8-bit grey and RGB."""
    rng = np.random.default_rng(1)
    look = rng.integers(0, 65536, (31, 17), np.uint16)
    grey = rng.integers(0, 256, (31, 17), np.uint8)
    colour = rng.integers(0, 256, (31, 17, 3), np.uint8)
    write_grey16(look.astype(np.float64) / 65535.0, tmp_path / "look.png", 0.1)
    write_grey8(grey, tmp_path / "grey.png", 0.1)
    write_rgb8(colour, tmp_path / "colour.png", 0.1)
    read = {
        name: cv2.imread(str(tmp_path / f"{name}.png"), cv2.IMREAD_UNCHANGED)
        for name in ("look", "grey", "colour")
    }
    assert read["look"].dtype == np.uint16
    assert np.array_equal(read["look"], look)
    assert np.array_equal(read["grey"], grey)
    assert np.array_equal(read["colour"][:, :, ::-1], colour)


@pytest.mark.parametrize("name", ["a.png", "a.tif", "a.bmp"])
@pytest.mark.parametrize("pitch_mm", [0.1, 0.0847, pitch_from_ppi(300), 0.05])
def test_pillow_places_it_at_its_size(tmp_path: Path, name: str, pitch_mm: float) -> None:
    """The dpi that Pillow reports, times the pixels, is the plate's size to one etch pixel."""
    columns = round(300.0 / pitch_mm)
    write_bitmap(Bitmap(np.zeros((2, columns), np.uint8), 1, pitch_mm), tmp_path / name)
    with Image.open(tmp_path / name) as image:
        across, down = image.info["dpi"]
    assert across == down
    assert columns * 25.4 / float(across) == pytest.approx(columns * pitch_mm, abs=pitch_mm)
