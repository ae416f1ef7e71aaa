"""Detail: exaggerated where there is some, calm in flat skin, without wide halos."""

import cv2
import numpy as np
import pytest
import skimage.data
from hypothesis import given, settings
from hypothesis import strategies as st

from engine import detail
from engine.filters import Floats
from shared.operators import Detail

PITCH_MM = 0.0847


def grey_of(name: str) -> Floats:
    picture = getattr(skimage.data, name)()
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY) if picture.ndim == 3 else picture
    return np.asarray(grey, dtype=np.float32) / np.float32(255.0)


def wave(period_mm: float, size: float, pitch_mm: float = PITCH_MM) -> Floats:
    places = np.arange(400) * pitch_mm
    row = 0.5 + size * np.sin(2.0 * np.pi * places / period_mm)
    return np.tile(row.astype(np.float32), (60, 1))


def gain_of(picture: Floats, result: Floats) -> float:
    inner = np.s_[20:-20, 40:-40]
    return float(result[inner].std() / picture[inner].std())


def test_no_gain_is_an_exact_copy() -> None:
    grey = grey_of("camera")
    result = detail.exaggerate(grey, Detail(amount=0.0), PITCH_MM)
    np.testing.assert_array_equal(result, grey)
    assert not np.shares_memory(result, grey)


@pytest.mark.parametrize("value", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("threshold", [0.0, 0.015])
@pytest.mark.parametrize("radius_mm", [0.05, 0.4, 3.0])
def test_constants_stay(value: float, threshold: float, radius_mm: float) -> None:
    flat = np.full((60, 50), value, dtype=np.float32)
    wish = Detail(amount=6.0, threshold=threshold, radius_mm=radius_mm)
    np.testing.assert_allclose(detail.exaggerate(flat, wish, PITCH_MM), flat, atol=2e-6)


@given(
    st.floats(0.0, 6.0),
    st.floats(0.05, 3.0),
    st.floats(0.0, 0.15),
    st.floats(0.0, 1.0),
    st.floats(0.03, 2.0),
    st.integers(0, 99),
)
@settings(max_examples=40, deadline=None)
def test_result_keeps_the_halo_limit_and_the_range(
    amount: float, radius_mm: float, threshold: float, halo: float, pitch_mm: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    picture = np.round(rng.random((40, 50), dtype=np.float32) * 4.0) / np.float32(4.0)
    before = picture.copy()
    wish = Detail(amount=amount, radius_mm=radius_mm, threshold=threshold, halo=halo)
    result = detail.exaggerate(picture, wish, pitch_mm)
    np.testing.assert_array_equal(picture, before)
    assert result.dtype == np.float32
    assert result.min() >= 0.0
    assert result.max() <= 1.0
    side = 2 * int(np.ceil(radius_mm / pitch_mm)) + 1
    around = np.ones((side, side), dtype=np.uint8)
    assert np.all(result <= cv2.dilate(picture, around) + halo + 1e-5)
    assert np.all(result >= cv2.erode(picture, around) - halo - 1e-5)


@pytest.mark.parametrize(("amount", "most"), [(1.2, 1.03), (3.0, 1.07), (6.0, 1.15)])
@pytest.mark.parametrize("pitch_mm", [0.0847, 0.15, 0.254])
def test_noise_below_the_floor_is_left_alone(amount: float, most: float, pitch_mm: float) -> None:
    wish = Detail(amount=amount)
    rng = np.random.default_rng(3)
    skin = (0.6 + rng.normal(0.0, wish.threshold, (300, 300))).astype(np.float32)
    result = detail.exaggerate(skin, wish, pitch_mm)
    assert result.std() / skin.std() <= most


@pytest.mark.parametrize("amount", [0.5, 1.2, 3.0])
def test_texture_above_the_floor_is_exaggerated(amount: float) -> None:
    texture = wave(0.3, 0.06)
    gain = gain_of(texture, detail.exaggerate(texture, Detail(amount=amount, halo=1.0), PITCH_MM))
    assert 0.9 * (1.0 + amount) <= gain <= 1.02 * (1.0 + amount)


def test_forms_much_larger_than_the_radius_stay() -> None:
    forms = wave(6.0, 0.2)
    gain = gain_of(forms, detail.exaggerate(forms, Detail(threshold=0.0), PITCH_MM))
    assert 1.0 <= gain <= 1.03


def test_a_floor_of_nothing_takes_the_faintest_detail() -> None:
    texture = wave(0.3, 0.002)
    result = detail.exaggerate(texture, Detail(threshold=0.0, halo=1.0), PITCH_MM)
    assert gain_of(texture, result) > 2.0


def test_strong_edges_are_spared() -> None:
    """A step of 0.6 overshoots by a smaller share of itself than one of 0.15."""
    shares = []
    for height in (0.15, 0.6):
        step = np.full((40, 200), 0.5 - height / 2.0, dtype=np.float32)
        step[:, 100:] += np.float32(height)
        result = detail.exaggerate(step, Detail(amount=2.0, halo=1.0), PITCH_MM)
        shares.append((result.max() - step.max()) / height)
    assert shares[1] < 0.5 * shares[0]


def test_a_narrow_halo_limit_holds_at_an_edge() -> None:
    step = np.full((40, 200), 0.3, dtype=np.float32)
    step[:, 100:] = 0.7
    for halo in (0.0, 0.05):
        result = detail.exaggerate(step, Detail(amount=6.0, halo=halo), PITCH_MM)
        assert result.max() <= 0.7 + halo + 1e-6
        assert result.min() >= 0.3 - halo - 1e-6


def test_effect_fades_smoothly_as_the_pixels_grow() -> None:
    """The same pixels at ever larger pitch: the effect falls without a jump, to nothing."""
    grey = np.ascontiguousarray(grey_of("astronaut")[:200, :200])
    wish = Detail()
    pitches = np.geomspace(0.1, 20.0, 60)
    effects = [
        float(np.abs(detail.exaggerate(grey, wish, pitch) - grey).mean()) for pitch in pitches
    ]
    largest = max(effects)
    coarse = [e for e, pitch in zip(effects, pitches, strict=True) if pitch > wish.radius_mm]
    assert np.all(np.diff(coarse) <= 1e-7)
    assert np.abs(np.diff(effects)).max() <= 0.15 * largest
    assert effects[-1] <= 0.001 * largest


@pytest.mark.parametrize("radius_mm", [0.05, 0.4, 3.0])
@pytest.mark.parametrize("pitch_mm", [0.0847, 0.3])
def test_a_padded_part_is_the_part_of_the_whole(radius_mm: float, pitch_mm: float) -> None:
    grey = grey_of("astronaut")
    wish = Detail(amount=4.0, radius_mm=radius_mm)
    pad = int(np.ceil(detail.detail_reach_mm(wish) / pitch_mm)) + detail.SPARE_PX
    whole = detail.exaggerate(grey, wish, pitch_mm)
    part = detail.exaggerate(
        np.ascontiguousarray(grey[211 - pad : 301 + pad, 233 - pad : 271 + pad]), wish, pitch_mm
    )
    np.testing.assert_allclose(part[pad:-pad, pad:-pad], whole[211:301, 233:271], atol=1e-5)


def test_reach_is_nothing_without_gain() -> None:
    assert detail.detail_reach_mm(Detail(amount=0.0)) == 0.0


@pytest.mark.parametrize("name", ["astronaut", "chelsea", "coffee"])
@pytest.mark.parametrize(("enlarged", "most"), [(1, 3.6), (2, 2.0)])
def test_looks_the_same_at_three_times_the_pitch(name: str, enlarged: int, most: float) -> None:
    """For photos with as many pixels as the glass, which is hardest, and with half as many."""
    grey = grey_of(name)
    rows, cols = (n // 3 for n in grey.shape)
    grey = np.ascontiguousarray(grey[: rows * 3, : cols * 3])
    if enlarged > 1:
        size = (cols * 3 * enlarged, rows * 3 * enlarged)
        large = cv2.resize(grey, size, interpolation=cv2.INTER_CUBIC)
        grey = np.clip(large, 0.0, 1.0).astype(np.float32)
    small = (cols * enlarged, rows * enlarged)

    def reduced(picture: Floats) -> Floats:
        return np.asarray(cv2.resize(picture, small, interpolation=cv2.INTER_AREA), np.float32)

    fine = reduced(detail.exaggerate(grey, Detail(), PITCH_MM))
    coarse = detail.exaggerate(reduced(grey), Detail(), 3.0 * PITCH_MM)
    difference = 100.0 * np.abs(fine - coarse)
    assert difference.mean() <= 0.5
    assert np.percentile(difference, 99) <= most
