"""Readings typed in or judged by eye: the same profile, only coarser."""

import numpy as np
import pytest

from engine.colour import lightness_from_luminance
from engine.glass import ends, lightness_of_mark
from engine.response import frost_of_fluence
from engine.strip.by_hand import by_eye, murray_davies, rounded_to, typed
from engine.strip.fit import BACKING, fit_profile
from engine.strip.judge import judge
from shared.errors import InputError
from shared.profile import GENERIC
from shared.strip import Run
from tests.strip_parts import RUNS, TRUE, in_16_bits, measured_on, strip_of

BARE, FULL = 0.02, 0.40
LOOK = in_16_bits(np.tile(np.linspace(0.0, 1.0, 60), (60, 1)))


def readings(unit, runs=RUNS):
    strip = strip_of(runs)
    measured = measured_on(strip, TRUE)
    found = {}
    for value in measured.values:
        light = BARE + (FULL - BARE) * max(value.frost, 0.0)
        found[value.patch] = {
            "frost": max(value.frost, 0.0),
            "reflectance": light,
            "lightness": float(lightness_from_luminance(light)),
            "density": float(-np.log10(light)),
        }[unit]
    return strip, found


def curve_error(profile):
    fluence = np.linspace(0.25, 0.9, 100)
    seen = ends(GENERIC.light, BACKING, "light")
    full = float(frost_of_fluence(1.2, TRUE))
    found, true = frost_of_fluence(fluence, profile), frost_of_fluence(fluence, TRUE) / full
    apart = lightness_of_mark(found, seen) - lightness_of_mark(true, seen)
    return float(np.abs(apart).mean())


def test_murray_davies_by_the_published_example() -> None:
    """Densities .06 (paper), .36 (40 %) and 1.46 (solid) give a tone of 51.9494 %: Murray 1936, the
    example of the project's references, computed from the formula there."""
    tint, paper, solid = (10.0**-d for d in (0.36, 0.06, 1.46))
    assert float(murray_davies(tint, paper, solid)) == pytest.approx(0.519494, abs=1e-6)
    assert float(murray_davies(paper, paper, solid)) == 0.0
    assert float(murray_davies(solid, paper, solid)) == 1.0


@pytest.mark.parametrize("unit", ["frost", "reflectance", "lightness", "density"])
def test_every_unit_gives_the_same_curve(unit: str) -> None:
    strip, found = readings(unit)
    measured = typed(strip, found, unit)
    assert curve_error(fit_profile(strip, measured, 0).profile) < 0.6
    assert (measured.bare_over_full is None) == (unit == "frost")
    assert measured.lines == ()


def test_frost_counts_from_the_setting_that_frosts_most() -> None:
    weak, strong = (Run("a.png", power, 10.0, 300.0, (0.0, 0.0)) for power in (20.0, 45.0))
    strip, found = readings("reflectance", runs=(weak, weak, strong))
    frost = {v.patch: v.frost for v in typed(strip, found, "reflectance").values}
    solids = [n for n, p in enumerate(strip.patches) if p.kind == "solid"]
    assert max(frost.values()) == pytest.approx(1.0)
    assert min(frost[n] for n in solids) < 0.6


def test_the_eye_on_a_grey_scale_is_coarser_but_no_worse_than_its_steps() -> None:
    strip, found = readings("lightness")
    scale = np.linspace(8.0, 72.0, 21)
    steps = {p: float(np.abs(scale - v).argmin() + 1) for p, v in found.items()}
    eye = fit_profile(strip, by_eye(strip, steps, tuple(scale)), 0)
    instrument = fit_profile(strip, typed(strip, found, "lightness"), 0)
    assert curve_error(eye.profile) < 2.0
    assert eye.curve_error > instrument.curve_error
    assert "eye" in eye.profile.note


def test_a_scale_may_be_told_in_densities() -> None:
    strip, found = readings("density")
    scale = 0.05 + 0.1 * np.arange(20)
    steps = {p: float(np.abs(scale - v).argmin() + 1) for p, v in found.items()}
    in_l = tuple(float(lightness_from_luminance(10.0**-density)) for density in scale)
    assert by_eye(strip, steps, tuple(scale)) == by_eye(strip, steps, in_l)


def test_a_scale_that_ends_above_bare_glass_is_warned_of() -> None:
    strip, found = readings("lightness")
    for ends_at, warned in ((30.0, True), (5.0, False)):
        scale = np.linspace(95.0, ends_at, 21)
        steps = {p: float(np.abs(scale - v).argmin() + 1) for p, v in found.items()}
        doubts = by_eye(strip, steps, tuple(scale)).doubts
        assert any("matched the darkest step" in said for said in doubts) == warned


def test_a_scale_may_run_either_way() -> None:
    strip, found = readings("lightness")
    rising = np.linspace(8.0, 72.0, 21)
    up = by_eye(
        strip, {p: float(np.abs(rising - v).argmin() + 1) for p, v in found.items()}, rising
    )
    falling = rising[::-1]
    down = by_eye(
        strip, {p: float(np.abs(falling - v).argmin() + 1) for p, v in found.items()}, falling
    )
    np.testing.assert_allclose([v.frost for v in up.values], [v.frost for v in down.values])


def test_a_hand_profile_has_more_scatter_than_a_photo() -> None:
    strip, found = readings("frost")
    by_hand = fit_profile(strip, typed(strip, found, "frost"), 0)
    photo = fit_profile(strip, measured_on(strip, TRUE, 0.002), 0)
    assert by_hand.curve_error > photo.curve_error


def test_what_cannot_be_is_refused_in_words() -> None:
    strip, found = readings("reflectance")
    few = dict(list(found.items())[:3])
    with pytest.raises(InputError, match="at least 6"):
        typed(strip, few, "reflectance")
    with pytest.raises(InputError, match="lies between 0 and 1"):
        typed(strip, {**found, 0: 1.4}, "reflectance")
    with pytest.raises(InputError, match="not in inches"):
        typed(strip, found, "inches")
    no_bare = {p: v for p, v in found.items() if strip.patches[p].kind != "bare"}
    with pytest.raises(InputError, match="bare patch"):
        typed(strip, no_bare, "reflectance")
    turned = {p: BARE + FULL - v for p, v in found.items()}
    with pytest.raises(InputError, match="no lighter"):
        typed(strip, turned, "reflectance")
    with pytest.raises(InputError, match="no patch"):
        typed(strip, {**found, 5000: 0.2}, "reflectance")
    lines = next(n for n, p in enumerate(strip.patches) if p.kind == "lines")
    with pytest.raises(InputError, match="lines"):
        typed(strip, {**found, lines: 0.2}, "reflectance")
    with pytest.raises(InputError, match="not a number"):
        typed(strip, {**found, 0: float("nan")}, "reflectance")
    with pytest.raises(InputError, match="five steps"):
        by_eye(strip, found, (10.0, 20.0))
    with pytest.raises(InputError, match="run from 1 to 5"):
        by_eye(strip, dict.fromkeys(found, 9.0), (10.0, 20.0, 30.0, 40.0, 50.0))
    with pytest.raises(InputError, match="same step"):
        by_eye(strip, dict.fromkeys(found, 3.0), (10.0, 20.0, 30.0, 40.0, 50.0))


def test_a_reading_out_of_reach_names_its_patch_and_the_true_limit() -> None:
    strip, found = readings("frost")
    with pytest.raises(InputError, match=r"^Patch 4 cannot read 100: .* 1\.2 at the very most\.$"):
        typed(strip, {**found, 3: 100.0}, "frost")
    assert typed(strip, {**found, 3: 1.2}, "frost").values[3].frost == 1.2
    strip, dense = readings("density")
    with pytest.raises(InputError, match=r"^Patch 4 cannot read 7: density"):
        typed(strip, {**dense, 3: 7.0}, "density")


def test_frost_that_does_not_rise_from_bare_to_solid_is_refused() -> None:
    strip, found = readings("frost")
    for wrong in ({p: 1.0 - min(v, 1.0) for p, v in found.items()}, dict.fromkeys(found, 0.5)):
        with pytest.raises(InputError, match="no lighter"):
            typed(strip, wrong, "frost")
    powers = {p: v for p, v in found.items() if strip.patches[p].kind != "bare"}
    assert len(typed(strip, powers, "frost").values) == len(powers)


def test_the_step_of_rounding_is_told_from_the_values() -> None:
    assert rounded_to([13.0, 64.0, 27.0]) == 1.0
    assert rounded_to([15.0, 65.0, 25.0]) == 5.0
    assert rounded_to([0.02, 0.31]) == pytest.approx(0.01)
    assert rounded_to([0.123456, 0.3]) == 0.0


@pytest.mark.parametrize(
    ("unit", "step"), [("reflectance", 0.01), ("lightness", 5.0), ("density", 0.1)]
)
def test_coarse_readings_say_how_far_off_they_are(unit: str, step: float) -> None:
    strip, exact = readings(unit)
    fine, coarse = (
        typed(strip, found, unit)
        for found in (exact, {p: float(np.round(v / step)) * step for p, v in exact.items()})
    )
    true = BARE / FULL
    off = {v.patch: v.frost for v in coarse.values}
    apart = np.array([off[v.patch] - v.frost for v in fine.values])
    told = np.hypot([v.scatter for v in coarse.values], coarse.bare_error)
    assert np.sqrt(np.mean(np.square(apart / told))) < 1.5
    assert coarse.bare_error > 3.0 * fine.bare_error
    profile = fit_profile(strip, coarse, 0).profile
    assert abs(coarse.bare_over_full - true) < 2.5 * profile.doubt.ends
    first = fit_profile(strip, fine, 0).profile
    assert profile.knots[8].scatter > first.knots[8].scatter
    assert profile.doubt.ends > first.doubt.ends


def test_a_profile_of_coarse_readings_expects_more_and_is_warned_of() -> None:
    strip, exact = readings("lightness")
    rounded = {p: float(np.round(v / 10.0)) * 10.0 for p, v in exact.items()}
    fine, coarse = (
        judge(strip, typed(strip, found, "lightness"), LOOK) for found in (exact, rounded)
    )
    assert coarse.verdicts[0].error > fine.verdicts[0].error + 1.0
    assert "off by about 3.8 L*" in coarse.warnings[0]
    assert fine.warnings == ()


def test_readings_in_frost_do_not_change_the_ends_that_were_measured_before() -> None:
    strip, light = readings("reflectance")
    earlier = fit_profile(strip, typed(strip, light, "reflectance"), 0).profile
    other, frost = readings("frost")
    now = fit_profile(other, typed(other, frost, "frost"), 0, earlier=earlier).profile
    before, after = (ends(profile.light, BACKING, "light") for profile in (earlier, now))
    ratio = after.unmarked / after.marked
    assert ratio == pytest.approx(before.unmarked / before.marked, abs=0.003)
    assert now.doubt.ends == earlier.doubt.ends


def test_readings_that_scatter_tell_so_by_what_was_burnt_alike() -> None:
    strip, exact = readings("lightness")
    rng = np.random.default_rng(4)
    noisy = {p: float(np.clip(v + 3.0 * rng.standard_normal(), 0, 100)) for p, v in exact.items()}
    assert typed(strip, exact, "lightness").error_l < 0.2
    measured = typed(strip, noisy, "lightness")
    assert 2.0 < measured.error_l < 4.5
    said = " ".join(judge(strip, measured, LOOK).warnings)
    assert "scatter where the same was burnt" in said
