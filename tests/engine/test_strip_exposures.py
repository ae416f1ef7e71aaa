"""The camera's tones measured with two exposures of one strip."""

from collections.abc import Callable

import numpy as np
import pytest

from engine.strip.exposures import CameraTones, Darker, check_share, tones_from
from engine.strip.make import Plan
from engine.strip.read import read_photo
from engine.strip.read_result import Reading
from engine.strip.refuse import REASONS, Refusal
from shared.strip import Strip
from tests import bad_photos as bad
from tests import strip_loop
from tests.virtual_camera import photograph
from tests.virtual_sheet import SHEETS, Burnt

Piece = tuple[Strip, Burnt]
Style = Callable[[bad.Photo], bad.Photo]
SHARE = 0.5


def darkened(photo: bad.Photo) -> bad.Photo:
    return bad.powered(photo, 1.25)


def contrasty(photo: bad.Photo) -> bad.Photo:
    return bad.styled(photo, 0.45)


@pytest.fixture(scope="module")
def piece() -> Piece:
    plan = Plan(((52.0, 16.0),), (350.0,), ("diffusion",), (110.0, 110.0))
    return strip_loop.piece(plan, SHEETS["fine"])


@pytest.fixture(scope="module")
def good(piece: Piece) -> bad.Photo:
    return photograph(piece[1], seed=1)


@pytest.fixture(scope="module")
def darker(piece: Piece) -> bad.Photo:
    """Held a little otherwise."""
    return photograph(piece[1], seed=2, exposure=SHARE, tilt_deg=(8.0, -8.0))


@pytest.fixture(scope="module")
def straight(piece: Piece, good: bad.Photo) -> Reading:
    return read_photo(good, piece[0])


@pytest.mark.parametrize("style", [bad.powered, darkened, contrasty, bad.shouldered])
def test_any_style_is_taken_off(
    piece: Piece, good: bad.Photo, darker: bad.Photo, straight: Reading, style: Style
) -> None:
    reading = read_photo(style(good), piece[0], darker=Darker(style(darker), SHARE))
    assert reading.bend_l is not None
    assert reading.bend_l > 4.0
    assert np.nanmean(np.abs(reading.frost() - straight.frost())) < 0.006
    assert reading.bare_over_solid == pytest.approx(straight.bare_over_solid, abs=0.006)
    assert not reading.warnings
    assert any("measured with the second photo" in note for note in reading.notes)


def test_plain_tones_stay(
    piece: Piece, good: bad.Photo, darker: bad.Photo, straight: Reading
) -> None:
    reading = read_photo(good, piece[0], darker=Darker(darker, SHARE))
    assert reading.bend_l is not None
    assert reading.bend_l < 1.0
    assert np.nanmean(np.abs(reading.frost() - straight.frost())) < 0.004


def test_one_photo_alone_tells_of_no_bend(straight: Reading) -> None:
    assert straight.bend_l is None
    assert "second, darker photo" in straight.warnings[0]


def test_even_light_does_no_harm(piece: Piece) -> None:
    photos = [photograph(piece[1], falloff=0.0, exposure=share) for share in (1.0, SHARE)]
    plain = read_photo(photos[0], piece[0])
    second = Darker(contrasty(photos[1]), SHARE)
    reading = read_photo(contrasty(photos[0]), piece[0], darker=second)
    assert np.nanmean(np.abs(reading.frost() - plain.frost())) < 0.008


def test_light_that_moved_between_them_does_no_harm(
    piece: Piece, good: bad.Photo, straight: Reading
) -> None:
    other = photograph(piece[1], seed=2, exposure=SHARE, light_from_deg=80.0)
    second = Darker(bad.powered(other), SHARE)
    reading = read_photo(bad.powered(good), piece[0], darker=second)
    assert np.nanmean(np.abs(reading.frost() - straight.frost())) < 0.008


def refusal(piece: Piece, photo: bad.Photo, second: bad.Photo, share: float = SHARE) -> Refusal:
    with pytest.raises(Refusal) as refused:
        read_photo(photo, piece[0], darker=Darker(second, share))
    return refused.value


@pytest.mark.parametrize("share", [0.2, 0.9, 1.0, 2.0, 0.01])
def test_one_that_is_not_about_a_stop_darker_is_refused(
    piece: Piece, good: bad.Photo, darker: bad.Photo, share: float
) -> None:
    assert refusal(piece, good, darker, share).reason == "not_darker"


@pytest.mark.parametrize(
    ("share", "words"), [(1.0, "as light as the first"), (2.0, "1.0 stops lighter"),
                         (0.125, "3.0 stops darker")],
)  # fmt: skip
def test_it_is_said_how_it_is_exposed(share: float, words: str) -> None:
    with pytest.raises(Refusal, match=words):
        check_share(share)


def test_the_same_photo_twice_is_refused(piece: Piece, good: bad.Photo) -> None:
    assert refusal(piece, good, good).reason == "unlike"


def test_a_first_photo_that_is_burnt_out_says_so(
    piece: Piece, good: bad.Photo, darker: bad.Photo
) -> None:
    burnt_out = bad.encoded(2.0 * bad.linear(good))
    assert refusal(piece, burnt_out, darker, 0.4).reason == "clipped"


def test_a_style_in_one_of_them_is_refused(
    piece: Piece, good: bad.Photo, darker: bad.Photo
) -> None:
    assert refusal(piece, good, contrasty(darker)).reason == "unlike"


def test_a_second_photo_of_something_else_says_so(piece: Piece, good: bad.Photo) -> None:
    found = refusal(piece, good, np.full((400, 400, 3), 60, np.uint8))
    assert found.reason in REASONS
    assert str(found).startswith("The second photo: ")


def test_a_second_photo_of_another_kind_of_array_is_an_error(piece: Piece, good: bad.Photo) -> None:
    with pytest.raises(ValueError, match="not a photo"):
        read_photo(good, piece[0], darker=Darker(np.zeros((9, 9)), SHARE))


def test_tones_keep_their_order_whatever_was_found() -> None:
    wild = CameraTones(np.array([-0.9, 0.4, -0.6, 0.5, 0.3, -0.4, 0.2, 0.0, 0.0]), 0.05, 0.9)
    light = wild.light(np.linspace(0.0, 1.0, 400))
    assert (np.diff(light) >= 0.0).all()
    assert light.min() >= 0.0
    assert light.max() <= 1.0


def test_the_lightest_tone_keeps_its_light() -> None:
    light, x = np.geomspace(0.02, 0.9, 60), np.arange(60.0)
    tones = tones_from(np.stack([light**0.5, (SHARE * light) ** 0.5]), x, x[::-1] ** 2, SHARE)
    kept = ((tones.high + 0.055) / 1.055) ** 2.4
    assert tones.light(tones.high) == pytest.approx(kept, rel=1e-6)
