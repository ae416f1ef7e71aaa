"""What the check of a finished piece tells is true: of photos that are soft, small or stand before
a white wall, of dark portraits, and of what refining does."""

import attrs
import numpy as np
import pytest

from engine import burning, glass
from engine.linearise import tone_curve
from engine.strip.check import check_piece
from engine.strip.check_refine import refined
from engine.strip.check_softness import softness_mm
from engine.strip.fit import fit_profile
from shared.errors import InputError, PhotoError
from shared.recipe import Screen
from tests import bad_photos as bad
from tests.engine.test_strip_check import ENDS, PITCH, planned, shot
from tests.strip_parts import TRUE, measured_on, strip_of


def off_by_tone(check):
    """L* by which each tone is told to have come out wrongly."""
    expected, found = np.array(check.expected), np.array(check.found)
    return glass.lightness_of_mark(found, ENDS) - glass.lightness_of_mark(expected, ENDS)


@pytest.mark.parametrize("words", [{"blur_px": 3.0}, {"blur_px": 5.0}, {"px_per_mm": 3.0}])
def test_a_soft_or_small_photo_does_not_make_the_profile_wrong(words) -> None:
    _, frost = planned()
    check = check_piece(shot(frost, **words), frost, ENDS, PITCH)
    assert not check.offers
    assert check.by_tone < 0.4
    assert check.mean < 0.8


@pytest.mark.parametrize("sigma_mm", [0.1, 0.3, 0.6])
@pytest.mark.parametrize("power", [1.0, 0.7])
def test_the_softness_of_a_photo_is_found_whatever_its_tones(sigma_mm, power) -> None:
    _, frost = planned()
    columns = frost.shape[1]
    taken = burning.blur_mm(frost**power, sigma_mm, PITCH)
    taken *= np.linspace(0.6, 1.0, columns, dtype=np.float32)
    taken[:, : columns // 5] = np.nan
    found = softness_mm(taken, frost, np.isfinite(taken), PITCH)
    assert found == pytest.approx(sigma_mm, rel=0.1, abs=0.01)


def test_what_lies_around_the_piece_does_not_move_it() -> None:
    _, frost = planned()
    photos = (shot(frost, surround_y=y, saturation_y=0.85) for y in (0.006, 0.8))
    on_black, on_white = (check_piece(photo, frost, ENDS, PITCH) for photo in photos)
    assert on_white.mean < 1.1 * on_black.mean


def test_the_tones_of_a_small_light_face_on_a_dark_ground_are_told_rightly() -> None:
    _, frost = planned()
    rows, columns = frost.shape
    y, x = np.mgrid[0:rows, 0:columns]
    near = np.hypot(y / rows - 0.4, x / columns - 0.5)
    dark = frost * np.clip(1.8 - 9.0 * near, 0.02, 1.0).astype(np.float32)
    right = check_piece(shot(dark), dark, ENDS, PITCH)
    assert np.abs(off_by_tone(right)).max() < 1.0


def test_refining_what_is_right_again_and_again_leaves_it_right() -> None:
    _, frost = planned()
    check = check_piece(shot(frost), frost, ENDS, PITCH)
    strip = strip_of()
    profile = fit_profile(strip, measured_on(strip, TRUE), 0).profile
    screen, seen = Screen(kind="diffusion"), glass.ends(profile.light, 0.01, "light")
    again = profile
    for _ in range(3):
        again = refined(again, screen, PITCH, check)
    before, after = (
        glass.lightness_of_mark(tone_curve(p, screen, PITCH).frost, seen) for p in (profile, again)
    )
    assert np.abs(after - before).mean() < 0.6


def test_a_screen_of_dots_without_measured_dot_gain_is_given_its_own() -> None:
    _, frost = planned()
    check = check_piece(shot(frost**1.5), frost, ENDS, PITCH)
    strip = strip_of()
    profile = attrs.evolve(fit_profile(strip, measured_on(strip, TRUE), 0).profile, gains=())
    screen = Screen(kind="diffusion")
    mended = refined(profile, screen, PITCH, check)
    assert mended.knots == profile.knots
    before, after = (tone_curve(p, screen, PITCH).frost for p in (profile, mended))
    off = [np.abs(curve - before**1.5).mean() for curve in (before, after)]
    assert off[1] < 0.3 * off[0]


def test_a_piece_without_middle_tones_refines_nothing() -> None:
    _, frost = planned()
    check = check_piece(shot(frost), frost, ENDS, PITCH)
    strip = strip_of()
    profile = fit_profile(strip, measured_on(strip, TRUE), 0).profile
    few = attrs.evolve(check, expected=(), found=(), scatter=())
    for screen, shown in (("threshold", check), ("diffusion", few)):
        with pytest.raises(InputError, match="too few tones"):
            refined(profile, Screen(kind=screen), PITCH, shown)


@pytest.mark.parametrize(
    "spoilt",
    [
        lambda photo: bad.with_spot(photo, 0.6, 0.4, 130, 0.04),
        lambda photo: bad.with_spot(photo, 0.4, 0.6, 60, 0.25),
    ],
)
def test_a_reflection_is_not_taken_for_a_wrong_profile(spoilt) -> None:
    _, frost = planned()
    check = check_piece(spoilt(shot(frost)), frost, ENDS, PITCH)
    assert check.of_places
    assert not check.offers
    assert "go with the place" in check.sentence


def test_a_reflection_on_a_wrong_curve_is_not_blamed_on_uneven_light_alone() -> None:
    _, frost = planned()
    with pytest.raises(PhotoError, match="without reflections, on dull black"):
        check_piece(bad.with_spot(shot(frost**1.5), 0.5, 0.5, 50, 0.15), frost, ENDS, PITCH)


def test_a_part_that_was_not_burnt_is_not_taken_for_a_wrong_profile() -> None:
    _, frost = planned()
    rows, columns = frost.shape
    unburnt = frost.copy()
    unburnt[: rows // 6, columns // 2 :] = 0.0
    check = check_piece(shot(unburnt), frost, ENDS, PITCH)
    assert check.of_places
    assert not check.offers
    assert "was not burnt" in check.sentence


@pytest.mark.parametrize("words", [{"falloff": 0.5}, {"k1": -0.03}, {"px_per_mm": 4.0}])
def test_a_wrong_profile_is_told_in_any_usual_light_and_through_any_lens(words) -> None:
    _, frost = planned()
    check = check_piece(shot(frost**1.5, **words), frost, ENDS, PITCH)
    assert check.offers
    assert not check.of_places


def test_a_piece_that_is_half_there_is_not_blamed_on_the_light_alone() -> None:
    _, frost = planned()
    half = frost.copy()
    half[int(0.65 * len(frost)) :] = 0.0
    with pytest.raises(PhotoError, match="was not burnt"):
        check_piece(shot(half), frost, ENDS, PITCH)
