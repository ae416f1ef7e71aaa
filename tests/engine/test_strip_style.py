"""A camera's picture style found by patches burnt alike in unlike light, and taken off."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.progress import unheard
from engine.strip.find import find_strip
from engine.strip.make import Plan
from engine.strip.read import read_photo
from engine.strip.read_patches import light_of, measure
from engine.strip.rectify import encoded_grey, shot
from engine.strip.refuse import Refusal
from engine.strip.style import Style, style_of
from engine.strip.style_curve import plain
from shared.strip import Strip
from tests import bad_photos as bad
from tests import strip_loop
from tests.virtual_camera import photograph
from tests.virtual_sheet import SHEETS, Burnt

Piece = tuple[Strip, Burnt]


@pytest.fixture(scope="module")
def piece() -> Piece:
    """Many patches alike, as on any strip that Rimetype lays out, and a run too weak to frost."""
    plan = Plan(((52.0, 16.0), (12.0, 11.0)), (350.0,), ("diffusion",), (110.0, 120.0))
    return strip_loop.piece(plan, SHEETS["fine"])


@pytest.fixture(scope="module")
def good(piece: Piece) -> bad.Photo:
    return photograph(piece[1], seed=1)


def found(strip: Strip, photo: bad.Photo) -> Style:
    taken = shot(photo, find_strip(encoded_grey(photo), strip, unheard))
    fields = measure(taken, strip.patches)
    return style_of(strip, fields, light_of(taken, strip, fields, unheard)[1])


@given(st.floats(0.0, 1.0), st.floats(-0.9, 0.9))
def test_a_curve_is_taken_off_as_it_was_laid_on(value: float, strength: float) -> None:
    seen = value - strength * np.sin(2.0 * np.pi * value) / (2.0 * np.pi)
    assert plain(seen, strength) == pytest.approx(value, abs=2e-3)


@given(st.lists(st.floats(0.0, 1.0), min_size=2, max_size=9), st.floats(-0.9, 0.9))
def test_tones_keep_their_order(values: list[float], strength: float) -> None:
    assert (np.diff(plain(np.sort(values), strength)) >= 0.0).all()


@pytest.mark.parametrize("strength", [-0.2, 0.1, 0.2, 0.3])
def test_its_strength_is_found(piece: Piece, good: bad.Photo, strength: float) -> None:
    style = found(piece[0], bad.styled(good, strength))
    assert style.found
    assert style.strength == pytest.approx(strength, abs=0.04)


def test_patches_that_flaked_count_little() -> None:
    """By where the patches lie, their style is found 0.01 to 0.07 too strong (fourteen strips)."""
    plan = Plan(((52.0, 16.0),), (150.0, 350.0), ("diffusion",), (110.0, 120.0))
    strip, burnt = strip_loop.piece(plan, SHEETS["coarse"])
    photo = photograph(burnt, seed=1)
    fields = measure(shot(photo, find_strip(encoded_grey(photo), strip, unheard)), strip.patches)
    solids = [n for n, patch in enumerate(strip.patches) if patch.kind == "solid"]
    doubt = np.array([fields[n].error / fields[n].level for n in solids])
    flaked = np.array([strip.runs[strip.patches[n].run].speed_mm_s == 150.0 for n in solids])
    assert np.median(doubt[flaked]) > 4.0 * np.median(doubt[~flaked])
    assert found(strip, bad.styled(photo, 0.25)).strength == pytest.approx(0.25, abs=0.08)


def test_plain_tones_have_none(piece: Piece, good: bad.Photo) -> None:
    assert not found(piece[0], good).found
    assert read_photo(good, piece[0]).style == 0.0


def test_even_light_tells_of_none(piece: Piece) -> None:
    photo = bad.styled(photograph(piece[1], falloff=0.0), 0.3)
    assert not found(piece[0], photo).found


def test_a_dark_photo_tells_of_none(piece: Piece) -> None:
    """Its tones all lie in the foot of the curve, where it is straight."""
    assert not found(piece[0], photograph(piece[1], saturation_y=1.6)).found


def test_what_is_read_is_what_plain_tones_give(piece: Piece, good: bad.Photo) -> None:
    strip = piece[0]
    photo = bad.styled(good, 0.25)
    reading = read_photo(photo, strip)
    straight = read_photo(good, strip)
    assert np.nanmean(np.abs(reading.frost() - straight.frost())) < 0.006
    assert reading.style == pytest.approx(0.25, abs=0.04)
    assert any("picture style" in warning for warning in reading.warnings)


@pytest.mark.parametrize("strength", [0.45, 0.8])
def test_a_strong_one_is_refused(piece: Piece, good: bad.Photo, strength: float) -> None:
    with pytest.raises(Refusal) as refused:
        read_photo(bad.styled(good, strength), piece[0])
    assert refused.value.reason == "styled"


@pytest.mark.parametrize(
    ("falloff", "strength", "words"),
    [
        (0.4, 0.0, "taken as plain sRGB"),
        (0.15, 0.0, "taken as plain sRGB"),
        (0.0, 0.25, "taken as plain sRGB"),
        (0.2, 0.13, "seems to bend"),
        (0.4, 0.25, "was taken off"),
    ],
)
def test_one_photo_alone_tells_what_is_known_of_it(
    piece: Piece, falloff: float, strength: float, words: str
) -> None:
    photo = bad.styled(photograph(piece[1], falloff=falloff, seed=4), strength)
    (warning,) = read_photo(photo, piece[0]).warnings
    assert words in warning
    assert warning.endswith(("measures it.", "measures them.", "measures all of it."))
