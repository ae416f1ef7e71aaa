"""A finished piece held against its proof, on a virtual sheet and by a virtual camera."""

from functools import lru_cache

import attrs
import numpy as np
import pytest

from engine import glass
from engine.plate_bitmap import burn, for_machine
from engine.response import frost_of_fluence
from engine.strip.check import check_piece
from engine.strip.check_refine import refined
from engine.strip.exposures import Darker
from engine.strip.fit import fit_profile
from engine.strip.refuse import Refusal
from shared.errors import Cancelled, InputError, PhotoError
from shared.profile import GENERIC
from shared.recipe import Screen
from tests import bad_photos as bad
from tests import virtual_camera
from tests.strip_loop import photo, recipe_for
from tests.strip_parts import TRUE, measured_on, strip_of
from tests.virtual_sheet import Burnt

PITCH = 0.1
SIZE = (50.0, 60.0)
ENDS = glass.ends(GENERIC.light, 0.01, "light")


@lru_cache(maxsize=2)
def planned():
    """A plate and the frost that it should leave, rows x columns."""
    found = burn(photo("portrait"), recipe_for("continuous", SIZE), GENERIC)
    return found, found.frost(GENERIC)


def piece(frost, grain=0.02):
    """A burnt piece as the camera sees it: two points to a pixel."""
    noise = 1.0 + grain * np.random.default_rng(4).standard_normal(frost.shape)
    light = ENDS.unmarked + (ENDS.marked - ENDS.unmarked) * frost * noise
    fine = np.repeat(np.repeat(light, 2, axis=0), 2, axis=1).astype(np.float32)
    return Burnt(fine, 2, PITCH)


def shot(frost, **words):
    return virtual_camera.photograph(piece(frost), **{"px_per_mm": 8.0, **words})


def test_a_piece_like_its_proof_differs_by_grain_alone() -> None:
    _, frost = planned()
    check = check_piece(shot(frost), frost, ENDS, PITCH)
    assert check.mean < 0.8
    assert abs(check.worst) < 5.0
    assert not check.offers
    assert "on average" in check.sentence
    assert np.isfinite(check.difference).mean() > 0.8


@pytest.mark.parametrize(
    "words",
    [
        {"tilt_deg": (-12.0, 9.0), "turn_deg": -8.0},
        {"turn_deg": 95.0, "light_from_deg": 200.0, "px_per_mm": 6.0},
    ],
)
def test_it_is_found_however_it_lies(words) -> None:
    _, frost = planned()
    check = check_piece(shot(frost, **words), frost, ENDS, PITCH)
    assert check.mean < 1.0


def test_a_scratch_is_found_where_it_is() -> None:
    _, frost = planned()
    spoilt = frost.copy()
    rows, columns = slice(300, 340), slice(180, 240)
    before = float(frost[rows, columns].mean())
    spoilt[rows, columns] = 1.0 if before < 0.5 else 0.0
    check = check_piece(shot(spoilt), frost, ENDS, PITCH)
    x, y = check.worst_at_mm
    assert 17.0 < x < 25.0
    assert 29.0 < y < 35.0
    assert (check.worst > 8.0) == (before < 0.5)


def test_a_wrong_curve_is_seen_and_mended() -> None:
    _, frost = planned()
    burnt = frost**1.5
    check = check_piece(shot(burnt), frost, ENDS, PITCH)
    assert check.offers
    assert "refining" in check.sentence
    used = attrs.evolve(check, used=True)
    assert not used.offers
    assert "refining" not in used.sentence
    strip = strip_of()
    profile = fit_profile(strip, measured_on(strip, TRUE), 0).profile
    mended = refined(profile, Screen(kind="continuous"), PITCH, check)
    fluence = np.linspace(0.2, 0.8, 50)
    true = frost_of_fluence(fluence, profile) ** 1.5
    before = np.abs(frost_of_fluence(fluence, profile) - true).mean()
    after = np.abs(frost_of_fluence(fluence, mended) - true).mean()
    assert after < 0.5 * before
    assert "Refined" in mended.note
    gains = refined(profile, Screen(kind="diffusion"), PITCH, check).gains_of("diffusion")
    assert gains != profile.gains_of("diffusion")
    assert [g.drive for g in gains] == [g.drive for g in profile.gains_of("diffusion")]


@pytest.mark.parametrize(("strength", "word"), [(0.45, "too faint"), (1.0, "cannot tell")])
def test_a_piece_that_is_faint_as_a_whole_is_told_of(strength: float, word: str) -> None:
    _, frost = planned()
    check = check_piece(shot(strength * frost), frost, ENDS, PITCH)
    assert check.contrast == pytest.approx(strength, rel=0.3)
    assert word in check.sentence


def test_what_cannot_be_checked_is_refused() -> None:
    found, frost = planned()
    other = shot(np.roll(frost[::-1], 200, axis=1) ** 3)
    with pytest.raises(PhotoError, match="does not show this plate"):
        check_piece(other, frost, ENDS, PITCH)
    with pytest.raises(PhotoError, match="etched side"):
        check_piece(shot(frost, etched_side=True), frost, ENDS, PITCH)
    with pytest.raises(PhotoError, match="burnt out"):
        check_piece(shot(frost, saturation_y=0.12), frost, ENDS, PITCH)
    with pytest.raises(InputError, match="hardly any tones"):
        check_piece(shot(frost), np.full_like(frost, 0.5), ENDS, PITCH)
    check = check_piece(shot(frost), frost, ENDS, PITCH)
    with pytest.raises(InputError, match="measured"):
        refined(attrs.evolve(GENERIC, knots=()), Screen(kind="continuous"), PITCH, check)
    assert for_machine(found.dots, found.recipe.plate).shape == frost.shape


def test_a_second_photo_tells_a_picture_style_from_a_wrong_curve() -> None:
    _, frost = planned()
    photo = bad.powered(shot(frost))
    alone = check_piece(photo, frost, ENDS, PITCH)
    assert alone.offers
    assert "one stop darker" in alone.sentence
    second = Darker(bad.powered(shot(frost, exposure=0.5, seed=5, tilt_deg=(8.0, -4.0))), 0.5)
    both = check_piece(photo, frost, ENDS, PITCH, second)
    assert not both.offers
    assert both.mean < 0.8
    assert both.contrast == pytest.approx(1.0, rel=0.1)
    assert "style" not in both.sentence


def test_a_wrong_curve_is_seen_with_a_second_photo_too() -> None:
    _, frost = planned()
    second = Darker(shot(frost**1.5, exposure=0.5, seed=5), 0.5)
    both = check_piece(shot(frost**1.5), frost, ENDS, PITCH, second)
    assert both.offers
    assert "style" not in both.sentence


def test_a_second_photo_that_does_not_fit_is_refused() -> None:
    _, frost = planned()
    photo = shot(frost)
    for share, reason in ((0.5, "unlike"), (1.0, "not_darker")):
        with pytest.raises(Refusal) as refused:
            check_piece(photo, frost, ENDS, PITCH, Darker(photo, share))
        assert refused.value.reason == reason
    other = Darker(shot(np.roll(frost[::-1], 200, axis=1) ** 3), 0.5)
    with pytest.raises(PhotoError, match="does not show this plate"):
        check_piece(photo, frost, ENDS, PITCH, other)


@pytest.mark.parametrize("with_second", [False, True])
def test_it_tells_how_far_it_has_come(with_second) -> None:
    _, frost = planned()
    second = Darker(shot(frost, exposure=0.5, seed=5), 0.5) if with_second else None
    shares: list[float] = []
    check_piece(shot(frost), frost, ENDS, PITCH, second, shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert np.diff([0.0, *shares]).max() < 0.15


@pytest.mark.parametrize("at", [0.1, 0.5, 0.7, 0.9])
def test_it_can_be_stopped(at: float) -> None:
    def stop(share: float) -> None:
        if share >= at:
            raise Cancelled

    found, frost = planned()
    with pytest.raises(Cancelled):
        check_piece(shot(frost), frost, ENDS, PITCH, progress=stop)
    with pytest.raises(Cancelled):
        found.frost(GENERIC, stop)


def test_a_photo_that_does_not_fit_can_be_stopped_too() -> None:
    _, frost = planned()
    shares: list[float] = []
    with pytest.raises(PhotoError, match="etched side"):
        check_piece(shot(frost, etched_side=True), frost, ENDS, PITCH, progress=shares.append)
    assert shares == sorted(shares)
    assert shares.count(shares[-1]) > 5
