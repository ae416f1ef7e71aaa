"""The forward model: energy is kept, dots gain, lag smears along the line."""

import attrs
import numpy as np
import pytest
from numpy.typing import NDArray

from engine import burning
from engine.response import frost_of_fluence
from shared.profile import GENERIC, GlassProfile, Machine, Setting

SHARP = attrs.evolve(GENERIC, spread_mm=0.0, machine=attrs.evolve(GENERIC.machine, beam_mm=0.01))


def _flat(code: int) -> NDArray[np.uint8]:
    return np.full((40, 40), code, np.uint8)


def test_what_does_not_fire_leaves_bare_glass() -> None:
    assert burning.burn_codes(_flat(0), GENERIC, 0.1).max() == 0.0
    floor = attrs.evolve(GENERIC, machine=Machine(firing_floor_pct=50.0))
    assert burning.burn_codes(_flat(120), floor, 0.1).max() == 0.0


@pytest.mark.parametrize("code", [1, 60, 128, 255])
def test_a_solid_patch_follows_the_characteristic_curve(code: int) -> None:
    setting = GENERIC.setting
    power = setting.power_min_pct + (setting.power_max_pct - setting.power_min_pct) * code / 255
    wanted = frost_of_fluence(np.array([GENERIC.fluence_j_mm2(power)]), GENERIC)[0]
    burnt = burning.burn_codes(_flat(code), GENERIC, 0.1)
    np.testing.assert_allclose(burnt, wanted, atol=2e-3)


def test_a_finer_pitch_at_the_same_power_gives_more_energy() -> None:
    wide, fine = (burning.fluence_codes(GENERIC, pitch)[255] for pitch in (0.1, 0.05))
    assert fine == pytest.approx(2.0 * wide)


def _dot_area(profile: GlassProfile) -> float:
    """Of dots of 2 x 2 pixels that cover a quarter: frost against that of a solid patch."""
    dots = np.zeros((48, 48), np.uint8)
    dots[::4, ::4] = dots[1::4, ::4] = dots[::4, 1::4] = dots[1::4, 1::4] = 255
    solid = burning.burn_codes(np.full_like(dots, 255), profile, 0.1).mean()
    return float(burning.burn_codes(dots, profile, 0.1)[8:-8, 8:-8].mean() / solid)


def test_dots_without_spread_keep_their_area() -> None:
    assert _dot_area(SHARP) == pytest.approx(0.25, abs=0.005)


def test_dots_gain_tone_through_the_beam_the_more_the_stronger_it_is() -> None:
    weak, strong = (
        _dot_area(attrs.evolve(GENERIC, setting=Setting(power_max_pct=power)))
        for power in (45.0, 80.0)
    )
    assert strong > weak
    assert strong > 0.28


def test_a_blur_keeps_the_mean() -> None:
    rng = np.random.default_rng(2)
    values = np.pad(rng.random((40, 40)).astype(np.float32), 30)
    assert burning.blur_mm(values, 0.3, 0.1).mean() == pytest.approx(values.mean(), rel=1e-4)


def test_lag_runs_along_the_lines_and_turns_round_with_them() -> None:
    slow = attrs.evolve(GENERIC, machine=attrs.evolve(GENERIC.machine, lag_ms=1.0))
    codes = np.zeros((8, 60), np.uint8)
    codes[:, 20:40] = 255
    one_way = attrs.evolve(slow, setting=attrs.evolve(slow.setting, both_directions=False))
    there = burning.burn_codes(codes, attrs.evolve(one_way, spread_mm=0.0), 0.1)
    assert there[4, 41] > 0.05 > there[4, 17]
    both = burning.burn_codes(codes, attrs.evolve(slow, spread_mm=0.0), 0.1)
    assert both[4, 41] > both[4, 18] or both[5, 41] > both[5, 18]
    np.testing.assert_allclose(both[2:6].sum(axis=0), both[2:6, ::-1].sum(axis=0), atol=0.25)


@pytest.mark.parametrize("sub", [3, 4])
def test_a_finer_computation_hardly_changes_the_tone(sub: int) -> None:
    rng = np.random.default_rng(4)
    codes = np.where(rng.random((60, 60)) < 0.4, 255, 0).astype(np.uint8)
    reference = burning.burn_codes(codes, GENERIC, 0.1, sub=6).mean()
    assert burning.burn_codes(codes, GENERIC, 0.1, sub=sub).mean() == pytest.approx(
        reference, abs=0.012
    )
