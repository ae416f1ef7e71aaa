"""The steps around a starting setting, and the crop that the cells show."""

import attrs
import numpy as np
import pytest
import skimage.data
from hypothesis import given
from hypothesis import strategies as st

from engine.strip.make import default_screens
from engine.strip.make_crop import checked_crop, crop_aspect, default_crop
from engine.strip.make_settings import (
    checked_runs,
    default_pairs,
    default_speeds,
    profile_of_run,
    starting_at,
)
from shared.errors import InputError
from shared.profile import GENERIC, Gain, ScreenGains
from shared.profile_file import starting_guesses
from shared.recipe import Recipe
from shared.units import pitch_from_ppi


@pytest.mark.parametrize("profile", [GENERIC, *starting_guesses().values()], ids=lambda p: p.name)
def test_the_steps_around_a_starting_setting_suit_the_machine(profile):
    runs = checked_runs(default_pairs(profile), default_speeds(profile), profile)
    start = profile.setting
    first = runs[0]
    assert (first.power_max_pct, first.speed_mm_s) == (start.power_max_pct, start.speed_mm_s)
    assert first.power_min_pct == max(start.power_min_pct, profile.machine.firing_floor_pct)
    assert len(runs) >= 4
    assert len({run.file for run in runs}) == len(runs)
    fluence = np.sort([run.power_max_pct / run.speed_mm_s for run in runs])
    assert (fluence[1:] > 1.05 * fluence[:-1]).all()


@pytest.mark.parametrize("pitch_mm", [0.05, 0.085, 0.1, 0.2, 0.3])
def test_another_pitch_starts_at_the_same_fluence(pitch_mm):
    machine = attrs.evolve(GENERIC.machine, fastest_mm_s=1000.0)
    profile = attrs.evolve(GENERIC, machine=machine)
    start = starting_at(profile, pitch_mm)
    assert start.setting.pitch_mm == pitch_mm
    assert start.fluence_j_mm2(45.0) == pytest.approx(profile.fluence_j_mm2(45.0), rel=0.02)
    assert default_pairs(start) == default_pairs(profile)
    first = checked_runs(((30.0, 10.0), (45.0, 10.0)), (start.setting.speed_mm_s, 990.0), start)[0]
    assert (first.power_max_pct, first.speed_mm_s) == (45.0, start.setting.speed_mm_s)


def test_a_pitch_told_in_pixels_per_inch_keeps_the_profiles_own_speed():
    profile = attrs.evolve(GENERIC, setting=attrs.evolve(GENERIC.setting, speed_mm_s=345.0))
    assert pitch_from_ppi(254.0) != profile.setting.pitch_mm
    assert starting_at(profile, pitch_from_ppi(254.0)).setting.speed_mm_s == 345.0


@given(st.floats(0.01, 1.0))
def test_any_pitch_starts_within_the_machines_limits(pitch_mm):
    start = starting_at(GENERIC, pitch_mm)
    assert checked_runs(default_pairs(start), default_speeds(start), start)


def test_steps_stay_within_the_limits_of_a_machine_at_its_ends():
    machine = attrs.evolve(GENERIC.machine, firing_floor_pct=55.0, fastest_mm_s=300.0)
    setting = attrs.evolve(GENERIC.setting, power_max_pct=100.0)
    profile = attrs.evolve(GENERIC, machine=machine, setting=setting)
    runs = checked_runs(default_pairs(profile), default_speeds(profile), profile)
    assert all(55.0 <= run.power_min_pct < run.power_max_pct <= 100.0 for run in runs)
    assert all(run.speed_mm_s <= 300.0 for run in runs)


@pytest.mark.parametrize(
    ("pair", "floor", "such"),
    [
        ((60.0, 59.9), 10.0, "60/57.1"),
        ((61.0, 60.0), 10.0, "61/58"),
        ((51.0, 50.0), 50.0, "52.5/50"),
    ],
)
def test_powers_that_lie_close_together_are_refused_with_a_pair_that_serves(pair, floor, such):
    machine = attrs.evolve(GENERIC.machine, firing_floor_pct=floor)
    profile = attrs.evolve(GENERIC, machine=machine)
    with pytest.raises(InputError, match=f"at least 1.05 times the least, such as {such}"):
        checked_runs((pair,), (300.0,), profile)
    wide = tuple(float(power) for power in such.split("/"))
    assert len(checked_runs((wide,), (300.0,), profile)) == 1


def test_steps_around_a_setting_span_enough_even_near_the_firing_floor():
    machine = attrs.evolve(GENERIC.machine, firing_floor_pct=36.0)
    profile = attrs.evolve(GENERIC, machine=machine)
    pairs = default_pairs(profile)
    assert pairs == ((45.0, 36.0), (58.0, 45.0))
    assert checked_runs(pairs, default_speeds(profile), profile)


@pytest.mark.parametrize("floor", [44.0, 45.0, 50.0, 60.0])
def test_a_starting_setting_below_the_firing_floor_is_lifted_above_it(floor):
    machine = attrs.evolve(GENERIC.machine, firing_floor_pct=floor)
    profile = attrs.evolve(GENERIC, machine=machine)
    runs = checked_runs(default_pairs(profile), default_speeds(profile), profile)
    assert len(runs) >= 4
    assert all(floor <= run.power_min_pct < run.power_max_pct <= 100.0 for run in runs)


@pytest.mark.parametrize(("slowest", "fastest"), [(10.0, 200.0), (400.0, 600.0), (300.0, 300.0)])
def test_a_starting_speed_beyond_the_machine_is_brought_within(slowest, fastest):
    machine = attrs.evolve(GENERIC.machine, slowest_mm_s=slowest, fastest_mm_s=fastest)
    profile = attrs.evolve(GENERIC, machine=machine)
    assert checked_runs(default_pairs(profile), default_speeds(profile), profile)


def test_settings_that_read_alike_on_the_strip_are_one():
    pairs = ((60.0, 15.0), (60.0000001, 15.0), (60.5, 15.0))
    runs = checked_runs(pairs, (300.0, 300.00000001), GENERIC)
    assert sorted(run.power_max_pct for run in runs) == pytest.approx([60.0, 60.5], abs=1e-6)


def test_the_profiles_own_setting_is_burnt_first():
    own = GENERIC.setting
    pairs = ((60.0, 15.0), (own.power_max_pct, own.power_min_pct))
    runs = checked_runs(pairs, (400.0, own.speed_mm_s), GENERIC)
    assert (runs[0].power_max_pct, runs[0].speed_mm_s) == (own.power_max_pct, own.speed_mm_s)
    assert runs[1].power_max_pct == 60.0


def test_else_the_one_that_comes_nearest_to_it_is():
    pairs = ((30.0, 12.0), (80.0, 15.0), (46.0, 12.0))
    runs = checked_runs(pairs, (600.0, GENERIC.setting.speed_mm_s), GENERIC)
    assert (runs[0].power_max_pct, runs[0].speed_mm_s) == (46.0, GENERIC.setting.speed_mm_s)
    assert [run.power_max_pct for run in runs[1:]] == [30.0, 80.0, 46.0, 30.0, 80.0]


def test_dot_gains_of_another_setting_are_not_believed():
    gains = (ScreenGains("diffusion", (Gain(0.2, 0.3), Gain(0.5, 0.7), Gain(0.9, 1.0))),)
    profile = attrs.evolve(GENERIC, gains=gains)
    own, other = checked_runs(((45.0, 10.0), (60.0, 15.0)), (300.0,), profile)
    assert profile_of_run(profile, own, 0.1).gains == gains
    assert profile_of_run(profile, own, pitch_from_ppi(254.0)).gains == gains
    assert profile_of_run(profile, own, 0.0847).gains == ()
    assert profile_of_run(profile, other, 0.1).gains == ()


def test_the_recipes_screen_is_measured_too():
    assert default_screens(Recipe()) == ("diffusion", "mixed")
    assert default_screens(Recipe().changed(screen__kind="clustered"))[-1] == "clustered"
    assert default_screens(Recipe().changed(screen__kind="threshold")) == ("diffusion", "mixed")


def test_the_face_is_found():
    """The face of scikit-image's astronaut lies at columns 180 to 270, rows 60 to 180 of 512."""
    left, top, right, bottom = np.array(
        default_crop(skimage.data.astronaut().astype(np.float32) / 255.0)
    )
    assert left < 180 / 512
    assert right > 270 / 512
    assert top < 60 / 512
    assert bottom > 180 / 512
    assert (right - left) * (bottom - top) < 0.25


def test_without_skin_the_crop_goes_where_the_middle_tones_are():
    rng = np.random.default_rng(5)
    picture = np.full((300, 400, 3), 0.02, np.float32)
    picture[120:260, 220:360] = rng.uniform(0.3, 0.7, (140, 140, 1))
    left, _, right, bottom = default_crop(picture)
    assert left * 400 < 230
    assert right * 400 > 350
    assert bottom * 300 > 250


@pytest.mark.parametrize("shape", [(40, 40), (1, 400), (400, 1), (30, 300), (3, 3)])
def test_a_crop_is_found_in_any_photo(shape):
    picture = np.zeros((*shape, 3), np.float32)
    left, top, right, bottom = default_crop(picture)
    assert 0.0 <= left < right <= 1.0
    assert 0.0 <= top < bottom <= 1.0
    checked_crop((left, top, right, bottom))
    assert 0.5 <= crop_aspect((left, top, right, bottom), *shape) <= 2.0
