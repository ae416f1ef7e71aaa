"""How a photo was exposed: as its file tells it, and two photos compared by that."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from engine.exposure import Exposure, share_of
from engine.photo import photo_from_array, photo_from_bytes
from shared.errors import PhotoError

TIME, APERTURE, SPEED = 33434, 33437, 34855
TIMES = st.floats(1e-4, 30.0)


def photo(file_format: str = "JPEG", **tags: Any) -> bytes:
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({int(tag[1:]): value for tag, value in tags.items()})
    held = io.BytesIO()
    Image.fromarray(np.full((8, 8, 3), 90, np.uint8)).save(held, file_format, exif=exif.tobytes())
    return held.getvalue()


def told(data: bytes) -> Exposure | None:
    return photo_from_bytes(data, name="photo").exposure


@pytest.mark.parametrize("file_format", ["JPEG", "PNG", "WEBP"])
def test_it_is_read_from_the_file(file_format: str) -> None:
    data = photo(file_format, t33434=IFDRational(1, 117), t33437=IFDRational(9, 5), t34855=80)
    found = told(data)
    assert found is not None
    assert (found.seconds, found.iso) == (pytest.approx(1 / 117), 80.0)
    assert found.f_number == pytest.approx(1.8)


def test_a_photo_without_it_has_none() -> None:
    assert told(photo()) is None
    assert told(photo(t33434=IFDRational(1, 60))) is None
    assert photo_from_array(np.zeros((4, 4, 3), np.uint8), "array").exposure is None


@pytest.mark.parametrize(
    ("seconds", "iso"),
    [(IFDRational(0, 1), 100), (IFDRational(1, 0), 100), (IFDRational(9999, 1), 100),
     (IFDRational(1, 60), 0)],
)  # fmt: skip
def test_senseless_figures_count_as_missing(seconds: IFDRational, iso: int) -> None:
    assert told(photo(t33434=seconds, t34855=iso)) is None


@given(TIMES, TIMES, st.floats(10.0, 6400.0))
def test_share_there_and_back_is_one(first: float, second: float, iso: float) -> None:
    a, b = Exposure(first, 100.0, 1.8), Exposure(second, iso, 1.8)
    assert share_of(a, b) * share_of(b, a) == pytest.approx(1.0)


def test_time_and_speed_both_count() -> None:
    assert share_of(Exposure(1 / 240, 50.0, 1.8), Exposure(1 / 117, 100.0, 1.8)) == pytest.approx(
        0.5 * 117 / 240
    )


@pytest.mark.parametrize(
    ("first", "second", "stops"), [(60, 125, 1), (13, 25, 1), (100, 125, 1 / 3), (8, 15, 1)]
)
def test_times_that_cameras_round_are_exact_stops(first: int, second: int, stops: float) -> None:
    share = share_of(Exposure(1 / second, 100.0, 4.0), Exposure(1 / first, 100.0, 4.0))
    assert share == pytest.approx(2.0**-stops)


def test_times_against_flicker_are_not_rounded_ones() -> None:
    assert share_of(Exposure(1 / 120, 50.0, 0.0), Exposure(1 / 60, 50.0, 0.0)) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("first", "second", "word"),
    [
        (None, Exposure(0.01, 100.0, 2.0), "own files"),
        (Exposure(0.01, 100.0, 2.0), None, "own files"),
        (Exposure(0.01, 100.0, 2.0), Exposure(0.01, 100.0, 2.8), "aperture"),
    ],
)
def test_what_cannot_be_compared_is_said(
    first: Exposure | None, second: Exposure | None, word: str
) -> None:
    with pytest.raises(PhotoError, match=word):
        share_of(second, first)


@pytest.mark.parametrize("tag", ["t41985", "t41990", "t41992"])
def test_photos_that_the_camera_treated_differently_are_not_compared(tag: str) -> None:
    times = {"t33434": IFDRational(1, 50), "t34855": 100}
    plain, other, silent = (told(photo(**times, **more)) for more in ({tag: 0}, {tag: 1}, {}))
    assert share_of(plain, plain) == share_of(silent, plain) == share_of(other, silent) == 1.0
    with pytest.raises(PhotoError, match="treated the two photos differently"):
        share_of(other, plain)


def test_a_phone_file_keeps_it(tmp_path: Path) -> None:
    heif = pytest.importorskip("pillow_heif")
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({TIME: IFDRational(1, 50), SPEED: 64, APERTURE: IFDRational(2, 1)})
    path = tmp_path / "photo.heic"
    picture = heif.from_pillow(Image.fromarray(np.full((64, 64, 3), 90, np.uint8)))
    picture.save(path, exif=exif.tobytes())
    nothing = (None, None, None)
    assert told(path.read_bytes()) == Exposure(pytest.approx(0.02), 64.0, 2.0, nothing)
