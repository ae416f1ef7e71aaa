"""Curves fitted to a step wedge against published vectors, other hands' code and a known wedge."""

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression

from engine.colour import lightness_from_luminance
from engine.response import frost_of_fluence
from engine.strip.fit_curve import _solve, fit_rising
from shared.profile import GENERIC, GlassProfile, Knot

POOLED = (
    np.array([1.0, 3.0, 2.0, 4.0, 3.5, 3.7, 5.0]),
    np.array([1.0, 2.5, 2.5, 3.733333, 3.733333, 3.733333, 5.0]),
)
"""Pool adjacent violators, Ayer et al., Ann. Math. Stat. 26(4), 1955: blocks and their means."""
BARE, FROST = 0.04, 0.30
NOISE = 0.005


def measured(decades: np.ndarray, frost: np.ndarray) -> GlassProfile:
    """A profile with points so many decades above the least fluence."""
    knots = [Knot(float(1e-4 * 10.0**d), float(f)) for d, f in zip(decades, frost, strict=True)]
    return attrs.evolve(GENERIC, knots=knots)


def test_a_profiles_curve_is_the_published_monotone_cubic() -> None:
    """Fritsch and Carlson, SIAM J. Numer. Anal. 17(2), 1980, with the slopes that SciPy documents:
    points (0, 0) (1, 1) (2, 1.5) (4, 1.6) give 0.572917, 1.320833 and 1.575 half way."""
    profile = measured(np.array([0.0, 1.0, 2.0, 4.0]), np.array([0.0, 1.0, 1.5, 1.6]) / 1.6)
    frost = frost_of_fluence(1e-4 * 10.0 ** np.array([0.5, 1.5, 3.0]), profile)
    np.testing.assert_allclose(1.6 * frost, [0.572917, 1.320833, 1.575], atol=2e-6)


def test_a_profiles_points_that_fall_are_pooled_as_published() -> None:
    """POOLED."""
    wild, pooled = POOLED
    decades = np.linspace(0.0, 3.0, 7)
    frost = frost_of_fluence(1e-4 * 10.0**decades, measured(decades, wild / 5.0))
    np.testing.assert_allclose(5.0 * frost, pooled, atol=2e-6)


def test_without_smoothing_the_fit_pools_as_published() -> None:
    """POOLED."""
    wild, pooled = POOLED
    found = _solve(np.eye(7), wild, np.ones(7), np.zeros(7), 1e-12, from_zero=False)
    np.testing.assert_allclose(found, pooled, atol=1e-5)


@given(st.lists(st.floats(0.0, 5.0), min_size=3, max_size=12))
@settings(max_examples=40)
def test_without_smoothing_the_fit_is_scipys_isotonic_regression(values: list[float]) -> None:
    """The same problem solved by other hands."""
    y = np.array(values)
    found = _solve(np.eye(y.size), y, np.ones(y.size), np.zeros(y.size), 1e-12, from_zero=False)
    np.testing.assert_allclose(found, isotonic_regression(y).x, atol=2e-3)


def wedge(drive: np.ndarray) -> np.ndarray:
    """CIE L* of light dots on dark glass that gain 20 points at the middle (the usual parabola,
    common practice), by Yule and Nielsen, Proc. TAGA 1951, n = 1.7 (from memory)."""
    area = drive + 4.0 * 0.2 * drive * (1.0 - drive)
    root = (1.0 - area) * BARE ** (1.0 / 1.7) + area * FROST ** (1.0 / 1.7)
    return np.asarray(lightness_from_luminance(root**1.7))


def off_by(lightness: np.ndarray, wanted: np.ndarray) -> tuple[float, float]:
    """The greatest error and the root of the mean square, L*; tones wanted from 0 to 1."""
    low, high = lightness_from_luminance(np.array([BARE, FROST]))
    off = lightness - (low + wanted * (high - low))
    return float(np.abs(off).max()), float(np.sqrt(np.mean(off**2)))


def test_the_wedge_is_the_worked_example() -> None:
    """Worked example: left as it is, such a wedge is 9.6 L* off at most and 7.0 rms."""
    drive = np.linspace(0.0, 1.0, 1001)
    assert off_by(wedge(drive), drive) == (
        pytest.approx(9.6, abs=0.15),
        pytest.approx(7.0, abs=0.05),
    )


@pytest.mark.parametrize(("repeats", "most", "rms"), [(2, 2.0, 0.5), (4, 1.0, 0.25)])
@pytest.mark.parametrize("seed", range(8))
def test_eleven_steps_make_it_even_as_far_as_can_be_had(
    repeats: int, most: float, rms: float, seed: int
) -> None:
    """The same example: with patches that scatter by 0.5 % of the range, 2 L* at most and 0.5 rms
    are a fair goal, and 1 and 0.25 with four of each. A strip has two of each or more."""
    low, high = lightness_from_luminance(np.array([BARE, FROST]))
    drive = np.repeat(np.linspace(0.0, 1.0, 11), repeats)
    tones = (wedge(drive) - low) / (high - low)
    tones += np.random.default_rng(seed).normal(0.0, NOISE, drive.size)
    nodes = np.linspace(0.0, 1.0, 41)
    curve = fit_rising(drive, tones, np.full(drive.size, NOISE), nodes, from_zero=True)
    wanted = np.linspace(0.0, 1.0, 501)
    asked = np.interp(wanted, curve.values, nodes)
    worst, mean = off_by(wedge(asked), wanted)
    assert worst < most
    assert mean < rms
