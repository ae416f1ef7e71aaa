"""Each screen's tone curve, its inverse, and what happens to tones out of reach."""

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine import burning, drive, glass, screens
from engine.linearise import compress, drive_of_frost_table, tone_curve
from shared.profile import GENERIC, Gain, GlassProfile, ScreenGains, Setting
from shared.profile_file import starting_guesses
from shared.recipe import Recipe, Screen, field_info

KINDS = [option.value for option in field_info("screen.kind").options]
FOLLOWING = [kind for kind in KINDS if kind != "threshold"]
STRONG = attrs.evolve(
    GENERIC, setting=attrs.evolve(GENERIC.setting, power_min_pct=18.0, power_max_pct=45.0)
)
LOOKS = np.linspace(0.0, 1.0, 501)


@pytest.mark.parametrize("kind", FOLLOWING)
@pytest.mark.parametrize("profile", [GENERIC, *starting_guesses().values()])
def test_a_step_wedge_comes_out_in_its_own_lightness(profile: GlassProfile, kind: str) -> None:
    """On the profile's own model, at most 0.3 L* of mean error over a step wedge."""
    aim = drive.aim_of(Recipe().changed(screen__kind=kind), profile)
    errors = []
    for look in np.linspace(0.0, 1.0, 13):
        flat = np.full((112, 112), look, np.float32)
        asked = drive.drive_of_frost(drive.frost_asked(flat, aim, aim.pitch_mm), aim)
        codes = screens.screen(asked, aim.screen, pitch_mm=aim.pitch_mm)
        burnt = burning.burn_codes(codes, profile, aim.pitch_mm)[12:-12, 12:-12].mean()
        wanted = drive.frost_wanted(flat, aim).mean()
        errors.append(
            float(
                glass.lightness_of_mark(burnt, aim.ends) - glass.lightness_of_mark(wanted, aim.ends)
            )
        )
    assert np.abs(errors).mean() <= 0.3


@pytest.mark.parametrize("kind", KINDS)
def test_a_tone_curve_never_falls(kind: str) -> None:
    curve = tone_curve(GENERIC, Screen(kind=kind), 0.1)
    assert np.all(np.diff(curve.frost) >= -1e-9)
    assert curve.frost[0] == 0.0
    assert curve.most > 0.9


@pytest.mark.parametrize("kind", FOLLOWING)
def test_forward_of_inverse_is_identity(kind: str) -> None:
    screen = Screen(kind=kind)
    curve = tone_curve(STRONG, screen, 0.1)
    frosts = np.linspace(curve.least, curve.most, 60)
    table = drive_of_frost_table(STRONG, screen, 0.1)
    drives = table[np.round(frosts * 65535).astype(int)]
    back = np.interp(drives, curve.drives, curve.frost)
    np.testing.assert_allclose(back, frosts, atol=3e-3)


def test_a_least_power_above_the_threshold_leaves_a_gap_that_mixed_closes() -> None:
    gap = tone_curve(STRONG, Screen(kind="continuous"), 0.1).least
    mixed = tone_curve(STRONG, Screen(kind="mixed"), 0.1).least
    assert gap > 0.1
    assert mixed < 0.02


@pytest.mark.parametrize("profile", [GENERIC, *starting_guesses().values()])
def test_where_its_dots_cover_all_the_mixed_screen_is_plain_power(profile: GlassProfile) -> None:
    mixed, powers = (tone_curve(profile, Screen(kind=k), 0.1) for k in ("mixed", "continuous"))
    shares = np.linspace(1.0 / 255.0, 1.0, 99)
    np.testing.assert_allclose(
        np.interp(0.5 + 0.5 * shares, mixed.drives, mixed.frost),
        np.interp(shares, powers.drives, powers.frost),
        atol=1e-4,
    )


def test_measured_gain_is_used_where_there_is_one() -> None:
    points = [Gain(d, d**0.5) for d in (0.0, 0.25, 0.5, 0.75, 1.0)]
    measured = attrs.evolve(GENERIC, gains=[ScreenGains("diffusion", points)])
    curve = tone_curve(measured, Screen(kind="diffusion"), 0.1)
    assert curve.measured
    assert np.interp(0.25, curve.drives, curve.frost) == pytest.approx(0.5, abs=1e-6)
    assert not tone_curve(measured, Screen(kind="bluenoise"), 0.1).measured


@pytest.mark.parametrize("rule", ["middle", "ends", "clip"])
@given(st.floats(0.0, 0.45), st.floats(0.6, 1.0))
def test_compressed_looks_stay_in_reach_and_in_order(rule: str, low: float, high: float) -> None:
    reached = compress(LOOKS, low, high, rule)
    assert np.all(np.diff(reached) >= -1e-12)
    assert reached[0] == 0.0
    made = reached[reached > 0.0]
    assert made.min() >= min(low, LOOKS[1]) - 1e-12 or low <= 0.004
    assert made.max() <= high + 0.005


def test_keeping_the_middle_leaves_it_alone() -> None:
    reached = compress(LOOKS, 0.15, 0.9, "middle")
    middle = (LOOKS > 0.4) & (LOOKS < 0.6)
    np.testing.assert_allclose(reached[middle], LOOKS[middle], atol=1e-12)
    assert np.all(np.diff(reached[1:]) > 0.0)


def test_keeping_the_ends_moves_all_tones_evenly() -> None:
    reached = compress(LOOKS, 0.2, 0.9, "ends")
    assert np.ptp(np.diff(reached[1:])) < 1e-12


def test_clipping_leaves_what_can_be_reached() -> None:
    reached = compress(LOOKS, 0.2, 0.9, "clip")
    inside = (LOOKS >= 0.2) & (LOOKS <= 0.9)
    np.testing.assert_array_equal(reached[inside], LOOKS[inside])
    assert reached[20] == 0.0


def test_nothing_is_compressed_where_everything_can_be_reached() -> None:
    for rule in ("middle", "ends", "clip"):
        np.testing.assert_allclose(compress(LOOKS, 0.0, 1.0, rule), LOOKS, atol=1e-12)


def test_a_setting_below_its_floor_makes_nothing_but_does_not_fail() -> None:
    dead = attrs.evolve(
        GENERIC,
        machine=attrs.evolve(GENERIC.machine, firing_floor_pct=60.0),
        setting=Setting(power_max_pct=40.0, power_min_pct=5.0),
    )
    aim = drive.aim_of(Recipe(), dead)
    asked = drive.frost_asked(np.full((40, 40), 0.5, np.float32), aim, 0.1)
    assert np.isfinite(asked).all()
