"""The sRGB curve and CIE lightness against their standards and against other libraries."""

import cv2
import numpy as np
import pytest
import skimage.color
from colour.colorimetry import lightness_CIE1976
from colour.models import RGB_COLOURSPACE_sRGB, eotf_inverse_sRGB, eotf_sRGB
from skimage import data

from engine import colour

RAMP = np.linspace(0.0, 1.0, 4097)


def test_srgb_values_of_the_standard() -> None:
    """IEC 61966-2-1:1999; encode(0.18) as in the tests of colour-science."""
    assert float(colour.srgb_encode(0.18)) == pytest.approx(0.461356129500442, abs=1e-12)
    assert float(colour.srgb_encode(0.5)) == pytest.approx(0.7353570, abs=1e-6)
    assert float(colour.srgb_decode(128 / 255)) == pytest.approx(0.2158605, abs=1e-6)
    assert colour.srgb_encode([0.0, 1.0]) == pytest.approx([0.0, 1.0], abs=1e-12)
    assert colour.srgb_decode([0.0, 1.0]) == pytest.approx([0.0, 1.0], abs=1e-12)


def test_srgb_branches_meet_at_the_knee() -> None:
    """IEC 61966-2-1: the rounded constants leave a step of less than 1e-7."""
    for curve, knee in ((colour.srgb_decode, 0.04045), (colour.srgb_encode, 0.0031308)):
        below, above = curve(knee), curve(np.nextafter(knee, 1.0))
        assert abs(float(above - below)) < 1e-7


def test_srgb_agrees_with_colour_science() -> None:
    """colour-science, eotf_sRGB and eotf_inverse_sRGB."""
    np.testing.assert_allclose(colour.srgb_decode(RAMP), eotf_sRGB(RAMP), atol=1e-7)
    np.testing.assert_allclose(colour.srgb_encode(RAMP), eotf_inverse_sRGB(RAMP), atol=1e-7)


@pytest.mark.parametrize(
    ("luminance", "lightness"),
    [(0.18, 49.496108), (0.184187, 50.0), (0.01, 8.991442), (0.5, 76.069261), (1.0, 100.0)],
)
def test_lightness_values_of_the_formula(luminance: float, lightness: float) -> None:
    """ISO/CIE 11664-4, worked out by hand."""
    found = float(colour.lightness_from_luminance(luminance))
    assert found == pytest.approx(lightness, abs=1e-4 if lightness == 50.0 else 1e-6)


def test_lightness_value_printed_by_colour_science() -> None:
    """The docstring of lightness_CIE1976: Y = 12.19722535 of 100 has L* = 41.5278758."""
    found = float(colour.lightness_from_luminance(0.1219722535))
    assert found == pytest.approx(41.527875844653451, abs=1e-9)


def test_lightness_agrees_with_colour_science() -> None:
    """colour-science, lightness_CIE1976, which takes luminance from 0 to 100."""
    np.testing.assert_allclose(
        colour.lightness_from_luminance(RAMP), lightness_CIE1976(RAMP * 100.0), atol=1e-9
    )


def test_luminance_weights_are_the_middle_row_of_the_srgb_matrix() -> None:
    """IEC 61966-2-1, as kept by colour-science."""
    row = RGB_COLOURSPACE_sRGB.matrix_RGB_to_XYZ[1]
    np.testing.assert_allclose(colour.LUMINANCE, row, atol=1e-12)


@pytest.mark.parametrize("weights", [colour.LUMA_601, colour.LUMA_709, colour.LUMINANCE])
def test_weights_add_up_to_one(weights: tuple[float, float, float]) -> None:
    """ITU-R BT.601 and BT.709: white has a luma of 1."""
    assert sum(weights) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("name", ["astronaut", "chelsea", "coffee", "rocket"])
def test_luminance_and_lightness_of_photographs(name: str) -> None:
    """scikit-image rgb2lab and OpenCV RGB2Lab on photographs that scikit-image carries.

    Their matrices carry more digits than the rounded ones of the standard: up to 0.01 L*. OpenCV
    interpolates in a table: up to 0.2 L*.
    """
    photo = getattr(data, name)().astype(np.float32)[::2, ::2] / 255.0
    found = colour.lightness_from_luminance(colour.luminance(photo.astype(np.float64)))
    np.testing.assert_allclose(found, skimage.color.rgb2lab(photo)[..., 0], atol=0.02)
    np.testing.assert_allclose(found, cv2.cvtColor(photo, cv2.COLOR_RGB2Lab)[..., 0], atol=0.2)
