"""Glass profiles: checked data, files there and back, starting guesses marked as such."""

import json
from typing import Any

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ProfileError
from shared.profile import (
    GENERIC,
    Gain,
    GlassProfile,
    Knot,
    Machine,
    Response,
    ScreenGains,
    Setting,
    focus_diameter_mm,
)
from shared.profile_file import dump_profile, load_profile, profile_data, starting_guesses


@st.composite
def profiles(draw: st.DrawFn) -> GlassProfile:
    share = st.floats(0.0, 1.0)
    knots = draw(st.lists(st.builds(Knot, st.floats(0.01, 3.0), share, share), max_size=8))
    points = draw(st.lists(st.builds(Gain, share, share, share), max_size=8))
    return GlassProfile(
        name=draw(st.text(max_size=40)),
        origin=draw(st.sampled_from(["starting guess", "entered by hand", "measured"])),
        machine=Machine(rated_w=draw(st.floats(1.0, 400.0)), focus=draw(st.text(max_size=40))),
        setting=Setting(power_max_pct=draw(st.floats(30.0, 100.0))),
        knots=knots,
        gains=[ScreenGains("diffusion", points)],
        spread_mm=draw(st.floats(0.0, 0.3)),
        readings=draw(st.lists(st.integers(1, 2**32 - 1), max_size=3)),
    )


@given(profiles())
def test_a_saved_profile_comes_back_the_same(profile: GlassProfile) -> None:
    assert load_profile(dump_profile(profile)) == profile


def test_what_ships_is_marked_as_a_starting_guess() -> None:
    guesses = starting_guesses()
    assert len(guesses) >= 3
    assert {profile.origin for profile in guesses.values()} == {"starting guess"}
    assert not any(profile.measured_curve for profile in guesses.values())


@pytest.mark.parametrize("profile", [GENERIC, *starting_guesses().values()])
def test_a_starting_guess_reaches_from_its_threshold_to_nearly_full_frost(
    profile: GlassProfile,
) -> None:
    least = profile.fluence_j_mm2(profile.setting.power_min_pct)
    most = profile.fluence_j_mm2(profile.setting.power_max_pct)
    assert 0.0 < least <= profile.response.threshold_j_mm2 * 1.4
    assert profile.response.middle_j_mm2 < most < profile.response.flaking_j_mm2


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"origin": "a hunch"}, "origin"),
        ({"spread_mm": -1}, "spread_mm) must lie between 0 and 2 mm"),
        ({"spread_mm": "wide"}, "must be a number"),
        ({"name": "x" * 300}, "at most 200"),
        ({"machine": {"rated_w": 0}}, "rated_w"),
        ({"machine": {"colour": 1}}, "unknown figure: colour"),
        ({"machine": 5}, "not a group"),
        ({"setting": {"power_min_pct": 50, "power_max_pct": 40}}, "least power"),
        ({"response": {"threshold_j_mm2": 2.0}}, "rise in this order"),
        ({"knots": [{"fluence_j_mm2": 1.0}]}, "lacks a figure: frost"),
        ({"knots": 7}, "not a list"),
        ({"knots": [{"fluence_j_mm2": 1.0, "frost": 0.5}] * 500}, "at most 400"),
        ({"unheard": 1}, "unknown figure"),
        ({"readings": 7}, "not a list"),
        ({"readings": ["7"]}, "whole numbers"),
    ],
)
def test_a_profile_that_cannot_be_used_says_why(change: dict[str, Any], words: str) -> None:
    document = {"rimetype": "glass profile", "version": 1, "profile": change}
    with pytest.raises(ProfileError) as refused:
        load_profile(json.dumps(document))
    assert words in str(refused.value)


@pytest.mark.parametrize("text", ["", "{}", "[" * 9999, json.dumps({"rimetype": "recipe"})])
def test_what_is_no_profile_is_refused(text: str) -> None:
    with pytest.raises(ProfileError, match="not a Rimetype glass profile"):
        load_profile(text)


def test_a_newer_profile_is_refused() -> None:
    document = {"rimetype": "glass profile", "version": 99, "profile": profile_data(GENERIC)}
    with pytest.raises(ProfileError, match="newer Rimetype"):
        load_profile(json.dumps(document))


def test_fluence_is_watts_over_speed_times_pitch() -> None:
    """30 W, 300 mm/s, 0.1 mm: 1.000 J/mm2 (worked example of the dose formula P / (v p))."""
    profile = GlassProfile(
        machine=Machine(rated_w=60.0, firing_floor_pct=12.0),
        setting=Setting(speed_mm_s=300.0, pitch_mm=0.1),
    )
    assert profile.fluence_j_mm2(50.0) == pytest.approx(1.0)
    assert profile.fluence_j_mm2(11.9) == 0.0


@pytest.mark.parametrize(
    ("focal", "beam", "quality", "diameter"),
    [(50.8, 6.0, 1.0, 0.1143), (50.8, 6.0, 1.2, 0.1371), (38.1, 10.0, 1.2, 0.0617)],
)
def test_focus_of_a_gaussian_beam(
    focal: float, beam: float, quality: float, diameter: float
) -> None:
    """d = 4 L M2 f / (pi D) at 10.6 um (ISO 11146 notation, from memory)."""
    assert focus_diameter_mm(focal, beam, quality) == pytest.approx(diameter, abs=5e-5)


def test_a_response_out_of_order_is_refused() -> None:
    with pytest.raises(ProfileError, match="order"):
        Response(threshold_j_mm2=0.5, middle_j_mm2=0.4)


def test_a_profile_cannot_be_changed_in_place() -> None:
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        GENERIC.spread_mm = 1.0  # type: ignore[misc]


def test_a_profile_of_the_first_version_opens_without_standard_errors() -> None:
    data = profile_data(GENERIC)
    del data["doubt"]
    document = {"rimetype": "glass profile", "version": 1, "profile": data}
    assert load_profile(json.dumps(document)) == GENERIC


def test_a_profile_of_the_second_version_opens_with_its_focus_unknown() -> None:
    data = profile_data(GENERIC)
    del data["machine"]["focus"]
    document = {"rimetype": "glass profile", "version": 2, "profile": data}
    assert load_profile(json.dumps(document)) == GENERIC
    assert GENERIC.machine.focus == ""
