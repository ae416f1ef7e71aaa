"""Units, and sizes as people write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared import units


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("90x120", (90.0, 120.0)),
        ("90 X 120 mm", (90.0, 120.0)),
        ("90,5x120", (90.5, 120.0)),
        ("4x5in", (101.6, 127.0)),
        ('8 x 10"', (203.2, 254.0)),
    ],
)
def test_sizes_as_people_write_them(text: str, size: tuple[float, float]) -> None:
    assert units.parse_size_mm(text) == pytest.approx(size)


@pytest.mark.parametrize("text", ["", "90", "90x", "x120", "90x120cm", "-90x120", "a x b"])
def test_what_is_no_size_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"not a size|could not convert"):
        units.parse_size_mm(text)


@given(st.floats(0.001, 1e6))
def test_inches_and_pitches_go_there_and_back(value: float) -> None:
    assert units.mm_from_inches(units.inches_from_mm(value)) == pytest.approx(value)
    assert units.pitch_from_ppi(units.ppi_from_pitch(value)) == pytest.approx(value)


def test_resolution_as_png_and_bmp_store_it() -> None:
    """Whole pixels per metre (ISO/IEC 15948, pHYs): 254 ppi is 10000, 300 ppi is 11811."""
    assert units.pixels_per_metre(0.1) == 10000
    assert units.pixels_per_metre(units.pitch_from_ppi(300)) == 11811


def test_a_length_has_at_least_one_pixel() -> None:
    assert units.pixel_count(0.001, 1.0) == 1


def test_shares_are_read_in_percent() -> None:
    assert units.percent(0.4) == "40 %"
    assert units.percent(0.00349, 1) == "0.3 %"


@pytest.mark.parametrize("text", ["1_5", "0,5,1", "half", ""])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"not a number|convert"):
        units.parse_number(text)
