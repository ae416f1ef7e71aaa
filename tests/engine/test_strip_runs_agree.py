"""A run that was burnt weaker or stronger than it says is noticed, whatever the others do."""

from itertools import permutations

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.glass import ends
from engine.strip.fit import BACKING
from engine.strip.fit_power import doses_of
from engine.strip.fit_values import Measured
from engine.strip.judge import judge, report
from engine.strip.runs_agree import unsteady
from engine.strip.runs_burnt import check_runs
from shared.errors import InputError
from shared.profile import GENERIC
from shared.strip import Run, Strip
from tests.strip_parts import TRUE, measured_on, strip_of

STRONG = Run("a.png", 55.0, 17.0, 350.0, (0.0, 0.0))
WEAK = Run("b.png", 36.0, 14.0, 350.0, (0.0, 0.0))
RUNS = (
    STRONG,
    WEAK,
    attrs.evolve(STRONG, file="c.png", speed_mm_s=450.0),
    attrs.evolve(WEAK, file="d.png", speed_mm_s=450.0),
)
SEEN = ends(TRUE.light, BACKING, "light")
LOOK = np.full((60, 60), 30000, np.uint16)


def powered(run: Run, share: float) -> Run:
    """A run as it is burnt where the tube gives a share of its power."""
    most, least = share * run.power_max_pct, share * run.power_min_pct
    return attrs.evolve(run, power_max_pct=most, power_min_pct=least)


def burnt_with(told: tuple[Run, ...], shares: tuple[float, ...], noise: float = 0.003) -> Measured:
    burnt = tuple(powered(run, share) for run, share in zip(told, shares, strict=True))
    return measured_on(strip_of(burnt), TRUE, noise)


def word(strip: Strip, measured: Measured) -> str:
    return unsteady(doses_of(strip, measured.values, GENERIC, 0), SEEN)


@pytest.mark.parametrize("number", range(4))
@pytest.mark.parametrize("share", [0.94, 1.06])
def test_a_run_a_little_beside_the_others_is_warned_of(number, share) -> None:
    shares = tuple(share if n == number else 1.0 for n in range(4))
    sentence = word(strip_of(RUNS), burnt_with(RUNS, shares))
    assert sentence.startswith(f"Run {number + 1} frosted the glass")
    assert pytest.approx(100.0 * share, abs=2.5) == float(sentence.split(" %")[0].split()[-1])


@pytest.mark.parametrize("runs", [RUNS[:2], RUNS])
@pytest.mark.parametrize("share", [0.88, 1.15])
def test_a_run_far_beside_the_others_spoils_the_strip(runs, share) -> None:
    shares = (share, *(1.0,) * (len(runs) - 1))
    others = "run 2" if len(runs) == 2 else "the other runs"
    with pytest.raises(InputError, match=f"runs do not agree: .* held against {others}"):
        judge(strip_of(runs), burnt_with(runs, shares), LOOK)


IDLE = Run("e.png", 12.0, 11.0, 600.0, (0.0, 0.0))
BEYOND = Run("e.png", 100.0, 70.0, 150.0, (0.0, 0.0))


@pytest.mark.parametrize("fifth", [IDLE, BEYOND])
def test_a_run_that_tells_nothing_does_not_hide_another(fifth) -> None:
    runs = (*RUNS, fifth)
    strip = strip_of(runs)
    glass = attrs.evolve(TRUE, response=attrs.evolve(TRUE.response, flaking_j_mm2=1.3))
    assert word(strip, measured_on(strip, glass, 0.003)) == ""
    for share in (0.94, 1.06):
        burnt = strip_of((powered(RUNS[0], share), *runs[1:]))
        assert word(strip, measured_on(burnt, glass, 0.003)).startswith("Run 1 frosted")
    burnt = strip_of((powered(RUNS[0], 0.88), *runs[1:]))
    with pytest.raises(InputError, match="do not agree: run 1"):
        word(strip, measured_on(burnt, glass, 0.003))


@pytest.mark.parametrize("noise", [0.02, 0.04])
@pytest.mark.parametrize("patches", [9, 15, 30])
@pytest.mark.parametrize("seed", range(6))
def test_coarse_readings_typed_in_are_not_refused(noise: float, patches: int, seed: int) -> None:
    """Each of them is told to be surer than it is."""
    rng = np.random.default_rng(seed)
    strip = strip_of(RUNS, steps=6)
    true = measured_on(strip, TRUE)
    kinds = ("solid", "bare", "power")
    read = [v for v in true.values if strip.patches[v.patch].kind in kinds]
    few = rng.permutation(len(read))[:patches]
    values = [
        attrs.evolve(read[n], frost=read[n].frost + noise * rng.standard_normal(), scatter=0.01)
        for n in few
    ]
    check_runs(strip, values, GENERIC, SEEN)


@pytest.mark.parametrize("order", [p for p in permutations(range(4)) if p != (0, 1, 2, 3)])
def test_settings_that_were_mixed_up_anyhow_are_refused(order) -> None:
    burnt = strip_of(tuple(RUNS[n] for n in order))
    with pytest.raises(InputError):
        judge(strip_of(RUNS), measured_on(burnt, TRUE, 0.003), LOOK)


@pytest.mark.parametrize("noise", [0.0, 0.005, 0.03])
@pytest.mark.parametrize("reciprocity", [-0.06, 0.0, 0.1])
def test_runs_that_agree_are_left_in_peace(noise: float, reciprocity: float) -> None:
    strip = strip_of(RUNS)
    assert word(strip, measured_on(strip, TRUE, noise, reciprocity=reciprocity)) == ""


@settings(max_examples=10)
@given(st.floats(0.8, 1.2))
def test_what_all_runs_are_off_by_cannot_be_known(share: float) -> None:
    assert word(strip_of(RUNS), burnt_with(RUNS, (share,) * 4)) == ""


def test_one_run_has_none_to_be_held_against() -> None:
    assert word(strip_of(RUNS[:1]), burnt_with(RUNS[:1], (0.8,))) == ""


def test_the_warning_stands_with_the_judgement() -> None:
    strip = strip_of(RUNS)
    found = judge(strip, burnt_with(RUNS, (1.0, 0.94, 1.0, 1.0)), LOOK)
    assert found.warnings[0].startswith("Run 2 frosted")
    assert report(found, strip)["warnings"] == list(found.warnings)
