"""Tone: the table, local contrast, least frost and the shares at the ends."""

import cv2
import numpy as np
import pytest
import skimage.data
from hypothesis import given, settings
from hypothesis import strategies as st

from engine import tone
from engine.filters import Floats
from engine.grid import Grid, whole_plate
from shared.errors import RecipeError
from shared.operators import Tone
from shared.plate import Plate

PITCH_MM = 0.0847


@st.composite
def curves(draw: st.DrawFn) -> tuple[tuple[float, float], ...]:
    inner = st.integers(1, 999).map(lambda v: v / 1000.0)
    xs = [0.0, *sorted(draw(st.sets(inner, max_size=6))), 1.0]
    ys = sorted(draw(st.lists(st.floats(0.0, 1.0), min_size=len(xs), max_size=len(xs))))
    return tuple(zip(xs, ys, strict=True))


@st.composite
def wishes(draw: st.DrawFn, with_curve: bool = True) -> Tone:
    bare = draw(st.floats(0.0, 0.6))
    return Tone(
        bare_point=bare,
        full_point=draw(st.floats(max(0.4, min(1.0, bare + 0.1001)), 1.0)),
        lift=draw(st.floats(0.0, 1.0)),
        lift_reach=draw(st.floats(0.1, 1.0)),
        hold=draw(st.floats(0.0, 1.0)),
        middle=draw(st.floats(0.2, 0.8)),
        curve=draw(curves()) if with_curve else ((0.0, 0.0), (1.0, 1.0)),
    )


def plain(**changes: object) -> Tone:
    return Tone(**{"lift": 0.0, "local": 0.0, **changes})


def grey_of(name: str) -> Floats:
    picture = getattr(skimage.data, name)()
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY) if picture.ndim == 3 else picture
    return np.asarray(grey, dtype=np.float32) / np.float32(255.0)


def at(table: Floats, value: float) -> float:
    return float(table[round(value * 65535)])


@given(wishes())
@settings(max_examples=60, deadline=None)
def test_table_never_falls_and_stays_in_range(wish: Tone) -> None:
    table = tone.tone_table(wish)
    assert table.dtype == np.float32
    assert table.shape == (65536,)
    assert np.all(np.isfinite(table))
    assert table.min() >= 0.0
    assert table.max() <= 1.0
    assert np.all(np.diff(table) >= 0.0)


@given(wishes(with_curve=False))
@settings(max_examples=40, deadline=None)
def test_tones_between_the_points_stay_apart(wish: Tone) -> None:
    """Without a free curve no tone between the two points merges with another."""
    table = tone.tone_table(wish)
    inside = np.linspace(wish.bare_point + 0.01, wish.full_point - 0.01, 50)
    tones = table[np.round(inside * 65535).astype(int)]
    assert np.all(np.diff(tones) > 0.0)
    assert table[0] == 0.0
    assert table[-1] == 1.0


def test_a_plain_wish_changes_nothing() -> None:
    grey = np.linspace(0.0, 1.0, 1000, dtype=np.float32).reshape(20, 50)
    table = tone.tone_table(plain())
    np.testing.assert_allclose(tone.apply_table(grey, table), grey, atol=8e-6)


def test_points_become_bare_and_full() -> None:
    table = tone.tone_table(plain(bare_point=0.2, full_point=0.7))
    assert at(table, 0.19) == at(table, 0.2) == 0.0
    assert at(table, 0.7) == at(table, 0.71) == 1.0
    assert at(table, 0.45) == pytest.approx(0.5, abs=1e-4)


@pytest.mark.parametrize("reach", [0.1, 0.5, 1.0])
def test_open_shadows_end_softly_at_their_reach(reach: float) -> None:
    table = tone.tone_table(plain(lift=1.0, lift_reach=reach)).astype(np.float64)
    steps = np.linspace(0.0, 1.0, 65536)
    end = round(reach * 65535)
    np.testing.assert_allclose(table[end:], steps[end:], atol=1e-6)
    assert table[0] == 0.0
    assert np.all(table[1:end] >= steps[1:end] - 1e-6)
    spacing = max(4, round(0.01 * reach * 65535))
    slopes = np.diff(table[::spacing]) / np.diff(steps[::spacing])
    assert slopes.max() <= 4.0
    assert slopes.min() >= 0.24
    near = slopes[: end // spacing][-3:]
    np.testing.assert_allclose(near, 1.0, atol=0.02)


def test_more_lift_is_lighter() -> None:
    tables = [at(tone.tone_table(plain(lift=lift)), 0.12) for lift in (0.0, 0.25, 0.5, 1.0)]
    assert tables == sorted(tables)
    assert tables[-1] > 2.0 * tables[0]


def test_holding_the_highlights_separates_a_white_collar() -> None:
    held = tone.tone_table(plain(hold=1.0))
    assert at(held, 1.0) == 1.0
    assert at(held, 1.0) - at(held, 0.97) > 3.0 * 0.03
    assert at(held, 0.9) < 0.9
    assert at(held, 0.55) == pytest.approx(0.55, abs=1e-5)


def test_hold_mirrors_lift() -> None:
    held = tone.tone_table(plain(hold=0.7))
    lifted = tone.tone_table(plain(lift=0.7, lift_reach=tone.HIGHLIGHTS))
    np.testing.assert_allclose(held, 1.0 - lifted[::-1], atol=1e-6)


@pytest.mark.parametrize("middle", [0.2, 0.5, 0.8])
def test_middle_grey_goes_to_the_middle_tone(middle: float) -> None:
    table = tone.tone_table(plain(middle=middle))
    assert at(table, 0.5) == pytest.approx(middle, abs=2e-5)
    assert table[0] == 0.0
    assert table[-1] == 1.0


def test_curve_goes_through_its_points_after_the_rest() -> None:
    wish = plain(bare_point=0.2, curve=((0.0, 0.1), (0.5, 0.4), (1.0, 0.9)))
    table = tone.tone_table(wish)
    assert at(table, 0.1) == pytest.approx(0.1, abs=1e-6)
    assert at(table, 0.6) == pytest.approx(0.4, abs=1e-4)
    assert at(table, 1.0) == pytest.approx(0.9, abs=1e-6)


def test_points_of_a_curve_may_lie_extremely_close() -> None:
    points = ((0.0, 0.0), (1e-310, 0.2), (0.5, 0.5), (0.5 + 1e-12, 0.7), (1.0, 0.7 + 1e-300))
    table = tone.tone_table(plain(curve=points))
    assert np.all(np.isfinite(table))
    assert at(table, 0.5) == pytest.approx(0.7, abs=1e-6)


def test_apply_table_leaves_its_input_alone_and_bounds_it() -> None:
    grey = np.array([[-0.2, 0.5, 1.4]], dtype=np.float32)
    before = grey.copy()
    result = tone.apply_table(grey, tone.tone_table(plain()))
    np.testing.assert_array_equal(grey, before)
    np.testing.assert_allclose(result, [[0.0, 0.5, 1.0]], atol=1e-5)


def test_points_too_close_are_refused() -> None:
    with pytest.raises(RecipeError, match="10 %"):
        Tone(bare_point=0.55, full_point=0.6)


# Local contrast


def test_no_local_contrast_is_an_exact_copy() -> None:
    grey = grey_of("camera")
    result = tone.local_contrast(grey, plain(), PITCH_MM)
    np.testing.assert_array_equal(result, grey)
    assert not np.shares_memory(result, grey)


@pytest.mark.parametrize("value", [0.0, 0.004, 0.5, 0.9, 1.0])
@pytest.mark.parametrize("pitch_mm", [0.05, 0.33, 2.0])
def test_local_contrast_keeps_constants(value: float, pitch_mm: float) -> None:
    flat = np.full((90, 80), value, dtype=np.float32)
    result = tone.local_contrast(flat, plain(local=2.0), pitch_mm)
    np.testing.assert_allclose(result, flat, atol=5e-5)


@given(st.floats(0.01, 2.0), st.floats(0.5, 20.0), st.floats(0.03, 3.0), st.integers(0, 99))
@settings(max_examples=25, deadline=None)
def test_local_contrast_stays_in_range(
    local: float, radius_mm: float, pitch_mm: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    picture = np.round(rng.random((40, 50), dtype=np.float32) * 3.0) / np.float32(3.0)
    before = picture.copy()
    wish = plain(local=local, local_radius_mm=radius_mm)
    result = tone.local_contrast(picture, wish, pitch_mm)
    assert result.dtype == np.float32
    assert result.min() >= 0.0
    assert result.max() <= 1.0
    np.testing.assert_array_equal(picture, before)


def test_local_contrast_strengthens_forms_of_its_size() -> None:
    places = np.arange(500) * PITCH_MM
    for period_mm, least in ((6.0, 1.5), (1.0, 0.99)):
        wave = 0.5 + 0.05 * np.sin(2.0 * np.pi * places / period_mm)
        picture = np.tile(wave.astype(np.float32), (200, 1))
        result = tone.local_contrast(picture, plain(local=1.0), PITCH_MM)
        inner = slice(100, 400)
        gain = result[100, inner].std() / picture[100, inner].std()
        assert least <= gain <= 2.0


@pytest.mark.parametrize(("local", "most"), [(0.3, 0.015), (1.0, 0.045), (2.0, 0.085)])
@pytest.mark.parametrize("pitch_mm", [0.0847, 0.33])
def test_a_strong_edge_gets_no_halo(local: float, most: float, pitch_mm: float) -> None:
    step = np.full((120, 400), 0.2, dtype=np.float32)
    step[:, 200:] = 0.8
    result = tone.local_contrast(step, plain(local=local), pitch_mm)
    assert result.max() - 0.8 <= most
    assert 0.2 - result.min() <= most


def test_local_contrast_leaves_fine_noise_alone() -> None:
    rng = np.random.default_rng(2)
    skin = (0.6 + rng.normal(0.0, 0.02, (300, 300))).astype(np.float32)
    result = tone.local_contrast(skin, plain(local=1.0), PITCH_MM)
    assert result.std() <= 1.1 * skin.std()


@pytest.mark.parametrize("radius_mm", [0.5, 1.0, 4.0])
@pytest.mark.parametrize("pitch_mm", [0.0847, 0.3])
def test_local_contrast_of_a_padded_part_is_the_part_of_the_whole(
    radius_mm: float, pitch_mm: float
) -> None:
    grey = grey_of("astronaut")
    wish = plain(local=2.0, local_radius_mm=radius_mm)
    whole = Plate(width_mm=grey.shape[1] * pitch_mm, height_mm=grey.shape[0] * pitch_mm)
    part = Grid(pitch_mm, 211, 233, 90, 38)
    wide = part.padded(tone.local_reach_px(wish, pitch_mm) * pitch_mm, whole)
    around = np.ascontiguousarray(grey[wide.inside(whole_plate(whole, pitch_mm))])
    alone = tone.local_contrast(around, wish, pitch_mm)[part.inside(wide)]
    expected = tone.local_contrast(grey, wish, pitch_mm)[211:301, 233:271]
    np.testing.assert_allclose(alone, expected, atol=1e-6)


def test_reach_is_nothing_without_local_contrast() -> None:
    assert tone.local_reach_px(plain(), PITCH_MM) == 0


@pytest.mark.parametrize("name", ["astronaut", "camera", "coffee"])
@pytest.mark.parametrize("local", [0.3, 2.0])
def test_local_contrast_looks_the_same_at_three_times_the_pitch(name: str, local: float) -> None:
    grey = grey_of(name)
    rows, cols = (n // 3 for n in grey.shape)
    grey = np.ascontiguousarray(grey[: rows * 3, : cols * 3])
    wish = plain(local=local)

    def reduced(picture: Floats) -> Floats:
        small = cv2.resize(picture, (cols, rows), interpolation=cv2.INTER_AREA)
        return np.asarray(small, dtype=np.float32)

    fine = reduced(tone.local_contrast(grey, wish, PITCH_MM))
    coarse = tone.local_contrast(reduced(grey), wish, 3.0 * PITCH_MM)
    difference = 100.0 * np.abs(fine - coarse)
    assert difference.mean() <= 0.5
    assert np.percentile(difference, 99) <= 2.0


# Least frost and shares


def test_least_frost_lifts_black_and_keeps_white() -> None:
    look = np.array([[0.0, 0.5, 1.0]], dtype=np.float32)
    result = tone.keep_least_frost(look, plain(least_frost=0.2))
    np.testing.assert_allclose(result, [[0.2, 0.6, 1.0]], atol=1e-6)
    np.testing.assert_array_equal(tone.keep_least_frost(look, plain()), look)


def test_end_shares_count_what_the_points_take() -> None:
    grey = np.linspace(0.0, 1.0, 101, dtype=np.float32).reshape(1, 101)
    shares = tone.end_shares(grey, plain(bare_point=0.1, full_point=0.8))
    assert shares.bare == pytest.approx(11 / 101)
    assert shares.full == pytest.approx(21 / 101)
    table = tone.tone_table(plain(bare_point=0.1, full_point=0.8))
    tones = tone.apply_table(grey, table)
    assert np.count_nonzero(tones == 0.0) == 11
    assert np.count_nonzero(tones == 1.0) == 21


def test_end_shares_of_the_extreme_points_count_black_and_white_only() -> None:
    grey = np.array([[0.0, 1e-9, 0.001, 0.999, np.float32(1.0 - 1e-7), 1.0]], dtype=np.float32)
    shares = tone.end_shares(grey, plain())
    assert shares.bare == pytest.approx(2 / 6)
    assert shares.full == pytest.approx(2 / 6)
