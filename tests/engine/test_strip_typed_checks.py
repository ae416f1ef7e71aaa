"""Readings by hand that cannot be what was burnt: refused, or named with what to do."""

import numpy as np
import pytest

from engine.strip.by_hand import NO_BARE, NO_ENDS, by_eye, typed
from engine.strip.judge import judge
from shared.errors import InputError
from tests.engine.test_strip_by_hand import LOOK, readings


def lightness():
    strip, found = readings("lightness")
    return strip, {patch: float(np.round(value)) for patch, value in found.items()}


def patches_of(strip, kind, run=0):
    return [n for n, p in enumerate(strip.patches) if p.kind == kind and p.run == run]


def test_right_readings_are_warned_of_nothing() -> None:
    for unit in ("reflectance", "lightness", "density"):
        strip, found = readings(unit)
        assert typed(strip, found, unit).doubts == ()
    strip, found = lightness()
    assert typed(strip, found, "lightness").doubts == ()
    scale = np.linspace(0.0, 100.0, 21)
    steps = {p: float(np.abs(scale - v).argmin() + 1) for p, v in found.items()}
    assert by_eye(strip, steps, scale).doubts == ()


def test_a_slip_in_one_of_two_patches_burnt_alike_names_both() -> None:
    strip, found = lightness()
    strong = patches_of(strip, "power")[8]
    twin = next(
        n
        for n in patches_of(strip, "power")
        if n > strong and strip.patches[n] == strip.patches[strong]
    )
    wrong = typed(strip, {**found, strong: found[strong] - 36.0}, "lightness").doubts
    (said,) = wrong
    assert said.startswith(f"Patches {strong + 1} and {twin + 1} do not read like others")
    assert "read them once more" in said
    solid = patches_of(strip, "solid")[0]
    (said,) = typed(strip, {**found, solid: found[solid] - 40.0}, "lightness").doubts
    assert said.startswith(f"Patch {solid + 1} does not read like others")


def test_what_reads_darker_than_bare_glass_or_lighter_than_paper_is_told() -> None:
    strip, found = lightness()
    bare = {n for n, p in enumerate(strip.patches) if p.kind == "bare"}
    some = {p: v + (10.0 if p in bare else 0.0) for p, v in found.items()}
    assert any("darker than bare glass" in said for said in typed(strip, some, "lightness").doubts)
    pale = patches_of(strip, "power")[4]
    said = typed(strip, {**found, pale: 99.0}, "lightness").doubts[-1]
    assert said.startswith(f"Patch {pale + 1} reads lighter than white paper")


def test_readings_in_another_order_are_refused() -> None:
    strip, found = lightness()
    rng = np.random.default_rng(2)
    mixed = dict(zip(found, rng.permutation(list(found.values())), strict=True))
    for patch in found:
        if strip.patches[patch].kind in ("bare", "solid"):
            mixed[patch] = found[patch]
    with pytest.raises(InputError, match=r"burnt alike, such as .* check that each reading stands"):
        typed(strip, mixed, "lightness")


def test_readings_that_fall_or_stay_where_power_grows_are_refused() -> None:
    strip, found = readings("frost")
    wedge = {p: min(v, 1.0) for p, v in found.items() if strip.patches[p].kind == "power"}
    with pytest.raises(InputError, match="darker where more power"):
        typed(strip, {p: 1.0 - v for p, v in wedge.items()}, "frost")
    with pytest.raises(InputError, match="much the same"):
        typed(strip, dict.fromkeys(wedge, 0.5), "frost")


def test_few_powers_and_a_curve_that_is_flat_at_its_top_are_not_taken_for_slips() -> None:
    strip, found = lightness()
    ends = {p: v for p, v in found.items() if strip.patches[p].kind in ("bare", "solid")}
    assert typed(strip, ends, "lightness").doubts == ()
    full = {p: 70.0 - 0.5 * strip.patches[p].drive for p in patches_of(strip, "power")}
    measured = typed(strip, {**full, **ends}, "lightness")
    assert not any("power" in said for said in measured.doubts)


def test_frost_of_a_screen_alone_is_refused_in_words() -> None:
    strip, found = readings("frost")
    dots = {p: v for p, v in found.items() if strip.patches[p].kind == "screen"}
    with pytest.raises(InputError, match="patches of different power"):
        judge(strip, typed(strip, dots, "frost"), LOOK)


def test_frost_that_is_not_frost_is_told_with_both_ends() -> None:
    strip, found = readings("reflectance")
    said = typed(strip, found, "frost").doubts[0]
    assert "yours reads 0.02 and 0.39 on the solid patches" in said
    assert "choose the unit" in said


def test_frost_tells_that_the_light_of_bare_glass_is_a_guess() -> None:
    strip, found = readings("frost")
    assert typed(strip, found, "frost").doubts == (NO_ENDS,)


def test_bare_glass_as_black_as_nothing_is_told_of_in_the_unit_of_the_readings() -> None:
    strip, light = readings("reflectance")
    black = {p: np.round(max(v - 0.02, 0.0), 2) for p, v in light.items()}
    measured = typed(strip, black, "reflectance")
    assert measured.bare_over_full is None
    assert measured.doubts == (NO_BARE,)


def test_a_reading_that_counted_for_nothing_is_named_in_the_judgement() -> None:
    strip, found = lightness()
    once = {}
    for patch, value in found.items():
        once.setdefault((strip.patches[patch].kind, strip.patches[patch]), (patch, value))
    single = dict(once.values())
    wrong = [p for p in single if strip.patches[p].kind == "power" and strip.patches[p].run == 0][6]
    single[wrong] -= 25.0
    judged = judge(strip, typed(strip, single, "lightness"), LOOK)
    assert any(f"Patch {wrong + 1} does not agree" in said for said in judged.warnings)


def test_a_setting_of_which_nothing_was_read_is_told_when_it_is_chosen() -> None:
    strip, found = lightness()
    first = {p: v for p, v in found.items() if strip.patches[p].run == 0}
    measured = typed(strip, first, "lightness")
    said = "No patch of setting 2 itself was read"
    assert any(said in words for words in judge(strip, measured, LOOK, choose=1).warnings)
    assert not any("itself was read" in w for w in judge(strip, measured, LOOK, choose=0).warnings)
