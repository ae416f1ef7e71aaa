"""Histogram and shares."""

import numpy as np
import pytest
import skimage.data
from hypothesis import given, settings
from hypothesis import strategies as st

from engine import measure


@given(st.sampled_from([2, 16, 255, 256, 257, 1024, 65536]), st.integers(0, 99))
@settings(max_examples=40, deadline=None)
def test_every_value_is_counted_once_in_its_bin(bins: int, seed: int) -> None:
    values = np.random.default_rng(seed).random((30, 41), dtype=np.float32)
    counts = measure.histogram(values, bins)
    assert counts.dtype == np.int64
    assert counts.shape == (bins,)
    assert counts.sum() == values.size
    codes = np.rint(values.astype(np.float64) * (bins - 1)).astype(int)
    plain = np.bincount(codes.ravel(), minlength=bins)
    np.testing.assert_array_equal(counts, plain)


def test_values_beyond_the_ends_count_at_the_ends() -> None:
    values = np.array([[-1.0, 0.0, 0.4, 1.0, 2.0]], dtype=np.float32)
    for bins in (2, 256, 300):
        counts = measure.histogram(values, bins)
        assert counts[0] >= 2
        assert counts[-1] >= 2
        assert counts.sum() == 5


def test_eight_bit_codes_come_back() -> None:
    codes = skimage.data.camera()
    counts = measure.histogram(codes.astype(np.float32) / np.float32(255.0))
    np.testing.assert_array_equal(counts, np.bincount(codes.ravel(), minlength=256))


def test_large_pictures_are_counted_exactly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted in bands, as a picture with more pixels than float32 can count."""
    values = np.zeros((50, 7), dtype=np.float32)
    values[33:] = 1.0
    monkeypatch.setattr(measure, "_MOST_EXACT", 40)
    counts = measure.histogram(values)
    assert counts[0] == 33 * 7
    assert counts[-1] == 17 * 7


@pytest.mark.parametrize("bins", [0, 1, 65537])
def test_impossible_numbers_of_bins_are_refused(bins: int) -> None:
    with pytest.raises(ValueError, match="between 2 and 65536"):
        measure.histogram(np.zeros((2, 2), dtype=np.float32), bins)


def test_end_shares_agree_with_eight_bit_ends() -> None:
    look = np.array([[0.0, 0.4, 0.6, 254.4, 254.6, 255.0, 128.0, 128.0]]) / 255.0
    shares = measure.end_shares_of_look(look.astype(np.float32))
    assert shares.bare == pytest.approx(2 / 8)
    assert shares.full == pytest.approx(2 / 8)


def test_nothing_has_no_counts_and_no_shares() -> None:
    nothing = np.zeros((0, 0), np.float32)
    assert measure.histogram(nothing).sum() == 0
    assert measure.end_shares_of_look(nothing) == measure.Shares(0.0, 0.0)
