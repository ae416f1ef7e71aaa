"""Grids share the plate's lattice, so that windows of one pitch agree."""

from hypothesis import given
from hypothesis import strategies as st

from engine.grid import Grid, overview, whole_plate, window
from shared.plate import Plate

PLATE = Plate(width_mm=90.0, height_mm=120.0, pitch_mm=0.1)


def test_the_whole_plate_at_its_own_pitch() -> None:
    assert whole_plate(PLATE) == Grid(0.1, 0, 0, 1200, 900)


def test_an_overview_is_never_finer_than_the_etch() -> None:
    assert overview(PLATE, 300).rows == 300
    assert overview(PLATE, 100_000) == whole_plate(PLATE)


@given(
    st.floats(0.05, 2.0),
    st.floats(-20.0, 100.0),
    st.floats(-20.0, 130.0),
    st.floats(0.01, 60.0),
    st.floats(0.01, 60.0),
)
def test_a_window_covers_what_was_asked_and_stays_on_the_plate(
    pitch: float, left: float, top: float, width: float, height: float
) -> None:
    grid = window(PLATE, pitch, left, top, left + width, top + height)
    whole = whole_plate(PLATE, pitch)
    assert grid.rows >= 1
    assert grid.columns >= 1
    assert 0 <= grid.left <= grid.left + grid.columns <= whole.columns
    assert 0 <= grid.top <= grid.top + grid.rows <= whole.rows
    if left >= 0.0 and left + width <= whole.width_mm:
        assert grid.left_mm <= left + 1e-9
        assert grid.left_mm + grid.width_mm >= left + width - 1e-9


@given(st.integers(0, 800), st.integers(0, 1100), st.floats(0.0, 30.0))
def test_padding_grows_a_window_within_the_plate(left: int, top: int, reach: float) -> None:
    grid = Grid(0.1, top, left, 100, 100)
    wide = grid.padded(reach, PLATE)
    rows, columns = grid.inside(wide)
    assert (rows.stop - rows.start, columns.stop - columns.start) == (100, 100)
    assert wide.top == max(0, top - (top - wide.top))
    assert (left - wide.left) * 0.1 >= min(reach, left * 0.1) - 1e-9
    assert wide.left + wide.columns <= 900
    assert wide.top + wide.rows <= 1200


def test_a_grid_lies_in_another_when_all_its_pixels_do() -> None:
    outer = Grid(0.1, 10, 20, 30, 40)
    assert outer.lies_in(outer)
    assert Grid(0.1, 12, 25, 28, 35).lies_in(outer)
    beyond = ((9, 20, 5, 5), (10, 19, 5, 5), (12, 25, 29, 35), (12, 25, 28, 36))
    assert not any(Grid(0.1, *places).lies_in(outer) for places in beyond)
