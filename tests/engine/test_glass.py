"""The generic glass: two ends, a look that is linear in lightness between them, and back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine import glass
from engine.burning import blur_mm
from engine.colour import lightness_from_luminance, srgb_decode
from shared.profile import GENERIC

ENDS = glass.ends(GENERIC.light, 0.01, "light")
RAMP = np.linspace(0.0, 1.0, 4001, dtype=np.float32)[None, :]


def test_frost_is_the_light_end_on_a_dark_backing_and_the_dark_end_before_a_light() -> None:
    assert ENDS.marked > ENDS.unmarked > 0.0
    before_light = glass.ends(GENERIC.light, 0.01, "dark")
    assert before_light.marked < before_light.unmarked


@given(st.floats(0.0, 1.0))
def test_a_lighter_backing_costs_contrast(backing: float) -> None:
    found = glass.ends(GENERIC.light, backing, "light")
    assert 0.0 < found.unmarked < found.marked <= 1.0
    assert found.lightness_range <= glass.ends(GENERIC.light, 0.0, "light").lightness_range + 1e-9


@pytest.mark.parametrize("mark", ["light", "dark"])
def test_look_and_mark_are_each_others_inverse(mark: str) -> None:
    ends = glass.ends(GENERIC.light, 0.01, mark)
    back = glass.look_from_mark(glass.mark_from_look(RAMP, ends), ends)
    np.testing.assert_allclose(back, RAMP, atol=2e-4)


@pytest.mark.parametrize(("mark", "sign"), [("light", 1.0), ("dark", -1.0)])
def test_more_mark_makes_the_light_look_lighter_or_the_dark_look_darker(
    mark: str, sign: float
) -> None:
    marks = glass.mark_from_look(RAMP, glass.ends(GENERIC.light, 0.01, mark))[0]
    assert np.all(sign * np.diff(marks) >= 0.0)
    assert sorted((marks[0], marks[-1])) == [0.0, 1.0]


def test_the_look_is_linear_in_lightness_between_the_ends() -> None:
    marks = glass.mark_from_look(RAMP, ENDS)[0].astype(float)
    seen = lightness_from_luminance(ENDS.unmarked + (ENDS.marked - ENDS.unmarked) * marks)
    straight = np.linspace(seen[0], seen[-1], seen.size)
    np.testing.assert_allclose(seen, straight, atol=0.02)


def test_spread_keeps_the_mean_and_blurs_by_its_own_measure() -> None:
    dot = np.zeros((101, 101), np.float32)
    dot[50, 50] = 1.0
    spread = blur_mm(dot, 0.2, 0.05)
    assert spread.sum() == pytest.approx(1.0, abs=1e-4)
    at = np.arange(101) - 50
    variance = float((spread.sum(axis=0) * at**2).sum())
    assert np.sqrt(variance) * 0.05 == pytest.approx(0.2, rel=0.03)


def test_a_spread_far_below_the_pitch_changes_nothing() -> None:
    dots = np.eye(16, dtype=np.float32)
    np.testing.assert_array_equal(blur_mm(dots, 0.005, 0.1), dots)


def test_tones_and_dots_of_the_same_mark_are_seen_alike() -> None:
    """What the proof shows zoomed out is the average of what it shows at 1:1."""
    look = np.full((64, 64), 0.4, np.float32)
    mark = glass.mark_from_look(look, ENDS)
    toned = srgb_decode(glass.shown_mark(mark, ENDS) / 255.0).mean()
    dots = (np.random.default_rng(1).random(mark.shape) < mark).astype(np.float32)
    share = float(dots.mean() / mark.mean())
    dotted = srgb_decode(glass.shown_mark(dots, ENDS) / 255.0).mean()
    low = srgb_decode(glass.shown_mark(np.zeros((1, 1), np.float32), ENDS) / 255.0).mean()
    assert (dotted - low) / (toned - low) == pytest.approx(share, abs=0.01)
