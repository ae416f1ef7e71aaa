"""Tone and its building blocks against published formulas and other libraries."""

import cv2
import numpy as np
import pytest
import skimage.data
import skimage.exposure
from scipy import ndimage

from engine import filters, tone
from engine.filters import Floats
from shared.operators import Tone


def photo(name: str) -> Floats:
    picture = getattr(skimage.data, name)()
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY) if picture.ndim == 3 else picture
    return np.asarray(grey, dtype=np.float32) / np.float32(255.0)


def plain(**changes: object) -> Tone:
    return Tone(**{"lift": 0.0, "local": 0.0, **changes})


def test_curve_matches_monotone_cubic_interpolation() -> None:
    """Fritsch and Carlson, SIAM J. Numer. Anal. 17(2), 238-246, 1980, as SciPy documents it.

    Points (0, 0) (1, 1) (2, 1.5) (4, 1.6) have the slopes 1.25, 2/3, 0.1 and 0 by the weighted
    harmonic mean, so that Hermite's cubic gives 0.572917, 1.320833 and 1.575 half way. Scaling
    both axes changes nothing but the scale.
    """
    xs, ys = np.array([0.0, 1.0, 2.0, 4.0]), np.array([0.0, 1.0, 1.5, 1.6])
    table = tone.tone_table(plain(curve=tuple(zip(xs / 4.0, ys / 1.6, strict=True))))
    for x, y in ((0.5, 0.572917), (1.5, 1.320833), (3.0, 1.575)):
        assert 1.6 * table[round(x / 4.0 * 65535)] == pytest.approx(y, abs=4e-5)
    slopes = (1.25, 2.0 / 3.0, 0.1, 0.0)
    for left in range(3):
        width = xs[left + 1] - xs[left]
        t = np.linspace(0.0, 1.0, 11)
        hermite = (
            (2 * t**3 - 3 * t**2 + 1) * ys[left]
            + (t**3 - 2 * t**2 + t) * width * slopes[left]
            + (3 * t**2 - 2 * t**3) * ys[left + 1]
            + (t**3 - t**2) * width * slopes[left + 1]
        )
        codes = np.round((xs[left] + t * width) / 4.0 * 65535).astype(int)
        np.testing.assert_allclose(1.6 * table[codes], hermite, atol=4e-5)


@pytest.mark.parametrize("middle", [0.3, 0.5, 0.7])
def test_middle_tone_is_gamma_as_in_scikit_image(middle: float) -> None:
    """scikit-image, exposure.adjust_gamma, on a real photograph."""
    grey = photo("camera")
    ours = tone.apply_table(grey, tone.tone_table(plain(middle=middle)))
    theirs = skimage.exposure.adjust_gamma(grey, np.log(middle) / np.log(0.5))
    np.testing.assert_allclose(ours, theirs, atol=2e-4)


def test_points_stretch_as_in_scikit_image() -> None:
    """scikit-image, exposure.rescale_intensity, on a real photograph."""
    grey = photo("astronaut")
    ours = tone.apply_table(grey, tone.tone_table(plain(bare_point=0.15, full_point=0.85)))
    theirs = skimage.exposure.rescale_intensity(grey, in_range=(0.15, 0.85), out_range=(0.0, 1.0))
    np.testing.assert_allclose(ours, theirs, atol=3e-5)


@pytest.mark.parametrize("side", [3, 9, 25])
def test_box_mean_matches_opencv_and_scipy(side: int) -> None:
    """OpenCV blur and SciPy uniform_filter, on a real photograph."""
    grey = photo("camera")
    ours = filters.box_mean(grey, (side * side - 1) / 12.0, np.empty_like(grey))
    blurred = cv2.blur(grey, (side, side), borderType=cv2.BORDER_REFLECT)
    np.testing.assert_allclose(ours, blurred, atol=1e-5)
    uniform = ndimage.uniform_filter(grey.astype(np.float64), side, mode="reflect")
    np.testing.assert_allclose(ours, uniform, atol=1e-5)


@pytest.mark.parametrize("variance", [4.0, 16.0, 60.0])
def test_bell_passes_frequencies_nearly_as_a_gaussian(variance: float) -> None:
    """A Gaussian passes exp(-2 pi^2 s^2 f^2), one half at f = 0.187391 / s (common practice).

    A triangle of the same variance differs by 0.027 there, and by less below.
    """
    taps = filters.bell_taps(variance).astype(np.float64)
    places = np.arange(taps.size) - taps.size // 2
    sigma = np.sqrt(variance)
    for share in (0.25, 0.5, 1.0):
        frequency = share * 0.187391 / sigma
        passed = np.sum(taps * np.cos(2.0 * np.pi * frequency * places))
        gaussian = np.exp(-2.0 * (np.pi * sigma * frequency) ** 2)
        assert passed == pytest.approx(gaussian, abs=0.03 * share)


# The guided filter: He, Sun and Tang, IEEE TPAMI 35(6), 1397-1409, 2013. The four facts below
# follow from its formula (from memory).


def guided(picture: Floats, side: int, edge: float) -> Floats:
    return filters.guided_base(picture, (side**2 - 1) / 12.0, edge, np.empty_like(picture))


@pytest.mark.parametrize("side", [5, 25])
@pytest.mark.parametrize("edge", [0.05, 0.2])
def test_guided_filter_matches_its_formula(side: int, edge: float) -> None:
    grey = photo("astronaut")
    exact = grey.astype(np.float64)

    def box(values: np.ndarray) -> np.ndarray:
        return np.asarray(ndimage.uniform_filter(values, side, mode="reflect"))

    mean = box(exact)
    variance = box(exact * exact) - mean * mean
    slope = variance / (variance + edge * edge)
    formula = box(slope) * exact + box((1.0 - slope) * mean)
    difference = np.abs(guided(grey, side, edge) - formula)
    assert difference.max() <= 1e-3
    assert difference.mean() <= 3e-5


def test_guided_filter_keeps_constants() -> None:
    flat = np.full((60, 60), 0.4, dtype=np.float32)
    np.testing.assert_allclose(guided(flat, 25, 0.1), flat, atol=3e-5)


def test_guided_filter_without_edge_limit_is_the_identity() -> None:
    grey = photo("camera")
    np.testing.assert_allclose(guided(grey, 9, 1e-6), grey, atol=1e-3)


def test_guided_filter_with_endless_edge_limit_is_two_boxes() -> None:
    grey = photo("camera")
    once = ndimage.uniform_filter(grey.astype(np.float64), 9, mode="reflect")
    twice = ndimage.uniform_filter(once, 9, mode="reflect")
    np.testing.assert_allclose(guided(grey, 9, 1e3), twice, atol=1e-5)


@pytest.mark.parametrize("side", [9, 25])
def test_guided_filter_keeps_a_step(side: int) -> None:
    """A step of height 1 keeps more than 80 % at eps = 0.01."""
    step = np.zeros((60, 200), dtype=np.float32)
    step[:, 100:] = 1.0
    base = guided(step, side, 0.1)
    assert base[30, 100] - base[30, 99] > 0.8
