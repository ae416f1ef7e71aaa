"""A veil of light over the strip: found where the light falls off, taken off bare glass, told."""

import numpy as np
import pytest

from engine.strip.read import read_photo
from engine.strip.refuse import Refusal
from engine.strip.veil import Veil
from shared.strip import Strip
from tests import bad_photos as bad
from tests.virtual_camera import photograph
from tests.virtual_sheet import SHEETS, Burnt
from tests.virtual_strip import burnt_strip, hand_strip, told

Piece = tuple[Strip, Burnt]


@pytest.fixture(scope="module")
def piece() -> Piece:
    strip = hand_strip("fine")
    return strip, burnt_strip(strip, SHEETS["fine"])


@pytest.mark.parametrize("veil", [0.02, 0.04, 0.08])
def test_a_veil_is_taken_off_bare_glass(piece: Piece, veil: float) -> None:
    strip, burnt = piece
    good = photograph(burnt, seed=1)
    clear, hazy = read_photo(good, strip), read_photo(bad.veiled(good, veil), strip)
    assert clear.veil == 0.0
    assert not told(clear)
    assert hazy.bare_over_solid == pytest.approx(clear.bare_over_solid, abs=0.008)
    assert hazy.veil > 0.0
    assert "taken off" in hazy.warnings[0]


def test_in_even_light_pale_glass_is_only_told_of(piece: Piece) -> None:
    strip, burnt = piece
    reading = read_photo(bad.veiled(photograph(burnt, falloff=0.0), 0.15), strip)
    assert reading.veil == 0.0
    assert reading.bare_over_solid > 0.15
    assert "photograph it again" in reading.warnings[0]


def test_glass_that_is_pale_of_itself_is_no_haze() -> None:
    strip = hand_strip("weak")
    reading = read_photo(photograph(burnt_strip(strip, SHEETS["weak"])), strip)
    assert reading.bare_over_solid > 0.15
    assert not told(reading)


def test_a_veil_counts_when_it_is_sure_and_matters() -> None:
    assert Veil(0.02, 0.001).taken_off(0.04) == 0.02
    assert Veil(0.02, 0.01).taken_off(0.04) == 0.0
    assert Veil(0.002, 0.0001).taken_off(0.04) == 0.0
    assert Veil(-0.02, 0.001).taken_off(0.04) == 0.0
    assert Veil(0.0, 0.001).known(0.04)
    assert not Veil().known(0.04)


def with_pale_side(photo: bad.Photo, light: float) -> bad.Photo:
    """A pale wall mirrored ever more towards the right."""
    rise = np.linspace(0.0, light, photo.shape[1])[None, :, None]
    return bad.encoded(bad.linear(photo) + rise)


def test_a_wide_reflection_on_one_side_is_warned_of_or_refused(piece: Piece) -> None:
    strip, burnt = piece
    good = photograph(burnt, seed=1)
    assert not told(read_photo(good, strip))
    warned = read_photo(with_pale_side(good, 0.025), strip)
    assert any("not stand in the same light" in warning for warning in warned.warnings)
    with pytest.raises(Refusal) as refused:
        read_photo(with_pale_side(good, 0.2), strip)
    assert refused.value.reason == "glare"
