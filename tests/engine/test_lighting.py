"""Lit edges and the window."""

import numpy as np
import pytest

from engine.colour import LUMINANCE, srgb_decode
from engine.lighting import (
    EdgeLight,
    against_window,
    brightest,
    edge_flux,
    edge_lit,
    seen_through,
    sides_of,
)

BARE = np.zeros((50, 80), np.float32)


def _light(*sides: str, green: bool = False) -> EdgeLight:
    return EdgeLight(tuple(sides), 3.0, green)  # type: ignore[arg-type]


@pytest.mark.parametrize("side", ["left", "right", "top", "bottom"])
def test_light_decays_from_the_lit_side(side: str) -> None:
    flux = edge_flux(np.full_like(BARE, 0.5), 1.0, _light(side))[:, :, 1]
    axis = 1 if side in ("left", "right") else 0
    falls = np.diff(flux, axis=axis)
    assert np.all(falls < 0.0) if side in ("left", "top") else np.all(falls > 0.0)


def test_frost_takes_light_from_what_lies_behind_it() -> None:
    frost = BARE.copy()
    frost[20:30, 10:40] = 1.0
    flux = edge_flux(frost, 1.0, _light("left"))[:, :, 1]
    assert flux[25, 70] < flux[5, 70] * 0.6


def test_ordinary_glass_turns_light_green_and_low_iron_hardly() -> None:
    green, white = (edge_flux(BARE, 2.0, _light("left", green=g))[25, -1] for g in (True, False))
    assert green[1] > 2.0 * green[0]
    assert white[1] < 1.5 * white[0]


def test_light_from_two_sides_adds_up() -> None:
    left, right = (edge_flux(BARE, 1.0, _light(side)) for side in ("left", "right"))
    both = edge_flux(BARE, 1.0, _light("left", "right"))
    np.testing.assert_allclose(both, left + right, rtol=1e-6)


def test_bare_glass_stays_dark_and_frost_glows() -> None:
    frost = BARE.copy()
    frost[20:30, 10:20] = 1.0
    flux = edge_flux(frost, 1.0, _light("left"))
    shown = edge_lit(frost, flux, brightest(frost, flux))
    assert shown[5, 5].max() < 30
    assert shown[25, 11].max() > 200


def test_unlit_glass_is_dark() -> None:
    frost = np.ones_like(BARE)
    flux = edge_flux(frost, 1.0, _light())
    assert edge_lit(frost, flux, brightest(frost, flux)).max() < 30


def test_frost_is_dark_before_a_window() -> None:
    shown = against_window(np.array([[0.0, 0.5, 1.0]], np.float32), 0.15)[0]
    assert shown[0] > shown[1] > shown[2] > 0


def test_sides_by_name() -> None:
    assert sides_of(True, False, False, True) == ("left", "bottom")


@pytest.mark.parametrize("green", [True, False])
def test_a_sheet_tints_what_is_seen_through_it_and_keeps_its_lightness(green: bool) -> None:
    codes = seen_through(3.0, green)
    assert codes.shape == (256, 3)
    grey = np.repeat(np.arange(256)[:, None], 3, axis=1)
    light, kept = (srgb_decode(c / 255.0) @ np.array(LUMINANCE) for c in (codes, grey))
    np.testing.assert_allclose(light[:248], kept[:248], atol=4e-3)
    red, green_code, blue = codes[200].astype(int)
    assert red < blue <= green_code
    assert green_code - red <= 12
    thick = seen_through(10.0, green)[200].astype(int)
    assert thick[0] < red


def test_ordinary_glass_tints_as_its_transmission_says() -> None:
    """Of two thicknesses of 3 mm; absorption from Rubin 1985, as for the edge-lit view."""
    codes = seen_through(3.0, True)[200]
    light = srgb_decode(codes / 255.0)
    assert light[0] / light[1] == pytest.approx(np.exp(-6.0 * (0.01622 - 0.00503)), abs=0.01)
