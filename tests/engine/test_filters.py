"""Windows of finite support, the guided filter and the soft limiter."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine import filters, scratch
from engine.scratch import borrowed, give_back

VARIANCES = st.floats(0.0, 400.0)


def noise(rows: int = 60, cols: int = 70, seed: int = 1) -> filters.Floats:
    return np.random.default_rng(seed).random((rows, cols), dtype=np.float32)


def variance_of(taps: filters.Floats) -> float:
    places = np.arange(taps.size) - taps.size // 2
    return float(np.sum(taps.astype(np.float64) * places**2))


@given(VARIANCES)
def test_box_taps_have_the_variance_and_add_up_to_one(variance: float) -> None:
    taps = filters.box_taps(variance)
    assert taps.size % 2 == 1
    assert taps.min() >= 0.0
    assert taps.sum(dtype=np.float64) == pytest.approx(1.0, abs=1e-6)
    assert variance_of(taps) == pytest.approx(variance, rel=1e-5, abs=1e-6)


@given(VARIANCES)
def test_bell_taps_have_the_variance_and_fall_from_the_middle(variance: float) -> None:
    taps = filters.bell_taps(variance)
    assert variance_of(taps) == pytest.approx(variance, rel=1e-5, abs=1e-6)
    assert np.all(np.diff(taps[: taps.size // 2 + 1]) >= -1e-7)
    # Two continuous boxes of together this variance reach sqrt(6 variance) to each side.
    assert taps.size // 2 <= np.sqrt(6.0 * variance) + 2 * filters.SPARE_PX


@pytest.mark.parametrize("side", [1, 3, 5, 11, 31])
def test_a_whole_width_gives_equal_weights(side: int) -> None:
    taps = filters.box_taps((side * side - 1) / 12.0)
    np.testing.assert_allclose(taps[taps > 1e-6], 1.0 / side, atol=1e-6)
    assert np.count_nonzero(taps > 1e-6) == side


@given(VARIANCES, st.floats(1e-4, 0.1))
def test_taps_change_smoothly_with_the_width(variance: float, step: float) -> None:
    before, after = filters.box_taps(variance), filters.box_taps(variance + step)
    size = max(before.size, after.size)
    padded = [np.pad(taps, (size - taps.size) // 2) for taps in (before, after)]
    assert np.abs(padded[0] - padded[1]).max() <= step + 1e-6


@pytest.mark.parametrize("radius", [0.3, 2.0, 9.0, 30.0, 110.0])
def test_box_mean_keeps_constants_and_shape(radius: float) -> None:
    flat = np.full((50, 40), 0.3, dtype=np.float32)
    mean = filters.box_mean(flat, radius**2 / 3.0, np.empty_like(flat))
    np.testing.assert_allclose(mean, 0.3, atol=8e-6)


@pytest.mark.parametrize("side", [31, 181, 183])
def test_coded_sums_agree_with_plain_ones(side: int) -> None:
    """On both sides of the largest window whose codes fit, and for nearly white."""
    picture = 1.0 - 0.01 * noise(200, 210)
    mean = filters.box_mean(picture, (side**2 - 1) / 12.0, np.empty_like(picture))
    padded = np.pad(picture.astype(np.float64), side // 2, mode="symmetric")
    sums = np.pad(padded.cumsum(0).cumsum(1), ((1, 0), (1, 0)))
    rows, cols = picture.shape
    plain = (
        sums[side : side + rows, side : side + cols]
        - sums[:rows, side : side + cols]
        - sums[side : side + rows, :cols]
        + sums[:rows, :cols]
    ) / side**2
    np.testing.assert_allclose(mean, plain, atol=8e-6)


def test_window_variance_is_never_negative() -> None:
    flat = np.full((20, 20), 0.7, dtype=np.float32)
    variance = filters.window_variance(flat * flat - np.float32(1e-6), flat, np.empty_like(flat))
    assert variance.min() == 0.0


@pytest.mark.parametrize("shape", [(1, 1), (1, 9), (7, 1), (3, 2)])
def test_windows_larger_than_the_picture_work(shape: tuple[int, int]) -> None:
    picture = noise(*shape)
    base = filters.guided_base(picture, 100.0, 0.1, np.empty_like(picture))
    assert base.shape == shape
    assert np.all((base >= -1e-4) & (base <= 1.0 + 1e-4))


@given(st.floats(-5.0, 5.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_soften_stays_within_its_bounds(change: float, value: float, low: float, up: float) -> None:
    low, high = value - low * value, value + up * (1.0 - value)
    at = [np.full((2, 2), v, dtype=np.float32) for v in (value, change, low, high)]
    result = filters.soften(*at, np.empty_like(at[0]))
    assert np.all((result >= at[2] - 1e-6) & (result <= at[3] + 1e-6))


def test_soften_lets_small_changes_pass_and_keeps_large_ones_apart() -> None:
    changes = np.array([[-0.5, -0.25, -0.01, 0.0, 0.01, 0.25, 0.5]], dtype=np.float32)
    values = np.full_like(changes, 0.6)
    result = filters.soften(values, changes, 0.0, 1.0, np.empty_like(values))
    np.testing.assert_allclose((result - values)[0, 2:5], changes[0, 2:5], rtol=1e-3, atol=1e-7)
    assert np.all(np.diff(result) > 0.0)


def test_soften_takes_nothing_beyond_a_bound_that_is_already_passed() -> None:
    values = np.array([[0.9, 0.1]], dtype=np.float32)
    changes = np.array([[0.3, -0.3]], dtype=np.float32)
    result = filters.soften(values, changes, 0.2, 0.8, np.empty_like(values))
    np.testing.assert_array_equal(result, values)


def test_codes_are_rounded_and_kept_in_range() -> None:
    values = np.array([[-0.5, 0.0, 0.5, 1.0, 1.5, 100.2 / 255.0]], dtype=np.float32)
    codes = np.empty(values.shape, dtype=np.uint8)
    filters.to_codes(values, 255.0, codes)
    assert codes.tolist() == [[0, 0, 128, 255, 255, 100]]


def test_borrowed_arrays_are_lent_to_one_only() -> None:
    with borrowed((4, 5), 2) as (one, two), borrowed((4, 5), 1) as (three,):
        for value, array in enumerate((one, two, three)):
            array.fill(value)
        assert [float(a.mean()) for a in (one, two, three)] == [0.0, 1.0, 2.0]


def test_where_arrays_lie_in_memory_changes_no_bit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else the same job would not always give the same plate."""
    picture = noise(61, 73, seed=5)
    change = noise(61, 73, seed=6) - np.float32(0.5)

    def lain(array: filters.Floats, offset: int) -> filters.Floats:
        room = np.empty(array.size + 16, dtype=np.float32)[offset : offset + array.size]
        room = room.reshape(array.shape)
        room[:] = array
        return room

    results = []
    for offset in range(9):
        monkeypatch.setattr(
            "engine.scratch._take", lambda shape, o=offset: lain(np.zeros(shape, np.float32), o)
        )
        values, changes = lain(picture, offset), lain(change, offset)
        base = filters.guided_base(values, 60.0, 0.1, np.empty_like(values))
        results.append(filters.soften(base, changes, 0.0, 1.0, np.empty_like(values)))
    for result in results[1:]:
        np.testing.assert_array_equal(result, results[0])


def test_what_is_given_back_is_not_what_is_lent() -> None:
    with borrowed((3, 5), 1) as (lent,):
        lent[:] = 7.0
        give_back()
        with borrowed((3, 5), 1) as (other,):
            other[:] = 1.0
        assert (lent == 7.0).all()
    give_back()
    assert scratch._kept == []
