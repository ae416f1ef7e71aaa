"""The sRGB curve, CIE lightness, and curves by table."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine import colour

UNIT = st.floats(0.0, 1.0)


@given(UNIT)
def test_decode_and_encode_undo_each_other(v: float) -> None:
    assert colour.srgb_encode(colour.srgb_decode(v)) == pytest.approx(v, abs=1e-7)


@given(UNIT)
def test_lightness_and_luminance_undo_each_other(y: float) -> None:
    lightness = colour.lightness_from_luminance(y)
    assert 0.0 <= lightness <= 100.0 + 1e-12
    assert colour.luminance_from_lightness(lightness) == pytest.approx(y, abs=1e-12)


@pytest.mark.parametrize(
    "curve",
    [
        colour.srgb_decode,
        colour.srgb_encode,
        colour.lightness_from_luminance,
        colour.luminance_from_lightness,
    ],
)
def test_curves_rise_all_the_way(curve) -> None:
    values = curve(np.linspace(0.0, 1.0, 20001))
    assert (np.diff(values) > 0.0).all()


def test_float32_stays_and_everything_else_becomes_float64() -> None:
    single = np.array([0.0, 0.5, 1.0], np.float32)
    for curve in (
        colour.srgb_decode,
        colour.srgb_encode,
        colour.lightness_from_luminance,
        colour.luminance_from_lightness,
    ):
        assert curve(single).dtype == np.float32
        assert curve([0, 1]).dtype == np.float64


def test_luminance_of_white_is_one_and_of_black_is_nought() -> None:
    ends = colour.luminance(np.array([[[0.0] * 3, [1.0] * 3]]))
    assert ends.shape == (1, 2)
    np.testing.assert_allclose(ends, [[0.0, 1.0]], atol=1e-12)


@pytest.mark.parametrize("shape", [(300, 400), (1, 7), (5, 70000), (300, 400, 3)])
def test_look_up_follows_the_curve_at_any_shape(shape: tuple[int, ...]) -> None:
    values = np.random.default_rng(1).random(shape, dtype=np.float32)
    before = values.copy()
    found = colour.look_up(values, colour.curve_table(colour.srgb_decode))
    assert found.dtype == np.float32
    assert found.shape == shape
    np.testing.assert_allclose(found, colour.srgb_decode(values), atol=2.3 * 7.7e-6)
    np.testing.assert_array_equal(values, before)


def test_look_up_holds_the_ends_outside_the_range() -> None:
    table = colour.curve_table(lambda v: 0.25 + v / 2)
    found = colour.look_up(np.array([[-3.0, 0.0, 1.0, 7.0]], np.float32), table)
    np.testing.assert_allclose(found, [[0.25, 0.25, 0.75, 0.75]], atol=1e-7)


@given(st.integers(1, 300), st.integers(1, 200000))
def test_bands_cover_every_row_once(rows: int, columns: int) -> None:
    covered = np.zeros(rows, int)
    for band in colour.bands(rows, columns):
        covered[band] += 1
    assert (covered == 1).all()


def test_codes_of_sixteen_bits_become_eight() -> None:
    deep = np.array([0, 256, 257, 65534, 65535], np.uint16)
    np.testing.assert_array_equal(colour.eight_bit(deep), [0, 0, 1, 254, 255])
    same = np.array([3, 200], np.uint8)
    assert colour.eight_bit(same) is same
