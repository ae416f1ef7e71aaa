"""Ten ways to grey: what all of them keep to, and what each is for."""

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from engine import blend, colour, grey
from shared.operators import Grey

METHODS = [option.value for option in attrs.fields(Grey).method.metadata["info"].options]
KEEPS_NEUTRALS = [name for name in METHODS if name not in ("lightness", "layered")]
WEIGHT = st.floats(-1.0, 2.0)


def _picture(rows: int = 60, columns: int = 80, seed: int = 3) -> NDArray[np.float32]:
    """Soft blobs of colour with both ends in it."""
    coarse = np.random.default_rng(seed).random((6, 8, 3))
    fine = coarse.repeat(rows // 6, axis=0).repeat(columns // 8, axis=1)
    fine += np.random.default_rng(seed + 1).normal(0.0, 0.05, fine.shape)
    return np.clip(fine, 0.0, 1.0).astype(np.float32)


def _neutrals() -> NDArray[np.float32]:
    ramp = np.linspace(0.0, 1.0, 256, dtype=np.float32)
    return np.repeat(ramp[None, :, None], 3, axis=2)


@pytest.mark.parametrize("method", METHODS)
def test_grey_lies_between_bare_and_full_and_the_photo_is_not_changed(method: str) -> None:
    picture = _picture()
    before = picture.copy()
    result = grey.apply(grey.resolve(Grey(method=method), picture), picture)
    assert result.shape == picture.shape[:2]
    assert result.dtype == np.float32
    assert result.min() >= 0.0
    assert result.max() <= 1.0
    assert result.std() > 0.01
    np.testing.assert_array_equal(picture, before)


@pytest.mark.parametrize("method", METHODS)
def test_the_same_photo_and_wish_give_an_equal_mix(method: str) -> None:
    wish = Grey(method=method)
    one, other = grey.resolve(wish, _picture()), grey.resolve(wish, _picture().copy())
    assert one == other
    assert hash(one) == hash(other)


@pytest.mark.parametrize("method", METHODS)
def test_every_pixel_is_by_itself(method: str) -> None:
    """Any part, any order and any size of bands give the same greys."""
    picture = _picture(600, 160)
    mix = grey.resolve(Grey(method=method), _picture())
    whole = grey.apply(mix, picture)
    np.testing.assert_allclose(
        grey.apply(mix, picture[37:121, 5:90]), whole[37:121, 5:90], atol=1e-6
    )
    flipped = np.ascontiguousarray(picture[::-1, ::-1])
    np.testing.assert_allclose(grey.apply(mix, flipped), whole[::-1, ::-1], atol=1e-6)


@pytest.mark.parametrize("method", KEEPS_NEUTRALS)
def test_neutrals_stay_as_they_are(method: str) -> None:
    mix = grey.resolve(Grey(method=method), _picture())
    np.testing.assert_allclose(grey.apply(mix, _neutrals())[0], _neutrals()[0, :, 0], atol=2e-5)


def test_lightness_of_neutrals_is_cie_lightness_and_stays_near_them() -> None:
    neutrals = _neutrals()[0, :, 0].astype(np.float64)
    found = grey.apply(grey.Mix("lightness"), _neutrals())[0]
    wanted = colour.lightness_from_luminance(colour.srgb_decode(neutrals)) / 100.0
    np.testing.assert_allclose(found, wanted, atol=1e-4)
    assert np.abs(found - neutrals).max() < 0.06


@pytest.mark.parametrize("method", METHODS)
def test_every_method_keeps_the_two_ends(method: str) -> None:
    ends = grey.apply(grey.resolve(Grey(method=method), _picture()), _neutrals())[0, [0, -1]]
    np.testing.assert_allclose(ends, [0.0, 1.0], atol=2e-5)


def test_lightness_by_table_follows_the_formula() -> None:
    picture = _picture(120, 160)
    exact = colour.lightness_from_luminance(colour.luminance(picture.astype(np.float64))) / 100.0
    np.testing.assert_allclose(grey.apply(grey.Mix("lightness"), picture), exact, atol=1e-4)


@given(WEIGHT, WEIGHT, WEIGHT)
def test_free_weights_add_up_to_one(red: float, green: float, blue: float) -> None:
    if red + green + blue < 0.1:
        return
    mix = grey.resolve(Grey(method="mix", red=red, green=green, blue=blue), _picture())
    assert sum(mix.weights) == pytest.approx(1.0, abs=1e-6)


def test_only_the_proportion_of_free_weights_counts() -> None:
    one = Grey(method="mix", red=0.5, green=0.25, blue=0.25)
    other = Grey(method="mix", red=1.0, green=0.5, blue=0.5)
    assert grey.resolve(one, _picture()) == grey.resolve(other, _picture())


def test_negative_weights_darken_and_are_clipped() -> None:
    wish = Grey(method="mix", red=1.0, green=1.0, blue=-1.0)
    colours = np.array([[[0.6, 0.6, 0.2], [0.6, 0.6, 0.9], [0.0, 0.0, 1.0]]], np.float32)
    result = grey.apply(grey.resolve(wish, colours), colours)[0]
    np.testing.assert_allclose(result, [1.0, 0.3, 0.0], atol=1e-6)


@pytest.mark.parametrize("record", grey.RECORDS)
def test_single_records_are_taken_as_they_are(record: str) -> None:
    picture = _picture()
    result = grey.apply(grey.resolve(Grey(method=record), picture), picture)
    np.testing.assert_allclose(result, picture[..., grey.RECORDS.index(record)], atol=1e-6)


@pytest.mark.parametrize("strength", [0.0, 0.3, 1.0])
def test_a_record_on_itself_is_overlay_at_its_strength(strength: float) -> None:
    picture = _picture()
    wish = Grey(method="layered", record="red", strength=strength)
    red = picture[..., 0].astype(np.float64)
    wanted = (1.0 - strength) * red + strength * blend.overlay(red, red)
    found = grey.apply(grey.resolve(wish, picture), picture)
    np.testing.assert_allclose(found, wanted, atol=1e-4)


def test_a_wish_for_one_method_ignores_the_fields_of_the_others() -> None:
    plain, busy = Grey(method="red"), Grey(method="red", blue=2.0, strength=1.0, record="blue")
    assert grey.resolve(plain, _picture()) == grey.resolve(busy, _picture())


def test_facts_of_half_black_and_half_white() -> None:
    halves = np.zeros((100, 100), np.float32)
    halves[:, 50:] = 1.0
    measured = grey.facts(halves)
    assert measured.contrast == pytest.approx(50.0)
    assert measured.clipped_dark == pytest.approx(0.5)
    assert measured.clipped_light == pytest.approx(0.5)
    assert 0.0 < measured.detail < measured.contrast / 2


def test_facts_tell_fine_detail_from_broad_contrast() -> None:
    broad = np.repeat(np.linspace(0.2, 0.8, 200, dtype=np.float32)[None], 200, axis=0)
    checks = np.indices((200, 200)).sum(axis=0) % 2
    fine = (0.5 + 0.1 * (2.0 * checks - 1.0)).astype(np.float32)
    of_broad, of_fine = grey.facts(broad), grey.facts(fine)
    assert of_broad.contrast > of_fine.contrast
    assert of_broad.detail < 1.0
    assert of_fine.detail == pytest.approx(10.0, rel=0.05)
    assert of_fine.clipped_dark == of_fine.clipped_light == 0.0


def test_facts_of_one_flat_pixel() -> None:
    measured = grey.facts(np.full((1, 1), 0.5, np.float32))
    assert measured == grey.GreyFacts(0.0, 0.0, 0.0, 0.0)
