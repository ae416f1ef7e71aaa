"""The photo lands on the plate where the placement says, upright, at the right size."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from engine import placement
from engine.grid import Grid, overview, whole_plate, window
from shared.plate import Placement, Plate

PLATE = Plate(width_mm=50.0, height_mm=40.0, margin_mm=5.0, pitch_mm=0.1)


def _photo(rows: int, columns: int, dtype: Any = np.uint8) -> NDArray[Any]:
    """Red rises to the right, green rises downwards, blue is flat."""
    top = np.iinfo(dtype).max
    red = np.linspace(0, top, columns)[None, :] * np.ones((rows, 1))
    green = np.linspace(0, top, rows)[:, None] * np.ones((1, columns))
    return np.dstack([red, green, np.full((rows, columns), top // 2)]).astype(dtype)


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
@pytest.mark.parametrize("size", [(60, 80), (600, 800), (3000, 4000)])
def test_filling_keeps_handedness_and_reaches_edge_to_edge(
    size: tuple[int, int], dtype: Any
) -> None:
    placed = placement.place(
        placement.levels(_photo(*size, dtype)), PLATE, Placement(), whole_plate(PLATE)
    )
    assert placed.dtype == np.float32
    assert placed.shape == (400, 500, 3)
    inside = placed[50:350, 50:450]
    across, down = inside[150, :, 0], inside[:, 200, 1]
    assert np.all(np.diff(across) >= -1e-6)
    assert across[0] == pytest.approx(0.0, abs=0.01)
    assert across[-1] == pytest.approx(1.0, abs=0.01)
    assert down[0] == pytest.approx(0.0, abs=0.01)
    assert down[-1] == pytest.approx(1.0, abs=0.01)
    assert across[len(across) // 2] == pytest.approx(0.5, abs=0.01)


def test_scaling_magnifies_about_the_point_at_the_centre() -> None:
    levels = placement.levels(_photo(600, 800))
    wish = Placement(scale=4.0, centre_x=0.25, centre_y=0.75)
    placed = placement.place(levels, PLATE, wish, whole_plate(PLATE))
    assert placed[200, 250, 0] == pytest.approx(0.25, abs=0.01)
    assert placed[200, 250, 1] == pytest.approx(0.75, abs=0.01)
    assert placed[200, 449, 0] - placed[200, 50, 0] == pytest.approx(0.25, abs=0.01)


def test_turning_is_clockwise() -> None:
    """After a quarter turn clockwise the photo's top edge lies on the right."""
    levels = placement.levels(_photo(600, 600))
    square = Plate(width_mm=40.0, height_mm=40.0, margin_mm=0.0, pitch_mm=0.1)
    placed = placement.place(levels, square, Placement(turn_deg=90.0), whole_plate(square))
    assert placed[200, 395, 1] < 0.02
    assert placed[200, 5, 1] > 0.98
    assert placed[5, 200, 0] < 0.02


def test_an_area_is_averaged_when_the_photo_is_finer() -> None:
    rng = np.random.default_rng(5)
    noise = rng.integers(0, 256, (2400, 3200, 3), dtype=np.uint8)
    grid = overview(PLATE, 100)
    placed = placement.place(placement.levels(noise), PLATE, Placement(), grid)
    assert placed[15:70, 15:85].std() < 0.04


@pytest.mark.parametrize("pitch", [0.1, 0.37, 1.0])
def test_a_window_has_the_pixels_of_the_whole(pitch: float) -> None:
    rng = np.random.default_rng(6)
    levels = placement.levels(rng.integers(0, 256, (900, 1100, 3), dtype=np.uint8))
    wish = Placement(scale=1.3, turn_deg=7.0)
    whole = placement.place(levels, PLATE, wish, whole_plate(PLATE, pitch))
    part = window(PLATE, pitch, 12.0, 9.0, 33.0, 31.0)
    found = placement.place(levels, PLATE, wish, part)
    rows, columns = part.inside(whole_plate(PLATE, pitch))
    np.testing.assert_allclose(found, whole[rows, columns], atol=1.5 / 255)


def test_cover_is_the_margin_when_the_photo_fills() -> None:
    grid = whole_plate(PLATE)
    shown = _shown(placement.cover(600, 800, PLATE, Placement(), grid), grid)
    assert shown[50:350, 50:450].all()
    assert shown.sum() == 300 * 400


def test_cover_is_the_photo_when_it_is_fitted() -> None:
    grid = whole_plate(PLATE)
    shown = _shown(placement.cover(600, 400, PLATE, Placement(fit="fit"), grid), grid)
    assert shown.sum() == pytest.approx(300 * 200, rel=0.02)
    assert shown[200, 250]
    assert not shown[200, 100]


@given(st.floats(-180.0, 180.0), st.floats(0.2, 2.0), st.floats(-0.5, 1.5), st.floats(-0.5, 1.5))
@settings(deadline=None, max_examples=40)
def test_cover_is_where_the_photo_lies_within_the_margins(
    turn: float, scale: float, x: float, y: float
) -> None:
    wish = Placement(turn_deg=turn, scale=scale, centre_x=x, centre_y=y)
    grid = whole_plate(PLATE, 0.7)
    cover = placement.cover(600, 800, PLATE, wish, grid)
    down, across = np.mgrid[0 : grid.rows, 0 : grid.columns]
    x_mm, y_mm = (across + 0.5) * 0.7, (down + 0.5) * 0.7
    matrix = placement.photo_from_plate(PLATE, wish, 600, 800)
    photo_x, photo_y = (row[0] * x_mm + row[1] * y_mm + row[2] for row in matrix)
    plain = (x_mm >= 5.0) & (x_mm <= 45.0) & (y_mm >= 5.0) & (y_mm <= 35.0)
    plain &= (photo_x >= 0.0) & (photo_x <= 800.0) & (photo_y >= 0.0) & (photo_y <= 600.0)
    shown = _shown(cover, grid)
    np.testing.assert_array_equal(shown, plain)
    assert sorted(cover.of(x_mm).ravel()) == sorted(x_mm[plain])
    cleared = x_mm.copy()
    cover.clear_rest(cleared, -1.0)
    np.testing.assert_array_equal(cleared, np.where(plain, x_mm, -1.0))


def _shown(cover: placement.Cover, grid: Grid) -> NDArray[np.bool_]:
    shown = np.ones((grid.rows, grid.columns), np.bool_)
    cover.clear_rest(shown, False)
    return shown


@settings(deadline=None, max_examples=40)
@given(st.floats(-180.0, 180.0), st.floats(0.3, 5.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_the_plate_centre_shows_the_chosen_point_however_it_is_turned(
    turn: float, scale: float, x: float, y: float
) -> None:
    wish = Placement(turn_deg=turn, scale=scale, centre_x=x, centre_y=y)
    matrix = placement.photo_from_plate(PLATE, wish, 600, 800)
    at = matrix @ np.array([25.0, 20.0, 1.0])
    assert at == pytest.approx([x * 800, y * 600], abs=1e-6)
