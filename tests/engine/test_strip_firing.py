"""A tube that fires only above a power that nobody knew: the strip tells of it."""

import attrs
import numpy as np
import pytest

from engine.strip.firing import floor_seen
from engine.strip.fit import planned_profile
from engine.strip.fit_values import Measured
from engine.strip.judge import Judgement, judge
from shared.errors import InputError
from shared.profile import GlassProfile
from shared.strip import Strip
from tests.strip_parts import SEEN, TRUE, error_l, measured_on, strip_of

LOOK = np.full((60, 60), 30000, np.uint16)


def idle_below(floor_pct: float) -> GlassProfile:
    """The glass at a machine whose tube does not fire below that power."""
    machine = attrs.evolve(TRUE.machine, firing_floor_pct=floor_pct)
    return attrs.evolve(TRUE, machine=machine)


def seen(strip: Strip, measured: Measured) -> float | None:
    return floor_seen(strip, measured.values, planned_profile(strip), SEEN)


def warned(found: Judgement) -> bool:
    return any("tube fires only from there on" in sentence for sentence in found.warnings)


@pytest.mark.parametrize("floor", [24.0, 27.0, 31.0])
def test_the_floor_is_found_within_a_step_of_the_wedges(floor: float) -> None:
    strip = strip_of(steps=21)
    found = seen(strip, measured_on(strip, idle_below(floor), 0.003))
    powers = [strip.runs[p.run].power_pct(p.drive) for p in strip.patches if p.kind == "power"]
    lowest = min(power for power in powers if power >= floor)
    assert found == pytest.approx(lowest, abs=0.1)
    assert found <= lowest


def test_the_profile_and_the_user_learn_of_it() -> None:
    strip = strip_of(steps=21)
    found = judge(strip, measured_on(strip, idle_below(24.0), 0.003), LOOK)
    assert warned(found)
    profile = found.profile
    assert profile.machine.firing_floor_pct == pytest.approx(24.5, abs=0.5)
    assert profile.fluence_j_mm2(20.0) == 0.0
    reach = attrs.evolve(profile, setting=attrs.evolve(profile.setting, power_min_pct=25.0))
    assert np.abs(error_l(reach)).mean() < 0.5


def test_a_tube_that_fires_is_left_in_peace() -> None:
    strip = strip_of(steps=21)
    measured = measured_on(strip, TRUE, 0.003)
    assert seen(strip, measured) is None
    found = judge(strip, measured, LOOK)
    assert not warned(found)
    assert found.profile.machine == attrs.evolve(
        planned_profile(strip).machine, lag_ms=found.profile.machine.lag_ms
    )


def test_one_bare_patch_is_no_floor() -> None:
    strip = strip_of(steps=21)
    measured = measured_on(strip, TRUE, 0.003)
    spot = next(n for n, p in enumerate(strip.patches) if p.kind == "power" and p.drive > 0.2)
    values = [attrs.evolve(v, frost=0.0) if v.patch == spot else v for v in measured.values]
    assert seen(strip, attrs.evolve(measured, values=tuple(values))) is None


def test_a_run_that_was_forgotten_is_no_floor() -> None:
    strip = strip_of(steps=21)
    measured = measured_on(strip, TRUE, 0.003)
    values = [
        attrs.evolve(v, frost=0.0) if strip.patches[v.patch].run == 1 else v
        for v in measured.values
    ]
    gone = attrs.evolve(measured, values=tuple(values))
    assert seen(strip, gone) is None
    with pytest.raises(InputError, match="Run 2 left nothing"):
        judge(strip, gone, LOOK)


def test_too_little_frost_tells_nothing() -> None:
    strip = strip_of()
    measured = measured_on(strip, idle_below(60.0), 0.003)
    bare = [attrs.evolve(v, frost=0.01) for v in measured.values]
    assert seen(strip, attrs.evolve(measured, values=tuple(bare))) is None
