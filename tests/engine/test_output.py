"""Plates, looks and proofs as files: what is read back is what was written, or nothing is there."""

import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from engine import output
from engine.output import (
    Bitmap,
    Written,
    read_resolution_mm,
    write_bitmap,
    write_grey8,
    write_grey16,
    write_rgb8,
)
from shared.atomic import write_text
from shared.errors import OutputError, WriteError
from shared.units import pitch_from_ppi

SUFFIXES = output.PLATE_SUFFIXES
STEPS_OF_PITCH = st.integers(100, 10_000).map(lambda k: k / 10_000)
WHOLE_PPI = st.integers(26, 2540).map(pitch_from_ppi)
ANY_PITCH = st.floats(0.01, 1.0)
FILES = settings(deadline=None, max_examples=40)
"""Every file is brought to the disk, which takes its own time."""


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("shelf")


def dots(rows: int, columns: int, seed: int = 0) -> np.ndarray:
    return np.random.default_rng(seed).integers(0, 2, (rows, columns), np.uint8) * np.uint8(255)


def greys(rows: int, columns: int, seed: int = 0) -> np.ndarray:
    return np.random.default_rng(seed).integers(0, 256, (rows, columns), np.uint8)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


@FILES
@given(
    suffix=st.sampled_from(SUFFIXES),
    rows=st.integers(1, 40),
    columns=st.integers(1, 40),
    bits=st.sampled_from([1, 8]),
    pitch_mm=st.one_of(STEPS_OF_PITCH, WHOLE_PPI, ANY_PITCH),
    seed=st.integers(0, 9),
)
def test_a_plate_comes_back_as_it_was(
    shelf: Path, suffix: str, rows: int, columns: int, bits: int, pitch_mm: float, seed: int
) -> None:
    pixels = (dots if bits == 1 else greys)(rows, columns, seed)
    path = shelf / f"plate{suffix}"
    written = write_bitmap(Bitmap(pixels, bits, pitch_mm), path, overwrite=True)
    with Image.open(path) as image:
        assert image.mode == {1: "1", 8: "L"}[bits]
        assert np.array_equal(np.asarray(image.convert("L")), pixels)
    assert read_resolution_mm(path) == pytest.approx((written.pitch_mm,) * 2, rel=1e-6)


@FILES
@given(rows=st.integers(1, 30), columns=st.integers(1, 30), seed=st.integers(0, 9))
def test_looks_and_proofs_come_back_as_they_were(
    shelf: Path, rows: int, columns: int, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    look = rng.random((rows, columns), dtype=np.float32)
    colour = rng.integers(0, 256, (rows, columns, 3), np.uint8)
    grey = greys(rows, columns, seed)
    path = shelf / "picture.png"
    for write, sent, kept, mode in (
        (write_grey16, look, np.rint(look * np.float32(65535)).astype(np.uint16), "I;16"),
        (write_grey16, kept16 := np.uint16(65535) - grey, kept16, "I;16"),
        (write_grey8, grey, grey, "L"),
        (write_rgb8, colour, colour, "RGB"),
    ):
        write(sent, path, 0.1, overwrite=True)
        with Image.open(path) as image:
            assert image.mode == mode
            assert np.array_equal(np.asarray(image), kept)
        assert read_resolution_mm(path) == pytest.approx((0.1, 0.1), rel=1e-12)


def test_the_ends_of_a_look_are_the_ends_of_the_file(tmp_path: Path) -> None:
    write_grey16(np.array([[0.0, 1.0]], np.float32), tmp_path / "look.png", 0.1)
    with Image.open(tmp_path / "look.png") as image:
        assert np.asarray(image).tolist() == [[0, 65535]]


@FILES
@given(pitch_mm=st.one_of(STEPS_OF_PITCH, WHOLE_PPI))
def test_tiff_holds_every_pitch_that_people_enter(shelf: Path, pitch_mm: float) -> None:
    written = write_bitmap(Bitmap(dots(2, 3000), 1, pitch_mm), shelf / "exact.tif", overwrite=True)
    assert abs(written.size_error_mm) < 1e-9
    assert written.exact_to_a_pixel


@FILES
@given(suffix=st.sampled_from(SUFFIXES), pitch_mm=ANY_PITCH, columns=st.integers(1, 3000))
def test_the_size_error_is_told(shelf: Path, suffix: str, pitch_mm: float, columns: int) -> None:
    path = shelf / f"told{suffix}"
    written = write_bitmap(Bitmap(dots(1, columns), 1, pitch_mm), path, overwrite=True)
    across, _ = read_resolution_mm(path)
    assert written.size_error_mm == pytest.approx(
        columns * (across - pitch_mm), abs=1e-6 * columns * pitch_mm
    )
    if columns * pitch_mm < 1990.0:
        assert written.exact_to_a_pixel


def test_a_size_off_by_a_pixel_is_admitted() -> None:
    assert Written(Path("a.png"), 0.1, 0.0999).exact_to_a_pixel
    assert not Written(Path("a.png"), 0.1, 0.1001).exact_to_a_pixel
    assert not Written(Path("a.png"), 0.1, -0.1001).exact_to_a_pixel


def test_the_longest_plate_may_be_off_by_a_pixel_in_png_but_not_in_tiff(tmp_path: Path) -> None:
    """3 m at a pitch that no whole number of pixels a metre gives."""
    pitch_mm = 1000.0 / 10_000.5
    bitmap = Bitmap(dots(1, 30_000), 1, pitch_mm)
    in_png = write_bitmap(bitmap, tmp_path / "a.png")
    assert abs(in_png.size_error_mm) == pytest.approx(0.15, abs=0.001)
    assert not in_png.exact_to_a_pixel
    assert write_bitmap(bitmap, tmp_path / "a.tif").exact_to_a_pixel


def test_same_in_same_out(tmp_path: Path) -> None:
    for suffix in SUFFIXES:
        for name in ("a", "b"):
            write_bitmap(Bitmap(dots(50, 33), 1, 0.1), tmp_path / f"{name}{suffix}")
        assert (tmp_path / f"a{suffix}").read_bytes() == (tmp_path / f"b{suffix}").read_bytes()


def test_pixels_in_any_memory_order_are_written_alike(tmp_path: Path) -> None:
    pixels = dots(40, 30)
    write_bitmap(Bitmap(pixels[:, ::-1], 1, 0.1), tmp_path / "view.png")
    write_bitmap(Bitmap(pixels[:, ::-1].copy(), 1, 0.1), tmp_path / "copy.png")
    assert (tmp_path / "view.png").read_bytes() == (tmp_path / "copy.png").read_bytes()


@pytest.mark.parametrize("suffix", SUFFIXES)
@pytest.mark.parametrize("bits", [1, 8])
def test_a_plate_beyond_the_decoder_s_usual_limit_is_verified(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, suffix: str, bits: int
) -> None:
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 10)
    write_bitmap(Bitmap(dots(50, 50), bits, 0.1), tmp_path / f"a{suffix}")
    assert names(tmp_path) == [f"a{suffix}"]


@pytest.mark.parametrize(
    ("pixels", "bits"),
    [
        (np.zeros((2, 2), np.float32), 8),
        (np.zeros((2, 2, 3), np.uint8), 8),
        (np.zeros((0, 2), np.uint8), 8),
        (np.full((2, 2), 127, np.uint8), 1),
        (np.full((2, 2), 1, np.uint8), 1),
        (np.full((2, 2), 254, np.uint8), 1),
    ],
)
def test_pixels_that_are_no_bitmap_are_refused(pixels: np.ndarray, bits: int) -> None:
    with pytest.raises(ValueError, match="a bitmap"):
        Bitmap(pixels, bits, 0.1)


Writer = Callable[..., object]
WRITERS: dict[str, Writer] = {
    "plate.png": lambda path, **how: write_bitmap(Bitmap(dots(9, 9), 1, 0.1), path, **how),
    "plate.tif": lambda path, **how: write_bitmap(Bitmap(dots(9, 9), 1, 0.1), path, **how),
    "plate.bmp": lambda path, **how: write_bitmap(Bitmap(greys(9, 9), 8, 0.1), path, **how),
    "look.png": lambda path, **how: write_grey16(np.zeros((4, 4), np.float32), path, 0.1, **how),
    "grey.png": lambda path, **how: write_grey8(greys(4, 4), path, 0.1, **how),
    "proof.png": lambda path, **how: write_rgb8(np.zeros((4, 4, 3), np.uint8), path, 0.1, **how),
    "report.json": lambda path, **how: write_text("{}", path, **how),
}


@pytest.mark.parametrize("name", WRITERS)
def test_every_writer_asks_before_it_replaces_and_spares_the_photo(
    tmp_path: Path, name: str
) -> None:
    write, path = WRITERS[name], tmp_path / name
    path.write_bytes(b"there first")
    with pytest.raises(OutputError, match="exists already"):
        write(path)
    for overwrite in (False, True):
        with pytest.raises(OutputError, match="is the photo itself"):
            write(path, overwrite=overwrite, photo_path=path)
    assert path.read_bytes() == b"there first"
    write(path, overwrite=True, photo_path=tmp_path / "photo.jpg")
    assert path.read_bytes() != b"there first"
    assert names(tmp_path) == [name]


@pytest.mark.parametrize("name", WRITERS)
def test_every_writer_names_an_unusable_place(tmp_path: Path, name: str) -> None:
    with pytest.raises(OutputError, match="no folder"):
        WRITERS[name](tmp_path / "none" / name)
    with pytest.raises(OutputError, match="too long"):
        WRITERS[name](tmp_path / ("x" * 255 + name))
    (tmp_path / name).mkdir()
    with pytest.raises(OutputError, match="is a folder"):
        WRITERS[name](tmp_path / name, overwrite=True)
    assert names(tmp_path) == [name]


@pytest.mark.parametrize("name", ["plate", "plate.jpg", "plate.png.bak", "plate."])
def test_an_unknown_extension_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(OutputError, match=r"\.png, \.tif, \.tiff, \.bmp"):
        write_bitmap(Bitmap(dots(2, 2), 1, 0.1), tmp_path / name)
    assert names(tmp_path) == []


@pytest.mark.parametrize("write", [write_grey16, write_grey8, write_rgb8])
def test_looks_and_proofs_are_png_only(tmp_path: Path, write: Writer) -> None:
    with pytest.raises(OutputError, match=r"end its name with \.png"):
        write(greys(2, 2), tmp_path / "look.tif", 0.1)


def test_extensions_in_capitals_serve(tmp_path: Path) -> None:
    for suffix in SUFFIXES:
        path = tmp_path / f"PLATE{suffix.upper()}"
        write_bitmap(Bitmap(dots(3, 3), 1, 0.1), path)
        with Image.open(path) as image:
            assert image.size == (3, 3)


def test_text_is_utf8(tmp_path: Path) -> None:
    write_text("Küche, 2 × 3 mm\n", tmp_path / "a.json")
    assert (tmp_path / "a.json").read_bytes() == "Küche, 2 × 3 mm\n".encode()


@pytest.mark.parametrize("suffix", SUFFIXES)
@pytest.mark.parametrize(
    "other",
    [
        Bitmap(dots(20, 20, seed=1), 1, 0.1),
        Bitmap(dots(20, 20), 8, 0.1),
        Bitmap(dots(20, 20), 1, 0.1001),
        Bitmap(dots(20, 20)[:, :19], 1, 0.1),
        Bitmap(255 - dots(20, 20), 1, 0.1),
    ],
    ids=["other pixels", "other depth", "other pitch", "other size", "other polarity"],
)
def test_the_check_sees_every_difference(tmp_path: Path, suffix: str, other: Bitmap) -> None:
    pixels, path = dots(20, 20), tmp_path / f"a{suffix}"
    write_bitmap(Bitmap(pixels, 1, 0.1), path)
    assert output._holds(path, suffix, pixels, 1, 0.1)
    assert not output._holds(path, suffix, other.pixels, other.bits, other.pitch_mm)


def test_a_disk_that_changes_pixels_keeps_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.bmp"
    write_bitmap(Bitmap(dots(20, 20), 1, 0.1), path)
    old = path.read_bytes()
    honest = os.write
    monkeypatch.setattr(os, "write", lambda fd, data: honest(fd, bytes(data)[:-1] + b"\x55"))
    with pytest.raises(WriteError, match="came back from the disk changed"):
        write_bitmap(Bitmap(dots(20, 20, seed=2), 1, 0.1), path, overwrite=True)
    assert path.read_bytes() == old
    assert names(tmp_path) == ["a.bmp"]
