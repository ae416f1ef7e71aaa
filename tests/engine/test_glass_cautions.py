"""The gap that a least power leaves above bare glass, and what closes it."""

import attrs
import pytest

from engine.glass_cautions import closing_power_pct, glass_cautions
from shared.profile import GENERIC, GlassProfile, Knot
from shared.recipe import Recipe

CONTINUOUS = Recipe().changed(screen__kind="continuous")
SETTING = attrs.evolve(GENERIC.setting, power_max_pct=45.0, power_min_pct=20.0, speed_mm_s=300.0)


def measured(*points: tuple[float, float]) -> GlassProfile:
    knots = [Knot(fluence, frost) for fluence, frost in points]
    return attrs.evolve(GENERIC, setting=SETTING, origin="measured", knots=knots)


def gap_of(profile: GlassProfile) -> str:
    said = [c.sentence for c in glass_cautions(CONTINUOUS, profile) if "leaves a gap" in c.sentence]
    assert len(said) == 1
    return said[0]


def test_the_power_that_closes_the_gap_lies_below_the_least() -> None:
    profile = measured((0.3, 0.0), (0.4, 0.3), (0.9, 1.0))
    closing = closing_power_pct(profile)
    assert closing is not None
    assert closing < SETTING.power_min_pct
    assert profile.fluence_j_mm2(closing) == pytest.approx(0.3)
    assert f"set it to {closing:.1f} %, or use the mixed screen" in gap_of(profile)


def test_where_no_point_is_bare_nobody_knows_which_power_closes_it() -> None:
    profile = measured((0.39, 0.3), (0.5, 0.6), (0.9, 1.0))
    assert closing_power_pct(profile) is None
    assert "go faster, or use the mixed screen" in gap_of(profile)
