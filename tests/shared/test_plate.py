"""The plate's facts: sizes, and what is derived from the physical facts."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import RecipeError
from shared.plate import Placement, Plate


@pytest.mark.parametrize(
    ("etched", "mark", "mirrored", "inverted"),
    [
        ("back", "light", True, True),
        ("back", "dark", True, False),
        ("front", "light", False, True),
        ("front", "dark", False, False),
    ],
)
def test_handedness_and_polarity_follow_from_the_facts(
    etched: str, mark: str, mirrored: bool, inverted: bool
) -> None:
    plate = Plate(etched=etched, mark=mark)
    assert (plate.mirrored, plate.inverted) == (mirrored, inverted)
    assert plate.unmarked_look == (0.0 if mark == "light" else 1.0)


def test_etch_pixels_of_a_known_plate() -> None:
    plate = Plate(width_mm=300.0, height_mm=400.0, pitch_mm=0.0847)
    assert (plate.columns, plate.rows) == (3542, 4723)


@given(st.floats(20.0, 600.0), st.floats(0.05, 1.0))
def test_the_bitmap_is_the_glass_to_half_a_pixel(width_mm: float, pitch_mm: float) -> None:
    plate = Plate(width_mm=width_mm, height_mm=100.0, pitch_mm=pitch_mm)
    assert abs(plate.columns * pitch_mm - width_mm) <= 0.5 * pitch_mm + 1e-9


def test_a_margin_that_leaves_nothing_is_refused() -> None:
    with pytest.raises(RecipeError, match="no room"):
        Plate(width_mm=50.0, height_mm=80.0, margin_mm=25.0)


def test_a_plate_with_too_many_pixels_is_refused() -> None:
    with pytest.raises(RecipeError, match="million etch pixels"):
        Plate(width_mm=3000.0, height_mm=3000.0, pitch_mm=0.05)


def test_the_margin_by_common_practice_is_twice_the_thickness() -> None:
    """EN 12150-1 asks for it round holes; workshops keep it at edges (common practice)."""
    assert Plate(thickness_mm=4.0).least_margin_mm == 8.0
    assert Plate().margin_mm >= Plate().least_margin_mm


def test_fill_covers_and_fit_shows_all() -> None:
    plate = Plate(width_mm=112.0, height_mm=62.0, margin_mm=6.0)
    fill = Placement(fit="fill").mm_per_photo_pixel(plate, 1000, 1000)
    fit = Placement(fit="fit").mm_per_photo_pixel(plate, 1000, 1000)
    assert fill * 1000 == pytest.approx(100.0)
    assert fit * 1000 == pytest.approx(50.0)
    assert Placement(scale=2.0).mm_per_photo_pixel(plate, 1000, 1000) == pytest.approx(2 * fill)
