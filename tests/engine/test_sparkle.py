"""The sparkle of frost in a proof: seen from near, gone from afar, and never on bare glass."""

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from numpy.typing import NDArray
from scipy import ndimage

from engine.colour import lightness_from_luminance, srgb_decode
from engine.grid import Grid
from engine.sparkle import sparkling

BARE = 48


def _flat(code: int, grid: Grid) -> NDArray[np.uint8]:
    return sparkling(np.full((grid.rows, grid.columns), code, np.uint8), BARE, grid)


def _grid(
    pitch_mm: float, rows: int = 300, columns: int = 280, top: int = 0, left: int = 0
) -> Grid:
    return Grid(pitch_mm, top, left, rows, columns)


def test_bare_glass_has_none() -> None:
    assert_array_equal(_flat(BARE, _grid(0.1)), BARE)


@pytest.mark.parametrize("code", [60, 100, 150, 200, 243])
def test_the_mean_lightness_stays_and_so_does_every_square_millimetre(code: int) -> None:
    shown = _flat(code, _grid(0.1))
    assert shown.std() > 0.2
    light = srgb_decode(shown / 255.0)
    wanted = float(lightness_from_luminance(np.array(srgb_decode(code / 255.0))))
    seen = lightness_from_luminance(ndimage.uniform_filter(light, 10)[10:-10, 10:-10])
    assert float(np.abs(seen - wanted).max()) < 0.5
    assert float(lightness_from_luminance(light.mean())) == pytest.approx(wanted, abs=0.06)


def test_from_reading_distance_it_is_gone() -> None:
    """Seen at 450 mm through an eye of 1.2 minutes of arc, 0.157 mm."""
    light = srgb_decode(_flat(150, _grid(0.1)) / 255.0)
    seen = lightness_from_luminance(ndimage.gaussian_filter(light, 1.57)[10:-10, 10:-10])
    assert float(np.std(seen)) < 0.25
    assert float(np.std(lightness_from_luminance(light))) > 1.0


def test_windows_of_one_pitch_agree() -> None:
    whole = _flat(150, _grid(0.1, 600, 560))
    part = _flat(150, _grid(0.1, 90, 80, top=330, left=201))
    assert_array_equal(part, whole[330:420, 201:281])


def test_coarse_pixels_sparkle_less() -> None:
    assert _flat(150, _grid(0.8)).std() < 0.5 * _flat(150, _grid(0.2)).std()


def test_dark_marks_on_bright_glass_sparkle_too() -> None:
    codes = np.full((64, 64), 120, np.uint8)
    shown = sparkling(codes, 243, _grid(0.1, 64, 64), lighter=False)
    assert shown.std() > 1.0
    assert shown.mean() == pytest.approx(120.0, abs=1.0)
    assert_array_equal(
        sparkling(np.full((8, 8), 243, np.uint8), 243, _grid(0.1, 8, 8), lighter=False), 243
    )


def test_colours_keep_their_hue() -> None:
    codes = np.zeros((64, 64, 3), np.uint8)
    codes[:] = (60, 120, 110)
    shown = sparkling(codes, 13, _grid(0.1, 64, 64)).astype(int) - 13
    np.testing.assert_allclose(shown[..., 0] * 107.0, shown[..., 1] * 47.0, atol=80.0)
