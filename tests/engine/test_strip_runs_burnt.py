"""Settings exchanged at the machine are noticed and named; good strips are left in peace."""

import attrs
import numpy as np
import pytest

from engine.strip.fit_values import Value
from engine.strip.judge import judge
from shared.errors import InputError
from shared.strip import Run, Strip
from tests.strip_parts import TRUE, measured_on, strip_of

STRONG = Run("a.png", 60.0, 15.0, 300.0, (0.0, 0.0))
MIDDLE = Run("b.png", 45.0, 10.0, 300.0, (0.0, 0.0))
FAST = Run("c.png", 45.0, 10.0, 420.0, (0.0, 0.0))
RUNS = (STRONG, MIDDLE, FAST)
LOOK = np.full((60, 60), 30000, np.uint16)


def told_of(burnt: Strip, first: int, second: int) -> Strip:
    """The strip as its file tells of it when two settings of what was burnt are exchanged."""
    runs = list(burnt.runs)
    runs[first], runs[second] = runs[second], runs[first]
    return attrs.evolve(burnt, runs=runs)


@pytest.mark.parametrize(("first", "second"), [(0, 1), (0, 2), (1, 2)])
def test_two_exchanged_runs_are_named(first: int, second: int) -> None:
    burnt = strip_of(RUNS)
    with pytest.raises(InputError, match=f"Runs {first + 1} and {second + 1} look"):
        judge(told_of(burnt, first, second), measured_on(burnt, TRUE, 0.003), LOOK)


@pytest.mark.parametrize(("forgotten", "left"), [(1, 0), (2, 1), (0, 2)])
def test_a_setting_that_was_not_changed_is_named(forgotten: int, left: int) -> None:
    told = strip_of(RUNS)
    runs = list(RUNS)
    runs[forgotten] = attrs.evolve(RUNS[left], file=RUNS[forgotten].file)
    burnt = strip_of(tuple(runs))
    values = measured_on(attrs.evolve(told, runs=burnt.runs), TRUE, 0.003)
    sentence = f"Run {forgotten + 1} looks as if it had been burnt at the setting of run {left + 1}"
    with pytest.raises(InputError, match=sentence):
        judge(told, values, LOOK)


@pytest.mark.parametrize("forgotten", [0, 1, 2])
def test_a_run_that_was_not_burnt_is_named(forgotten: int) -> None:
    strip = strip_of(RUNS)
    measured = measured_on(strip, TRUE, 0.003)
    values = [
        attrs.evolve(v, frost=0.001) if strip.patches[v.patch].run == forgotten else v
        for v in measured.values
    ]
    with pytest.raises(InputError, match=f"Run {forgotten + 1} left nothing"):
        judge(strip, attrs.evolve(measured, values=tuple(values)), LOOK)


@pytest.mark.parametrize("noise", [0.0, 0.003, 0.03])
@pytest.mark.parametrize("reciprocity", [0.0, 0.1])
def test_a_good_strip_is_left_in_peace(noise: float, reciprocity: float) -> None:
    strip = strip_of(RUNS)
    measured = measured_on(strip, TRUE, noise, reciprocity=reciprocity)
    assert judge(strip, measured, LOOK).verdicts[0].marks


def test_one_run_has_nothing_to_be_exchanged_with() -> None:
    strip = strip_of((MIDDLE,))
    assert judge(strip, measured_on(strip, TRUE), LOOK).chosen.run == 0


def test_a_glass_that_rises_and_falls_names_nobody() -> None:
    """Beyond flaking no rising curve fits, with or without an exchange."""
    strip = strip_of(RUNS)
    measured = measured_on(strip, TRUE, 0.003)
    values = [
        Value(v.patch, v.frost * (0.7 if strip.patches[v.patch].kind == "solid" else 1.0))
        for v in measured.values
    ]
    assert judge(strip, attrs.evolve(measured, values=tuple(values)), LOOK).verdicts
