"""Detail, where it is linear, against the formula of unsharp masking and another library."""

import numpy as np
import pytest
import skimage.data
import skimage.filters

from engine import detail
from engine.filters import Floats
from shared.operators import Detail

PITCH_MM = 0.05


def gentle(radius_mm: float, amount: float) -> Detail:
    """No noise floor and no halo limit, so that faint detail is treated linearly."""
    return Detail(amount=amount, radius_mm=radius_mm, threshold=0.0, halo=1.0)


@pytest.mark.parametrize("radius_mm", [0.4, 1.0])
@pytest.mark.parametrize("amount", [1.0, 4.0])
@pytest.mark.parametrize("share", [0.1, 0.2, 0.3, 0.6])
def test_gain_at_each_frequency_is_that_of_unsharp_masking(
    radius_mm: float, amount: float, share: float
) -> None:
    """I + k (I - W * I) has the gain 1 + k (1 - M), M what the window W passes.

    A Gaussian passes exp(-2 pi^2 s^2 f^2) (common practice), two boxes of width r in a row
    sinc^2(r f). Ours is the latter, of the variance s^2 = r^2 / 6, and hence near the former.
    """
    sigma = radius_mm / np.sqrt(6.0)
    frequency = share / sigma
    places = np.arange(1200) * PITCH_MM
    row = 0.5 + 0.004 * np.cos(2.0 * np.pi * frequency * places)
    picture = np.tile(row.astype(np.float32), (5, 1))
    result = detail.exaggerate(picture, gentle(radius_mm, amount), PITCH_MM)
    inner = np.s_[2, 100:-100]
    carrier = np.exp(2j * np.pi * frequency * places[100:-100])
    gain = abs(np.vdot(carrier, result[inner] - 0.5)) / abs(np.vdot(carrier, picture[inner] - 0.5))
    boxes = np.sinc(radius_mm * frequency) ** 2
    assert gain == pytest.approx(1.0 + amount * (1.0 - boxes), rel=0.015)
    gaussian = np.exp(-2.0 * (np.pi * sigma * frequency) ** 2)
    assert gain == pytest.approx(1.0 + amount * (1.0 - gaussian), rel=0.07)


@pytest.mark.parametrize("radius_mm", [0.2, 0.6])
def test_faint_detail_of_a_photograph_is_that_of_scikit_image(radius_mm: float) -> None:
    """scikit-image, filters.unsharp_mask, on a real photograph of very low contrast."""
    camera = skimage.data.camera().astype(np.float32) / np.float32(255.0)
    faint: Floats = np.float32(0.5) + np.float32(0.02) * (camera - np.float32(0.5))
    ours = detail.exaggerate(faint, gentle(radius_mm, 2.0), PITCH_MM)
    sigma = radius_mm / np.sqrt(6.0) / PITCH_MM
    theirs = skimage.filters.unsharp_mask(faint, radius=sigma, amount=2.0)
    inner = np.s_[20:-20, 20:-20]
    added = theirs[inner] - faint[inner]
    assert np.std(ours[inner] - theirs[inner]) <= 0.08 * np.std(added)
