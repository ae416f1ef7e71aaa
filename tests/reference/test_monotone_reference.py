"""The monotone curve against SciPy's PchipInterpolator, the same method by other hands."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from engine.monotone import monotone_curve

POINTS = st.lists(
    st.tuples(st.floats(0.01, 1.0), st.floats(-1.0, 1.0).map(lambda y: round(y, 6))),
    min_size=2,
    max_size=8,
)


@given(POINTS)
def test_is_scipys_pchip(points: list[tuple[float, float]]) -> None:
    """To rounding, on steps and heights of any sign."""
    xs = np.cumsum([step for step, _ in points])
    ys = np.array([y for _, y in points])
    at = np.linspace(xs[0], xs[-1], 301)
    np.testing.assert_allclose(monotone_curve(xs, ys, at), PchipInterpolator(xs, ys)(at), atol=1e-9)


@given(POINTS)
def test_never_leaves_the_values_of_its_neighbours(points: list[tuple[float, float]]) -> None:
    """What makes it fit for tones: between two points it stays between their heights."""
    xs = np.cumsum([step for step, _ in points])
    ys = np.array([y for _, y in points])
    for left in range(xs.size - 1):
        found = monotone_curve(xs, ys, np.linspace(xs[left], xs[left + 1], 50))
        low, high = sorted(ys[left : left + 2])
        assert found.min() >= low - 1e-9
        assert found.max() <= high + 1e-9
        assert abs(found[0] - ys[left]) < 1e-9
