"""A tube whose watts begin above 0 %: runs of different speed tell of it and are evened out."""

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.response import frost_of_fluence
from engine.strip.fit import planned_profile
from engine.strip.fit_power import doses_of
from engine.strip.fit_values import Measured
from engine.strip.judge import judge
from engine.strip.tube import evened
from shared.strip import Run, Strip
from tests.strip_parts import SEEN, TRUE, error_l, measured_on, strip_of

LOOK = np.full((60, 60), 30000, np.uint16)
SLOW = Run("a.png", 45.0, 12.0, 250.0, (0.0, 0.0))
FAST = Run("b.png", 75.0, 15.0, 450.0, (0.0, 0.0))
RUNS = (SLOW, FAST)


def watts_from(offset_pct: float, strip: Strip, law: float = 1.0) -> Measured:
    """The plain patches as a tube burns them whose watts begin at that power."""
    measured = measured_on(strip, TRUE, 0.003)
    rng = np.random.default_rng(4)
    values = []
    for value in measured.values:
        patch = strip.patches[value.patch]
        if patch.kind in ("power", "solid"):
            run = strip.runs[patch.run]
            power = run.power_pct(patch.fired)
            share = max(power - offset_pct, 0.0) / (100.0 - offset_pct)
            watts = TRUE.machine.rated_w * share**law
            frost = float(frost_of_fluence(watts / (run.speed_mm_s * strip.pitch_mm), TRUE))
            values.append(attrs.evolve(value, frost=frost + 0.003 * rng.standard_normal()))
        else:
            values.append(value)
    return attrs.evolve(measured, values=tuple(values), lines=())


def moved(strip: Strip, measured: Measured, chosen: int = 0) -> np.ndarray:
    """By how many decades of fluence each reading was evened out."""
    doses = doses_of(strip, measured.values, planned_profile(strip), chosen)
    return evened(doses, SEEN).log_fluence - doses.log_fluence


@pytest.mark.parametrize("offset", [5.0, 8.0, 11.0])
def test_the_offset_is_evened_out(offset: float) -> None:
    strip = strip_of(RUNS, steps=15)
    measured = watts_from(offset, strip)
    doses = doses_of(strip, measured.values, planned_profile(strip), 0)
    found = evened(doses, SEEN)
    fast = doses.run == 1
    assert np.array_equal(found.log_fluence[~fast], doses.log_fluence[~fast])
    burnt = [strip.patches[number] for number in doses.patch]
    power = np.array([strip.runs[patch.run].power_pct(patch.fired) for patch in burnt])
    alike = offset + (power - offset) * SLOW.speed_mm_s / FAST.speed_mm_s
    wanted = np.log10(alike[fast] / power[fast]) + np.log10(FAST.speed_mm_s / SLOW.speed_mm_s)
    told = power[fast] > 25.0  # below, the glass stays bare
    assert np.abs(found.log_fluence - doses.log_fluence)[fast][told] == pytest.approx(
        np.abs(wanted)[told], abs=0.012
    )


@pytest.mark.parametrize("chosen", [0, 1])
def test_the_profile_holds_for_its_own_setting(chosen: int) -> None:
    strip = strip_of(RUNS, steps=15)
    found = judge(strip, watts_from(8.0, strip), LOOK, choose=chosen)
    assert not any("frosted the glass as if" in sentence for sentence in found.warnings)
    profile, run = found.profile, strip.runs[chosen]
    powers = np.linspace(20.0, run.power_max_pct, 60)
    speed = run.speed_mm_s * strip.pitch_mm
    nominal = TRUE.machine.rated_w * powers / 100.0 / speed
    real = TRUE.machine.rated_w * (powers - 8.0) / 92.0 / speed
    apart = frost_of_fluence(nominal, profile) - frost_of_fluence(real, TRUE)
    assert np.abs(apart - apart.mean()).mean() < 0.012  # what is the fullest is fitted too


@pytest.mark.parametrize("law", [0.85, 1.0, 1.2])
def test_a_tube_without_one_is_left_alone(law: float) -> None:
    strip = strip_of(RUNS, steps=15)
    assert not moved(strip, watts_from(0.0, strip, law)).any()


@given(st.floats(-0.15, 0.15))
def test_reciprocity_is_no_offset(reciprocity: float) -> None:
    strip = strip_of(RUNS)
    assert not moved(strip, measured_on(strip, TRUE, 0.003, reciprocity=reciprocity)).any()


def test_runs_of_one_speed_tell_nothing_of_it_and_need_not() -> None:
    strip = strip_of((SLOW, attrs.evolve(FAST, speed_mm_s=SLOW.speed_mm_s)))
    measured = watts_from(8.0, strip)
    assert not moved(strip, measured).any()
    profile = judge(strip, measured, LOOK).profile
    assert np.isfinite(error_l(profile)).all()


def test_a_few_readings_prove_nothing() -> None:
    strip = strip_of(RUNS)
    measured = watts_from(8.0, strip)
    for count in (0, 9):
        few = attrs.evolve(measured, values=measured.values[:count])
        assert not moved(strip, few).any()
