"""The error that a setting would leave: what is out of reach, texture, and the picture's tones."""

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.response import frost_of_fluence
from engine.strip.judge_error import Predicted, Unsure, expected, predicted
from engine.strip.judge_tones import tone_weights
from shared.profile import GENERIC, Knot
from shared.recipe import Screen
from tests.strip_parts import in_16_bits

CONTINUOUS, DIFFUSION = (Screen(kind=kind) for kind in ("continuous", "diffusion"))


def test_without_bias_the_error_is_the_mean_amount_of_a_normal_one() -> None:
    plain = Predicted(1.0, np.zeros(4), np.full(4, 0.25))
    spread = np.sqrt(0.2 + 0.3 * 4.0 + 0.6 + 0.2**2)
    assert expected(plain, Unsure(2.0, 1.0)) == pytest.approx(spread * np.sqrt(2.0 / np.pi))
    more = np.hypot(spread, 1.5)
    by_hand = Unsure(2.0, 1.0, by_hand=1.5)
    assert expected(plain, by_hand) == pytest.approx(more * np.sqrt(2.0 / np.pi))


def test_what_is_far_out_of_reach_is_the_error() -> None:
    found = Predicted(0.0, np.array([-40.0, -20.0]), np.array([0.75, 0.25]))
    assert expected(found, Unsure(0.0, 0.0)) == pytest.approx(35.0)


@given(
    texture=st.floats(0.0, 3.0),
    seen=st.floats(0.01, 3.0),
    off=st.lists(st.floats(-20.0, 20.0), min_size=1, max_size=8),
)
def test_texture_and_lost_tones_do_not_lower_the_expected_error(texture, seen, off) -> None:
    weight = np.full(len(off), 1.0 / len(off))
    found = Predicted(texture, np.array(off), weight)
    error = expected(found, Unsure(seen, seen))
    assert error >= np.abs(off).mean() - 1e-9
    assert expected(found, Unsure(seen + 0.5, seen)) >= error - 1e-9
    assert expected(found, Unsure(seen, seen + 0.5)) >= error - 1e-9
    assert expected(found, Unsure(seen, seen, fewer=True)) > error
    farther = Predicted(texture, 1.5 * np.array(off), weight)
    assert expected(farther, Unsure(seen, seen)) >= error - 1e-9
    assert expected(found, Unsure(seen, seen, by_hand=0.5)) >= error - 1e-9


def test_the_picture_s_own_tones_count() -> None:
    profile = attrs.evolve(
        GENERIC, setting=attrs.evolve(GENERIC.setting, power_max_pct=20.0, power_min_pct=9.0)
    )
    look = in_16_bits(np.full((60, 60), 0.4))
    dark, light = [1.0, *[0.0] * 31], [*[0.0] * 31, 1.0]
    errors = [
        expected(predicted(look, profile, CONTINUOUS, 0.1, tone_weights(tones)), Unsure(0.2, 0.2))
        for tones in (dark, light)
    ]
    assert errors[1] > 4.0 * errors[0]


def test_without_known_tones_all_are_alike() -> None:
    assert np.ptp(tone_weights(())) == 0.0
    assert tone_weights([0.0] * 4).sum() == pytest.approx(1.0)
    assert tone_weights([0.25, 0.75]).tolist() == [0.25, 0.75]


def test_bare_background_stays_right_whatever_the_least_power_marks() -> None:
    setting = attrs.evolve(GENERIC.setting, power_max_pct=60.0, power_min_pct=20.0)
    profile = attrs.evolve(GENERIC, setting=setting)
    look = in_16_bits(np.full((60, 60), 0.4))
    dark, half_bare = [1.0, *[0.0] * 31], [0.5, *[0.0] * 31]
    errors = [
        expected(predicted(look, profile, CONTINUOUS, 0.1, tone_weights(tones)), Unsure(0.2, 0.2))
        for tones in (dark, half_bare)
    ]
    assert errors[1] > 2.0
    assert errors[1] == pytest.approx(0.5 * errors[0])


def test_light_tones_fall_short_of_frost_that_no_setting_reaches() -> None:
    look = in_16_bits(np.full((60, 60), 0.4))
    tones = tone_weights([0.125] * 8)
    fluences = np.geomspace(0.05, 3.0, 60)
    frost = frost_of_fluence(fluences, GENERIC)
    profiles = [
        attrs.evolve(GENERIC, knots=list(map(Knot, fluences.tolist(), (most * frost).tolist())))
        for most in (1.0, 0.95)
    ]
    near, far = (predicted(look, profile, CONTINUOUS, 0.1, tones) for profile in profiles)
    short = near.off - far.off
    assert np.abs(short[:6]).max() < 0.15
    assert short[6] < 0.5
    assert 0.7 < short[7] < 1.5


@pytest.mark.parametrize("level", [0.3, 0.6])
def test_dots_of_a_patch_come_out_as_its_curve_says(level: float) -> None:
    look = in_16_bits(np.full((200, 200), level))
    found = predicted(look, GENERIC, DIFFUSION, 0.1, tone_weights([1.0 / 16.0] * 16))
    patch = round(level * 16 - 0.5)
    assert abs(found.off[patch]) < 0.4


def test_dots_of_a_busy_picture_frost_otherwise_than_those_of_a_patch() -> None:
    sharp = attrs.evolve(
        GENERIC,
        setting=attrs.evolve(GENERIC.setting, power_max_pct=28.0),
        machine=attrs.evolve(GENERIC.machine, lag_ms=0.2),
    )
    busy = 0.5 + 0.35 * np.random.default_rng(3).uniform(-1.0, 1.0, (240, 240))
    found = [
        predicted(in_16_bits(look), sharp, DIFFUSION, 0.1, tone_weights(()))
        for look in (np.full((240, 240), 0.5), busy)
    ]
    middle = slice(14, 18)
    assert found[1].off[middle].mean() < found[0].off[middle].mean() - 0.3
    assert found[1].texture > found[0].texture
