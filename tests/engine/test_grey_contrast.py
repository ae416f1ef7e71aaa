"""The grey that keeps colours apart."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from engine import colour, grey, grey_contrast
from shared.operators import Grey

NEUTRAL = [(v, v, v) for v in (0.0, 0.2, 0.5, 0.7, 1.0)]


def _patches(*colours: tuple[float, float, float]) -> NDArray[np.float32]:
    """Fields of 12 x 12 pixels, side by side, in two rows of different order."""
    row = np.repeat(np.repeat(np.array([colours], np.float32), 12, axis=0), 12, axis=1)
    return np.concatenate([row, row[:, ::-1]], axis=0)


def _greys(sample: NDArray[np.float32], *colours: tuple[float, float, float]) -> list[float]:
    mix = grey.resolve(Grey(method="contrast"), sample)
    return [float(v) for v in grey.apply(mix, np.array([colours], np.float32))[0]]


def _isoluminant_green(red: tuple[float, float, float]) -> tuple[float, float, float]:
    """A green of the same luminance as a red, with a little red and blue in it."""
    wanted = float(colour.luminance(red))
    rest = float(colour.luminance((0.1, 0.0, 0.1)))
    level = float(colour.srgb_encode((wanted - rest) / colour.LUMINANCE[1]))
    return 0.1, level, 0.1


@pytest.mark.parametrize("red", [(0.8, 0.2, 0.2), (0.9, 0.1, 0.3), (0.6, 0.15, 0.1)])
def test_red_and_green_of_equal_luminance_part(red: tuple[float, float, float]) -> None:
    green = _isoluminant_green(red)
    sample = _patches(red, green, *NEUTRAL)
    pair = np.array([[red, green]], np.float32)
    lightness = grey.apply(grey.Mix("lightness"), pair)[0]
    assert abs(lightness[0] - lightness[1]) * 100.0 < 0.1
    first, second = _greys(sample, red, green)
    as_lightness = colour.lightness_from_luminance(colour.srgb_decode([first, second]))
    assert abs(as_lightness[0] - as_lightness[1]) > 5.0


def test_a_pair_that_the_plain_mean_merges_parts_too() -> None:
    """With equal sums of the records the first start stands on the saddle of the energy."""
    one, other = (0.8, 0.2, 0.3), (0.3, 0.2, 0.8)
    first, second = _greys(_patches(one, other), one, other)
    assert abs(first - second) > 0.05


def test_fields_that_never_touch_are_kept_apart() -> None:
    red = (0.8, 0.2, 0.2)
    green = _isoluminant_green(red)
    sample = _patches(red, (0.9, 0.9, 0.9), green)
    first, second = _greys(sample, red, green)
    assert abs(first - second) > 0.05


@given(st.integers(0, 10**6))
@settings(max_examples=25, deadline=None)
def test_neutrals_are_kept_by_the_weights_of_any_photo(seed: int) -> None:
    sample = np.random.default_rng(seed).random((12, 14, 3), dtype=np.float32)
    weights = grey_contrast.contrast_weights(sample)
    assert sum(weights[:3]) == pytest.approx(1.0, abs=1e-5)
    assert sum(weights[3:]) == pytest.approx(0.0, abs=1e-5)


def test_the_answer_has_less_energy_than_the_usual_mixes() -> None:
    sample = _patches((0.8, 0.3, 0.2), (0.2, 0.5, 0.3), (0.2, 0.3, 0.7), *NEUTRAL)
    pairs = grey_contrast.pairs_of(sample)
    found = grey_contrast.energy(np.array(grey_contrast.contrast_weights(sample)), pairs)
    for linear in (colour.LUMA_601, colour.LUMA_709, (1 / 3, 1 / 3, 1 / 3)):
        usual = np.concatenate([linear, np.zeros(6)])
        assert found < grey_contrast.energy(usual, pairs) - 0.1


@pytest.mark.parametrize("shape", [(1, 1), (1, 5), (40, 1), (400, 3)])
def test_thin_photos_have_an_answer(shape: tuple[int, int]) -> None:
    sample = np.random.default_rng(5).random((*shape, 3), dtype=np.float32)
    assert np.isfinite(grey_contrast.contrast_weights(sample)).all()


def test_a_photo_without_colour_gets_a_plain_mean() -> None:
    ramp = np.linspace(0.0, 1.0, 4000, dtype=np.float32).reshape(50, 80)
    weights = grey_contrast.contrast_weights(np.repeat(ramp[..., None], 3, axis=2))
    assert weights == pytest.approx((1 / 3,) * 3 + (0.0,) * 6, abs=1e-3)
