"""Whatever is done to a curve's points, the recipe accepts them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.bench import curve_points
from shared.fields import IDENTITY_CURVE, MOST_CURVE_POINTS
from shared.operators import Tone

shares = st.floats(-0.5, 1.5)
ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("add"), shares, shares),
        st.tuples(st.just("remove"), st.integers(0, MOST_CURVE_POINTS), shares),
        st.tuples(st.just("move"), st.integers(0, MOST_CURVE_POINTS), st.tuples(shares, shares)),
    ),
    max_size=40,
)


def act(points, what, first, second):
    index = int(first) % len(points)
    if what == "add":
        more = curve_points.added(points, first, second)
        return points if more is None else more[0]
    if what == "remove":
        return curve_points.removed(points, index)
    return curve_points.moved(points, index, *second)


@given(ACTS)
def test_points_stay_acceptable(acts):
    points = IDENTITY_CURVE
    for what, first, second in acts:
        points = act(points, what, first, second)
        assert Tone(curve=points).curve == points


def test_a_point_stops_at_its_neighbours():
    points = ((0.0, 0.1), (0.5, 0.5), (1.0, 0.9))
    assert curve_points.moved(points, 1, 2.0, 2.0)[1] == (1.0 - curve_points.LEAST_GAP, 0.9)
    assert curve_points.moved(points, 1, -2.0, -2.0)[1] == (curve_points.LEAST_GAP, 0.1)


def test_the_ends_move_up_and_down_only():
    points = ((0.0, 0.0), (0.5, 0.5), (1.0, 1.0))
    assert curve_points.moved(points, 0, 0.4, 0.9)[0] == (0.0, 0.5)
    assert curve_points.moved(points, 2, 0.4, 0.2)[2] == (1.0, 0.5)
    assert curve_points.removed(points, 0) == points
    assert curve_points.removed(points, 2) == points


def test_a_full_or_crowded_curve_takes_no_more():
    full = tuple((i / (MOST_CURVE_POINTS - 1), 0.5) for i in range(MOST_CURVE_POINTS))
    assert curve_points.added(full, 0.01, 0.5) is None
    crowded = ((0.0, 0.0), (0.015, 0.0), (1.0, 1.0))
    assert curve_points.added(crowded, 0.008, 0.0) is None
    assert curve_points.added(crowded, 1.0, 1.0) is None


@pytest.mark.parametrize("words", ["3 points", "25 % becomes 40 %", "Point 2 is chosen"])
def test_the_curve_can_be_told_in_words(words):
    assert words in curve_points.in_words(((0.0, 0.0), (0.25, 0.4), (1.0, 1.0)), 1)
