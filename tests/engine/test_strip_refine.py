"""A second strip refines what an earlier one taught; nothing counts twice."""

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.glass import lightness_of_mark
from engine.linearise import tone_curve
from engine.strip.fingerprint import fingerprint_of
from engine.strip.fit import fit_profile
from engine.strip.fit_gains import set_to
from engine.strip.fit_merge import check_refines, merged, over_fullest
from engine.strip.fit_values import Measured
from shared.errors import InputError
from shared.profile import GENERIC
from shared.profile_file import dump_profile, load_profile
from shared.recipe import Screen
from shared.strip import Run, Strip
from tests.strip_parts import FULL, SEEN, TRUE, error_l, measured_on, strip_of


def test_a_second_strip_refines() -> None:
    strip = strip_of(steps=7)
    noisy = measured_on(strip, TRUE, 0.015)
    first = fit_profile(strip, noisy, 0).profile
    second = fit_profile(strip, measured_on(strip, TRUE, 0.004), 0, earlier=first)
    alone = fit_profile(strip, measured_on(strip, TRUE, 0.004), 0)
    assert np.median(second.power.curve.scatter) <= np.median(alone.power.curve.scatter)
    assert np.abs(error_l(second.profile)).mean() < np.abs(error_l(first)).mean()
    assert "refines" in second.profile.note


def read(run: Run, noise: float) -> tuple[Strip, Measured]:
    """A strip of one setting as a reader has it: its own solids are 1."""
    strip = strip_of((run,), kinds=("diffusion", "mixed"))
    measured = measured_on(strip, TRUE, noise)
    full = np.median([v.frost for v in measured.values if strip.patches[v.patch].kind == "solid"])
    values = [attrs.evolve(v, frost=v.frost / full) for v in measured.values]
    ratio = over_fullest(0.05, full)
    return strip, attrs.evolve(measured, values=tuple(values), bare_over_full=ratio)


@pytest.mark.parametrize("powers", [(60.0, 45.0), (60.0, 35.0), (60.0, 28.0), (28.0, 60.0)])
def test_strips_that_reach_unlike_shares_of_full_frost_refine_each_other(powers) -> None:
    strips = [read(Run("a.png", most, 10.0, 300.0, (0.0, 0.0)), 0.004) for most in powers]
    first = fit_profile(*strips[0], 0).profile
    fit = fit_profile(*strips[1], 0, earlier=first)
    assert not fit.bad
    assert np.abs(error_l(fit.profile)).max() < 0.7
    for kind in ("diffusion", "mixed"):
        found = tone_curve(fit.profile, Screen(kind=kind), 0.1)
        true = tone_curve(set_to(TRUE, strips[1][0].runs[0], 0.1), Screen(kind=kind), 0.1)
        apart = lightness_of_mark(found.frost, SEEN) - lightness_of_mark(true.frost / FULL, SEEN)
        assert np.abs(apart).max() < 0.8


def test_an_earlier_profile_that_frosts_nothing_tells_nothing() -> None:
    strip = strip_of()
    measured = measured_on(strip, TRUE, 0.004)
    alone = fit_profile(strip, measured, 0).profile
    dull = attrs.evolve(alone, knots=[attrs.evolve(knot, frost=0.0) for knot in alone.knots])
    assert fit_profile(strip, measured, 0, earlier=dull).profile.knots == alone.knots


def test_two_equal_strips_halve_the_variance_of_spread_lag_and_ends() -> None:
    strip = strip_of()
    measured = measured_on(strip, TRUE, 0.004)
    first = fit_profile(strip, measured, 0).profile
    both = fit_profile(strip, measured, 0, earlier=first).profile
    assert first.doubt.spread_mm > 0.0
    for name, error in attrs.asdict(first.doubt).items():
        assert getattr(both.doubt, name) == pytest.approx(error / np.sqrt(2.0), rel=0.35)
    assert both.spread_mm == pytest.approx(first.spread_mm, abs=0.006)


def test_a_poor_second_strip_hardly_moves_a_good_first() -> None:
    strip = strip_of()
    first = fit_profile(strip, measured_on(strip, TRUE, 0.002), 0).profile
    first = attrs.evolve(first, doubt=attrs.evolve(first.doubt, spread_mm=0.003, lag_ms=0.01))
    measured = measured_on(strip, attrs.evolve(TRUE, spread_mm=0.12), 0.02)
    poor = [attrs.evolve(line, error=0.5) for line in measured.lines]
    second = fit_profile(strip, attrs.evolve(measured, lines=tuple(poor)), 0, earlier=first).profile
    assert abs(second.spread_mm - first.spread_mm) < 0.01
    assert second.doubt.spread_mm <= first.doubt.spread_mm


@given(st.floats(-1.0, 1.0), st.floats(0.001, 1.0), st.floats(-1.0, 1.0), st.floats(0.001, 1.0))
def test_the_mean_of_two_measurements_lies_between_and_is_surer(a, ea, b, eb) -> None:
    mean, error = merged(a, ea, b, eb)
    assert min(a, b) - 1e-9 <= mean <= max(a, b) + 1e-9
    assert error <= min(ea, eb)
    assert merged(b, eb, a, ea) == pytest.approx((mean, error))


def test_without_an_error_both_count_alike() -> None:
    assert merged(1.0, 0.0, 2.0, 0.1) == (1.5, 0.1)


def test_only_a_measured_profile_of_the_same_glass_is_refined() -> None:
    strip = strip_of()
    profile = fit_profile(strip, measured_on(strip, TRUE), 0).profile
    check_refines(profile, GENERIC)
    with pytest.raises(InputError, match="starting guess"):
        check_refines(GENERIC, GENERIC)
    other = attrs.evolve(GENERIC, machine=attrs.evolve(GENERIC.machine, tube="new"))
    with pytest.raises(InputError, match="tube"):
        check_refines(profile, other)


def told(measured: Measured, fingerprint: int) -> Measured:
    return attrs.evolve(measured, fingerprint=fingerprint)


def test_readings_do_not_count_twice() -> None:
    strip = strip_of()
    first, second = told(measured_on(strip, TRUE), 7), told(measured_on(strip, TRUE, 0.004), 8)
    known = fit_profile(strip, first, 0)
    assert known.profile.readings == (7,)
    again = fit_profile(strip, first, 0, earlier=known.profile)
    assert again.profile == known.profile
    assert "learnt from this very reading" in again.left_out
    both = fit_profile(strip, second, 0, earlier=known.profile)
    assert both.left_out == ""
    assert both.profile.readings == (7, 8)
    assert load_profile(dump_profile(both.profile)) == both.profile
    with pytest.raises(InputError, match="must not count twice"):
        fit_profile(strip, second, 0, earlier=both.profile)
    untold = attrs.evolve(known.profile, readings=())
    assert fit_profile(strip, first, 0, earlier=untold).left_out == ""


@given(st.lists(st.floats(0.0, 1.2), min_size=4, max_size=40))
def test_a_fingerprint_is_of_the_readings_alone(readings) -> None:
    assert fingerprint_of(readings) == fingerprint_of(readings) > 0
    other = [*readings[:-1], readings[-1] + 0.01]
    assert fingerprint_of(other) != fingerprint_of(readings)
    assert fingerprint_of([*readings, np.nan]) == fingerprint_of([*readings, -np.nan])
