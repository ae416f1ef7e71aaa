"""The screens that compare each pixel with a threshold, and the door to all of them."""

import functools

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.screens import bluenoise, fits_windows
from engine.screens import screen as screen_at_pitch
from resources.bluenoise import make_mask
from shared.errors import Cancelled
from shared.fields import infos
from shared.recipe import Screen

KINDS = [option.value for option in infos(Screen)["kind"].options]
DOT_KINDS = [kind for kind in KINDS if kind not in ("continuous", "mixed")]
screen = functools.partial(screen_at_pitch, pitch_mm=0.1)


def portrait_like(rows: int, columns: int) -> np.ndarray:
    rng = np.random.default_rng(7)
    ramp = np.linspace(0.0, 1.0, columns, dtype=np.float32)[None, :]
    noise = rng.normal(0.0, 0.1, (rows, columns)).astype(np.float32)
    return np.clip(ramp + noise, 0.0, 1.0)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_the_recipe_keeps_shape_and_input(kind: str) -> None:
    drive = portrait_like(37, 53)
    before = drive.copy()
    pixels = screen(drive, Screen(kind=kind))
    assert pixels.dtype == np.uint8
    assert pixels.shape == drive.shape
    assert np.array_equal(drive, before)
    assert np.array_equal(pixels, screen(drive, Screen(kind=kind)))


@pytest.mark.parametrize("kind", DOT_KINDS)
def test_dots_are_all_or_nothing(kind: str) -> None:
    assert set(np.unique(screen(portrait_like(64, 64), Screen(kind=kind)))) == {0, 255}
    assert Screen(kind=kind).is_dots


@pytest.mark.parametrize("kind", ["continuous", "mixed"])
def test_screens_with_power_are_not_dots(kind: str) -> None:
    assert not Screen(kind=kind).is_dots
    assert len(np.unique(screen(portrait_like(64, 64), Screen(kind=kind)))) > 100


@pytest.mark.parametrize("kind", KINDS)
def test_no_drive_leaves_bare_glass_and_full_drive_burns_everywhere(kind: str) -> None:
    for drive, burnt in ((0.0, 0), (1.0, 255)):
        pixels = screen(np.full((40, 70), drive, np.float32), Screen(kind=kind))
        assert np.all(pixels == burnt)


@pytest.mark.parametrize("kind", KINDS)
def test_a_view_with_gaps_in_memory_gives_what_its_copy_gives(kind: str) -> None:
    view = portrait_like(60, 90)[::2, ::-3]
    wish = Screen(kind=kind)
    assert np.array_equal(screen(view, wish), screen(view.copy(), wish))


@pytest.mark.parametrize("kind", KINDS)
def test_progress_rises_to_the_end_and_can_stop_the_work(kind: str) -> None:
    shares: list[float] = []
    screen(portrait_like(300, 200), Screen(kind=kind), progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0

    def stop(_: float) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        screen(portrait_like(300, 200), Screen(kind=kind), progress=stop)


def test_an_unknown_screen_is_refused() -> None:
    @attrs.frozen
    class Other:
        kind: str = "woodcut"

    with pytest.raises(ValueError, match="woodcut"):
        screen(portrait_like(4, 4), Other())


def test_continuous_takes_the_nearest_power() -> None:
    drive = np.linspace(0.0, 1.0, 10_001, dtype=np.float32).reshape(73, 137)
    pixels = screen(drive, Screen(kind="continuous"))
    assert np.max(np.abs(pixels - 255.0 * drive.astype(np.float64))) <= 0.5 + 1e-4
    codes = np.arange(256, dtype=np.float32).reshape(16, 16) / np.float32(255.0)
    assert np.array_equal(screen(codes, Screen(kind="continuous")).ravel(), np.arange(256))


@settings(deadline=None)
@given(level=st.floats(0.01, 0.99))
def test_line_art_burns_at_the_level_and_not_below(level: float) -> None:
    at = np.float32(level)
    drive = np.array([[0.0, np.nextafter(at, np.float32(0.0)), at, 1.0]], np.float32)
    assert screen(drive, Screen(kind="threshold", level=level)).tolist() == [[0, 0, 255, 255]]


WHOLE_DRIVE = portrait_like(600, 700)
WHOLE_DOTS = {kind: screen(WHOLE_DRIVE, Screen(kind=kind)) for kind in KINDS}


@pytest.mark.parametrize("kind", KINDS)
@settings(deadline=None, max_examples=20)
@given(
    top=st.integers(0, 590),
    left=st.integers(0, 690),
    rows=st.integers(1, 300),
    columns=st.integers(1, 300),
)
def test_a_window_is_a_crop_of_the_whole_where_the_screen_says_so(
    kind: str, top: int, left: int, rows: int, columns: int
) -> None:
    window = slice(top, top + rows), slice(left, left + columns)
    seen = screen(WHOLE_DRIVE[window], Screen(kind=kind), top=top, left=left)
    if fits_windows(Screen(kind=kind)):
        assert np.array_equal(seen, WHOLE_DOTS[kind][window])


@pytest.mark.parametrize("kind", KINDS)
def test_the_screen_does_not_say_so_in_vain(kind: str) -> None:
    seen = screen(WHOLE_DRIVE[70:, 90:], Screen(kind=kind), top=70, left=90)
    assert np.array_equal(seen, WHOLE_DOTS[kind][70:, 90:]) == fits_windows(Screen(kind=kind))


def test_blue_noise_goes_on_beyond_the_corner_of_the_plate() -> None:
    side = bluenoise.thresholds().shape[0]
    drive = portrait_like(50, 60)
    before = screen(drive, Screen(kind="bluenoise"), top=-20, left=-30)
    assert np.array_equal(
        before, screen(drive, Screen(kind="bluenoise"), top=side - 20, left=side - 30)
    )


def test_more_drive_never_takes_a_blue_noise_dot_away() -> None:
    drive = portrait_like(128, 128)
    less = screen(drive * np.float32(0.8), Screen(kind="bluenoise"))
    assert np.all(less <= screen(drive, Screen(kind="bluenoise")))


def test_the_thresholds_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        bluenoise.thresholds()[0, 0] = 0.5


def test_the_script_makes_a_permutation_and_the_same_one_each_time() -> None:
    ranks = make_mask.make_ranks(32)
    assert np.array_equal(np.sort(ranks.ravel()), np.arange(32 * 32))
    assert np.array_equal(ranks, make_mask.make_ranks(32))


def test_the_mask_in_the_box_is_the_one_that_the_script_makes() -> None:
    """The first dots of the script at full size: enough to tell a mask of another making."""
    side = make_mask.SIDE
    mask = bluenoise.thresholds()
    assert mask.shape == (side, side)
    first = make_mask._first_pattern(side).dots
    assert np.array_equal(mask < first.mean(), first)
