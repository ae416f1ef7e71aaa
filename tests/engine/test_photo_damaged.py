"""Damaged and hostile files: each ends as a Photo or as one sentence, in bounded memory."""

import functools
import io
import random
import struct
import subprocess
import sys
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from engine import photo as photo_module
from engine.photo import Photo, open_photo, photo_from_bytes
from shared.errors import PhotoError

FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "GIF", "BMP", "AVIF", "HEIF")
FLIPS_EACH = 60


@functools.cache
def valid(file_format: str) -> bytes:
    """A valid file with much in it: several blocks, a profile, EXIF data."""
    if file_format == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    rng = np.random.default_rng(7)
    rows, columns = np.mgrid[:48, :64]
    ramp = np.stack([rows * 5, columns * 3, rows + columns], -1) + rng.integers(0, 9, (48, 64, 3))
    exif = Image.Exif()
    exif[0x0112] = 1
    icc = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    options: dict[str, Any] = {} if file_format in ("GIF", "BMP") else {"exif": exif}
    if options:
        options["icc_profile"] = icc
    if file_format == "TIFF":
        options["compression"] = "tiff_lzw"
    file = io.BytesIO()
    Image.fromarray(ramp.astype(np.uint8)).save(file, file_format, **options)
    return file.getvalue()


def outcome(data: bytes) -> Photo | str:
    """The photo, or the sentence; anything else fails the test."""
    try:
        photo = photo_from_bytes(data, name="photo.xyz", limit_mp=4.0)
    except PhotoError as error:
        sentence = str(error)
        assert sentence.startswith("photo.xyz ")
        assert sentence.endswith((".", "?"))
        assert "\n" not in sentence
        return sentence
    assert photo.pixels.ndim == 3
    assert photo.pixels.shape[2] == 3
    assert photo.pixels.dtype in (np.uint8, np.uint16)
    return photo


@pytest.mark.parametrize("file_format", FORMATS)
@given(share=st.floats(0.0, 1.0, exclude_max=True))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_a_truncated_file_is_refused_or_whole(file_format: str, share: float) -> None:
    """Where only what follows the pixels is missing, the pixels must be the right ones."""
    data = valid(file_format)
    result = outcome(data[: int(share * len(data))])
    if isinstance(result, Photo):
        assert np.array_equal(result.pixels, photo_from_bytes(data, name="whole").pixels)


@pytest.mark.parametrize("file_format", FORMATS)
@pytest.mark.parametrize("share", [0.05, 0.5, 0.9])
def test_a_file_that_is_clearly_truncated_is_refused(file_format: str, share: float) -> None:
    data = valid(file_format)
    assert isinstance(outcome(data[: int(share * len(data))]), str)


@pytest.mark.parametrize("file_format", FORMATS)
def test_flipped_bytes(file_format: str) -> None:
    data, rng = valid(file_format), random.Random(f"flip {file_format}")
    results = []
    for _ in range(FLIPS_EACH):
        damaged = bytearray(data)
        for _ in range(rng.choice((1, 3, 20))):
            # Half of the hits go to the beginning, where the headers are.
            at = rng.randrange(len(data) if rng.random() < 0.5 else min(200, len(data)))
            damaged[at] = rng.randrange(256)
        results.append(outcome(bytes(damaged)))
    assert len(results) == FLIPS_EACH
    assert any(isinstance(result, str) for result in results)


@given(st.binary(max_size=300))
@settings(max_examples=100, deadline=None)
def test_random_bytes(data: bytes) -> None:
    assert isinstance(outcome(data), str)


@given(st.sampled_from(FORMATS), st.binary(max_size=300))
@settings(max_examples=100, deadline=None, derandomize=True)
def test_random_bytes_behind_a_true_beginning(file_format: str, tail: bytes) -> None:
    outcome(valid(file_format)[:40] + tail)


@pytest.mark.parametrize("file_format", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_a_damaged_profile_is_passed_over_with_a_note(file_format: str) -> None:
    file = io.BytesIO()
    options: dict[str, Any] = {"lossless": True} if file_format == "WEBP" else {}
    image = Image.new("RGB", (16, 16), (90, 120, 150))
    image.save(file, file_format, icc_profile=b"no profile at all" * 20, **options)
    photo = photo_from_bytes(file.getvalue(), name="x")
    assert photo.notes == ("Its colour profile cannot be used; the colours are taken as sRGB.",)
    assert np.abs(photo.pixels.astype(int) - [90, 120, 150]).max() <= 2


@pytest.mark.parametrize("mode", ["RGB", "CMYK", "L", "I;16"])
def test_a_profile_for_other_colours_is_passed_over_with_a_note(mode: str) -> None:
    icc = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    icc[16:20] = b"GRAY" if mode in ("L", "RGB") else b"RGB "
    file = io.BytesIO()
    Image.new(mode, (4, 4)).save(file, "TIFF", icc_profile=bytes(icc))
    photo = photo_from_bytes(file.getvalue(), name="x")
    assert any("profile" in note for note in photo.notes)


@given(data=st.data())
@settings(max_examples=60, deadline=None, derandomize=True)
def test_a_grey_profile_with_any_curve_gives_a_photo(data: st.DataObject) -> None:
    curve = data.draw(st.sampled_from([b"curv", b"para", b"what"])) + bytes(4)
    curve += data.draw(st.binary(max_size=60))
    icc = bytes(16) + b"GRAYXYZ " + bytes(104) + struct.pack(">I4sII", 1, b"kTRC", 144, len(curve))
    file = io.BytesIO()
    ramp = np.arange(0, 65536, 257, dtype=np.uint16)[np.newaxis]
    Image.fromarray(ramp).save(file, "TIFF", icc_profile=icc + curve)
    photo = photo_from_bytes(file.getvalue(), name="x")
    assert photo.pixels.shape == (1, 256, 3)
    if photo.notes:
        assert np.array_equal(photo.pixels[..., 0], ramp)


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png_bomb(*extra: bytes, side: int = 100_000) -> bytes:
    header = chunk(b"IHDR", struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0))
    pixels = chunk(b"IDAT", zlib.compress(bytes(10**6)))
    return b"\x89PNG\r\n\x1a\n" + header + b"".join(extra) + pixels + chunk(b"IEND", b"")


def patched(file_format: str, old: bytes, new: bytes) -> bytes:
    data = valid(file_format)
    assert data.count(old) >= 1
    return data.replace(old, new, 1)


def bombs() -> dict[str, bytes]:
    """Small files that ask for much: by their headers, by text, by a canvas."""
    text = b"Comment\0\0" + zlib.compress(bytes(200 * 10**6), 9)
    canvas = (16382).to_bytes(3, "little") * 2
    inner = valid("WEBP")
    at = inner.index(b"VP8X") + 12
    return {
        "png": png_bomb(),
        "text.png": png_bomb(chunk(b"zTXt", text), side=20),
        "profile.png": png_bomb(chunk(b"iCCP", text), side=20),
        "jpg": patched("JPEG", struct.pack(">HH", 48, 64), struct.pack(">HH", 65500, 65500)),
        "gif": valid("GIF")[:6] + b"\xff\xff\xff\xff" + valid("GIF")[10:],
        "bmp": patched("BMP", struct.pack("<ii", 64, 48), struct.pack("<ii", 10**5, 10**5)),
        "tif": patched(
            "TIFF", struct.pack("<HHIHH", 256, 3, 1, 64, 0), struct.pack("<HHII", 256, 4, 1, 2**31)
        ),
        "webp": inner[:at] + canvas + inner[at + 6 :],
        "avif": patched("AVIF", struct.pack(">II", 64, 48), struct.pack(">II", 65000, 65000)),
        "heic": patched("HEIF", struct.pack(">II", 64, 64), struct.pack(">II", 65000, 65000)),
    }


SCRIPT = """
import sys
from pathlib import Path
from engine.photo import open_photo
from shared.errors import PhotoError

def peak():
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM"))

open_photo(sys.argv[1])
before = peak()
for name in sys.argv[2:]:
    try:
        open_photo(name)
        print("opened", name)
    except PhotoError as error:
        print("refused", error)
print(peak() - before)
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak is not known here")
def test_bombs_are_refused_within_150_megabytes(tmp_path: Path) -> None:
    (tmp_path / "good.jpg").write_bytes(valid("JPEG"))
    names = []
    for name, data in bombs().items():
        (tmp_path / f"bomb.{name}").write_bytes(data)
        names.append(str(tmp_path / f"bomb.{name}"))
    command = [sys.executable, "-c", SCRIPT, str(tmp_path / "good.jpg"), *names]
    root = Path(photo_module.__file__).parents[1]
    output = subprocess.run(command, cwd=root, check=True, capture_output=True, text=True)
    *lines, rise = output.stdout.splitlines()
    assert len(lines) == len(names)
    assert [line for line in lines if not line.startswith("refused bomb")] == []
    assert float(rise) <= 150.0


def test_a_bomb_header_is_refused_with_its_size(tmp_path: Path) -> None:
    (tmp_path / "bomb.png").write_bytes(png_bomb())
    with pytest.raises(PhotoError, match=r"100000 × 100000 pixels \(10,000.0 megapixels\)"):
        open_photo(tmp_path / "bomb.png")
