"""The profile that a strip teaches: true, smooth, rising, robust, and honest about its doubt."""

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.glass import ends, lightness_of_mark
from engine.linearise import tone_curve
from engine.response import frost_of_fluence
from engine.strip.fit import BACKING, fit_profile
from engine.strip.fit_curve import fit_rising
from engine.strip.fit_gains import set_to
from engine.strip.fit_values import Measured, Value, frost_of_tone, tone_of
from engine.strip.layout_steps import WEDGE_SCREENS
from shared.errors import InputError
from shared.profile import GENERIC, Response
from shared.profile_file import dump_profile, load_profile, profile_data
from shared.recipe import Screen
from shared.strip import Run
from tests.strip_parts import FULL, RUNS, SEEN, TRUE, error_l, measured_on, strip_of


@given(st.integers(0, 10_000))
@settings(max_examples=20)
def test_whatever_the_readings_it_never_falls(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(0, 1, 20), rng.uniform(-0.2, 1.2, 20)
    fit = fit_rising(x, y, np.full(20, 0.05), np.linspace(0, 1, 17), from_zero=bool(seed % 2))
    assert (np.diff(fit.values) >= -1e-12).all()
    assert fit.values[0] >= 0.0
    if seed % 2:
        assert fit.values[0] == pytest.approx(0.0, abs=1e-9)


def test_one_bad_reading_loses_its_weight() -> None:
    x = np.repeat(np.linspace(0.0, 1.0, 11), 2)
    y = x**1.5
    good = fit_rising(x, y, np.full(22, 0.005), np.linspace(0, 1, 21))
    spoilt = y.copy()
    spoilt[9] += 0.3
    fit = fit_rising(x, spoilt, np.full(22, 0.005), np.linspace(0, 1, 21))
    assert fit.trust[9] < 0.05
    assert np.delete(fit.trust, 9).min() > 0.3
    np.testing.assert_allclose(fit.values, good.values, atol=0.01)


def test_repeats_make_it_surer() -> None:
    rng = np.random.default_rng(1)
    nodes = np.linspace(0, 1, 21)

    def scatter(repeats: int) -> float:
        x = np.repeat(np.linspace(0.0, 1.0, 11), repeats)
        y = x + 0.02 * rng.standard_normal(x.size)
        return float(np.median(fit_rising(x, y, np.full(x.size, 0.02), nodes).scatter))

    assert scatter(8) < 0.7 * scatter(2)


def test_tones_and_frost_are_inverse() -> None:
    frost = np.linspace(0.0, 1.0, 101)
    np.testing.assert_allclose(frost_of_tone(tone_of(frost, SEEN), SEEN), frost, atol=2e-4)
    assert float(tone_of(0.0, SEEN)) == pytest.approx(0.0)
    assert float(tone_of(1.0, SEEN)) == pytest.approx(1.0)
    assert float(tone_of(-0.01, SEEN)) < 0.0


@pytest.mark.parametrize("run", [0, 1, 2])
def test_the_curve_is_found_within_a_quarter_of_a_step(run: int) -> None:
    strip = strip_of()
    fit = fit_profile(strip, measured_on(strip, TRUE, 0.004), run)
    apart = error_l(fit.profile)
    assert np.abs(apart).max() < 1.0
    assert np.sqrt(np.square(apart).mean()) < 0.35
    assert fit.power.reciprocity == 0.0
    assert not fit.power.flakes


@pytest.mark.parametrize("most", [60.0, 52.0, 45.0])
def test_frost_counts_from_the_fullest_that_the_glass_can_have(most: float) -> None:
    """As far as the curve's bend shows it: half of what no setting reached and more."""
    run = Run("a.png", most, 10.0, 320.0, (0.0, 0.0))
    strip = strip_of((run,), repeats=4)
    fit = fit_profile(strip, measured_on(strip, TRUE, 0.001), 0)
    reached = float(frost_of_fluence(fit.profile.fluence_j_mm2(most), TRUE))
    assert -0.01 < FULL - fit.power.full < 0.6 * (FULL - reached)
    top = max(knot.frost for knot in fit.profile.knots)
    assert top == pytest.approx(reached / fit.power.full, abs=0.005)


def test_too_little_of_the_curve_tells_nothing_of_its_top() -> None:
    run = Run("a.png", 22.0, 10.0, 320.0, (0.0, 0.0))
    strip = strip_of((run,))
    measured = measured_on(strip, TRUE, 0.004)
    seen = max(value.frost for value in measured.values)
    assert fit_profile(strip, measured, 0).power.full < 1.1 * seen < 0.6 * FULL


def test_the_profile_says_what_it_is() -> None:
    strip = strip_of()
    measured = attrs.evolve(measured_on(strip, TRUE), source="photo strip.jpg")
    profile = fit_profile(strip, measured, 1, date="2026-11-25").profile
    assert profile.origin == "measured"
    assert profile.date == "2026-11-25"
    assert profile.machine == GENERIC.machine
    assert profile.sheet == GENERIC.sheet
    assert profile.setting.power_max_pct == RUNS[1].power_max_pct
    assert profile.setting.speed_mm_s == RUNS[1].speed_mm_s
    assert "photo strip.jpg" in profile.note
    assert measured.lines
    assert f"; {len(measured.values) + len(measured.lines)} patches read" in profile.note
    assert load_profile(dump_profile(profile)) == profile
    assert max(knot.frost for knot in profile.knots) == pytest.approx(1.0, abs=0.02)
    assert all(knot.scatter > 0.0 for knot in profile.knots if 0.1 < knot.frost < 0.9)


def test_the_ends_keep_the_ratio_that_was_read() -> None:
    strip = strip_of()
    measured = measured_on(strip, TRUE)
    for ratio in (0.02, 0.05, 0.2):
        light = fit_profile(strip, attrs.evolve(measured, bare_over_full=ratio), 1).profile.light
        seen = ends(light, BACKING, "light")
        assert seen.unmarked / seen.marked == pytest.approx(ratio, rel=0.03)
    unknown = fit_profile(strip, attrs.evolve(measured, bare_over_full=None), 1)
    assert unknown.profile.light == GENERIC.light


@pytest.mark.parametrize("exponent", [0.08, -0.06])
def test_reciprocity_is_seen_when_it_is_there(exponent: float) -> None:
    strip = strip_of()
    fit = fit_profile(strip, measured_on(strip, TRUE, 0.003, reciprocity=exponent), 0)
    assert fit.power.reciprocity == pytest.approx(exponent, abs=0.02)
    assert np.sqrt(np.square(error_l(fit.profile)).mean()) < 0.4


FLAKING_RUNS = (RUNS[0], attrs.evolve(RUNS[1], power_max_pct=90.0, speed_mm_s=250.0))


@pytest.mark.parametrize("decades", [0.1, 0.25, 0.5])
def test_flaking_is_seen_when_it_is_there_and_how_fast_it_comes(decades: float) -> None:
    response = Response(0.2, 0.4, 12.0, 0.9, decades)
    flaking = attrs.evolve(TRUE, response=response)
    strip = strip_of(FLAKING_RUNS)
    fit = fit_profile(strip, measured_on(strip, flaking, 0.003), 1)
    assert fit.power.flakes
    assert fit.profile.response.flaking_j_mm2 == pytest.approx(0.9, rel=0.3)
    assert fit.profile.response.flaking_decades == pytest.approx(decades, rel=0.4)
    fluence = np.linspace(0.2, 0.9, 200)
    found, true = (frost_of_fluence(fluence, profile) for profile in (fit.profile, flaking))
    assert true.max() - 0.01 < fit.power.full < FULL
    apart = lightness_of_mark(fit.power.full * found, SEEN) - lightness_of_mark(true, SEEN)
    assert np.abs(apart).max() < 0.6


@pytest.mark.parametrize("exponent", [0.05, -0.05])
def test_flaking_does_not_hide_reciprocity(exponent: float) -> None:
    flaking = attrs.evolve(TRUE, response=Response(0.2, 0.4, 12.0, 0.7, 0.1))
    strip = strip_of(FLAKING_RUNS)
    fit = fit_profile(strip, measured_on(strip, flaking, 0.003, reciprocity=exponent), 0)
    assert fit.power.flakes
    assert fit.power.reciprocity == pytest.approx(exponent, abs=0.03)


def test_a_screens_gain_is_found_and_carried_to_another_setting() -> None:
    strip = strip_of()
    measured = measured_on(strip, TRUE, 0.004)
    for run, most in ((0, 0.015), (2, 0.04)):
        profile = fit_profile(strip, measured, run).profile
        found = tone_curve(profile, Screen(kind="diffusion"), 0.1)
        true = tone_curve(set_to(TRUE, RUNS[run], 0.1), Screen(kind="diffusion"), 0.1)
        assert np.abs(found.frost - true.frost / FULL).max() < most
        assert (np.diff(found.frost) >= 0.0).all()


@pytest.mark.parametrize("least", [10.0, 14.0, 18.0])
@pytest.mark.parametrize("steps", [6, 11])
def test_powers_of_the_mixed_screen_are_found_between_its_steps_too(least: float, steps: int):
    """They begin where the glass answers most steeply, and are plain power."""
    run = Run("a.png", 50.0, least, 320.0, (0.0, 0.0))
    strip = strip_of((run,), steps, kinds=("mixed",))
    fit = fit_profile(strip, measured_on(strip, TRUE, 0.001), 0)
    found = tone_curve(fit.profile, Screen(kind="mixed"), 0.1)
    true = tone_curve(set_to(TRUE, run, 0.1), Screen(kind="continuous"), 0.1)
    shares = np.arange(3, 256) / 255.0
    mixed = np.interp(0.5 + 0.5 * shares, found.drives, found.frost)
    wanted = np.interp(shares, true.drives, true.frost) / fit.power.full
    apart = lightness_of_mark(mixed, SEEN) - lightness_of_mark(wanted, SEEN)
    assert np.abs(apart).max() < 0.5
    assert np.sqrt(np.square(apart).mean()) < 0.07


def test_a_strip_of_every_screen_gives_a_profile_with_all_of_them() -> None:
    strip = strip_of(kinds=WEDGE_SCREENS)
    profile = fit_profile(strip, measured_on(strip, TRUE), 0).profile
    assert {gains.screen for gains in profile.gains} == set(WEDGE_SCREENS)
    assert load_profile(dump_profile(profile)) == profile


def test_the_spread_is_found_from_the_lines() -> None:
    strip = strip_of()
    fit = fit_profile(strip, measured_on(strip, TRUE), 0)
    assert fit.spread is not None
    assert fit.spread.spread_mm == pytest.approx(0.07, abs=0.02)
    assert fit.spread.error_mm > 0.0
    assert fit_profile(strip, attrs.evolve(measured_on(strip, TRUE), lines=()), 0).spread is None


@pytest.mark.parametrize("lag_ms", [0.0, 0.1, 0.25])
@pytest.mark.parametrize("blur", [1.0, 0.85])
def test_the_lag_is_found_from_lines_both_ways_whatever_the_cameras_blur(
    lag_ms: float, blur: float
) -> None:
    strip = strip_of()
    slow = attrs.evolve(TRUE, machine=attrs.evolve(TRUE.machine, lag_ms=lag_ms))
    measured = measured_on(strip, slow)
    softer = [attrs.evolve(line, modulation=blur * line.modulation) for line in measured.lines]
    fit = fit_profile(strip, attrs.evolve(measured, lines=tuple(softer)), 0)
    assert fit.spread is not None
    assert fit.spread.lag_ms == pytest.approx(lag_ms, abs=0.03)
    assert fit.profile.machine.lag_ms == fit.spread.lag_ms


def test_a_bad_patch_is_named_and_left_out() -> None:
    strip = strip_of()
    measured = measured_on(strip, TRUE, 0.003)
    number = next(
        n
        for n, v in enumerate(measured.values)
        if strip.patches[v.patch].kind == "power" and 0.3 < v.frost < 0.6
    )
    values = list(measured.values)
    values[number] = attrs.evolve(values[number], frost=values[number].frost - 0.3)
    fit = fit_profile(strip, attrs.evolve(measured, values=tuple(values)), 0)
    assert measured.values[number].patch in fit.bad
    assert np.abs(error_l(fit.profile)).max() < 1.2


def test_the_fitted_profile_keeps_the_focus_that_was_planned() -> None:
    focused = attrs.evolve(GENERIC, machine=attrs.evolve(GENERIC.machine, focus="2 mm above"))
    strip = attrs.evolve(strip_of(), profile=profile_data(focused))
    assert fit_profile(strip, measured_on(strip, TRUE), 0).profile.machine.focus == "2 mm above"


def test_too_little_or_nothing_is_said_plainly() -> None:
    strip = strip_of()
    with pytest.raises(InputError, match="Fewer than 4"):
        fit_profile(strip, Measured(()), 0)
    dull = tuple(Value(v.patch, 0.0) for v in measured_on(strip, TRUE).values)
    with pytest.raises(InputError, match="frosted"):
        fit_profile(strip, Measured(dull), 0)
    with pytest.raises(InputError, match="no setting 4"):
        fit_profile(strip, measured_on(strip, TRUE), 3)
    with pytest.raises(InputError, match="no patch"):
        fit_profile(strip, Measured((Value(9999, 0.5),)), 0)
