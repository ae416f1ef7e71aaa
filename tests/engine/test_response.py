"""The characteristic curve, guessed and measured."""

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.monotone import inverse_table, rising
from engine.response import flaked, fluence_table, frost_of_fluence
from shared.profile import GENERIC, Knot, Response

DOSES = np.geomspace(0.01, 1.5, 400)


def test_nothing_happens_below_the_threshold() -> None:
    frost = frost_of_fluence(np.array([0.0, 0.05, 0.2]), GENERIC)
    np.testing.assert_array_equal(frost, 0.0)


def test_half_of_full_frost_lies_near_the_middle() -> None:
    middle = frost_of_fluence(np.array([GENERIC.response.middle_j_mm2]), GENERIC)[0]
    assert middle == pytest.approx(0.5, abs=0.03)


@given(st.floats(2.0, 30.0), st.floats(0.05, 0.3))
def test_frost_never_falls_up_to_flaking(slope: float, threshold: float) -> None:
    shape = Response(threshold_j_mm2=threshold, middle_j_mm2=0.5, slope=slope)
    frost = frost_of_fluence(DOSES, attrs.evolve(GENERIC, response=shape))
    assert np.all(np.diff(frost) >= -1e-12)
    assert 0.0 <= frost.min() <= frost.max() <= 1.0


def test_frost_comes_off_beyond_flaking() -> None:
    flaking = GENERIC.response.flaking_j_mm2
    frost = frost_of_fluence(np.array([flaking, 1.5 * flaking, 3.0 * flaking]), GENERIC)
    assert frost[0] > frost[1] > frost[2]


@pytest.mark.parametrize("decades", [0.1, 0.25, 0.6])
def test_half_the_frost_has_come_off_after_the_width_of_flaking(decades: float) -> None:
    shape = attrs.evolve(GENERIC.response, flaking_decades=decades)
    fluence = shape.flaking_j_mm2 * 10.0 ** np.array([0.0, decades])
    profile = attrs.evolve(GENERIC, response=shape)
    whole, half = frost_of_fluence(fluence, profile)
    assert half == pytest.approx(0.5 * whole, rel=0.02)
    assert flaked(float(fluence[0]), profile) == pytest.approx(0.0, abs=1e-9)
    assert flaked(float(fluence[1]), profile) == pytest.approx(0.5)


def _measured(*points: tuple[float, float]) -> object:
    return attrs.evolve(GENERIC, origin="measured", knots=[Knot(f, r) for f, r in points])


def test_a_measured_curve_goes_through_its_points() -> None:
    points = ((0.2, 0.0), (0.3, 0.15), (0.4, 0.45), (0.6, 0.8), (0.9, 0.95))
    frost = frost_of_fluence(np.array([f for f, _ in points]), _measured(*points))  # type: ignore[arg-type]
    np.testing.assert_allclose(frost, [r for _, r in points], atol=1e-6)


def test_a_bad_patch_does_not_turn_the_curve_round() -> None:
    points = ((0.2, 0.0), (0.3, 0.3), (0.4, 0.2), (0.6, 0.8))
    frost = frost_of_fluence(DOSES, _measured(*points))  # type: ignore[arg-type]
    assert np.all(np.diff(frost) >= -1e-12)


def test_repeated_patches_are_averaged() -> None:
    points = ((0.2, 0.0), (0.4, 0.4), (0.4, 0.6), (0.8, 0.9))
    frost = frost_of_fluence(np.array([0.4]), _measured(*points))  # type: ignore[arg-type]
    assert frost[0] == pytest.approx(0.5)


def test_a_curve_whose_first_patch_is_frosted_still_starts_at_bare_glass() -> None:
    points = ((0.3, 0.3), (0.4, 0.5), (0.8, 0.9))
    frost = frost_of_fluence(np.array([0.05, 0.25]), _measured(*points))  # type: ignore[arg-type]
    assert frost[0] == 0.0
    assert 0.0 < frost[1] < 0.3


def test_the_table_agrees_with_the_curve() -> None:
    table = fluence_table(GENERIC, 1.0)
    at = np.array([0.25, 0.4, 0.7])
    np.testing.assert_allclose(
        table[np.round(at * 65535).astype(int)], frost_of_fluence(at, GENERIC), atol=1e-4
    )


def test_rising_is_the_published_pool_of_violators() -> None:
    """1 3 2 4 3.5 3.7 5 becomes 1 2.5 2.5 3.7333 x3 5 (Ayer et al. 1955; computed by hand)."""
    found = rising(np.array([1.0, 3.0, 2.0, 4.0, 3.5, 3.7, 5.0]))
    third = (4.0 + 3.5 + 3.7) / 3.0
    np.testing.assert_allclose(found, [1.0, 2.5, 2.5, third, third, third, 5.0])


@given(st.lists(st.floats(0.01, 1.0), min_size=2, max_size=20))
def test_an_inverse_undoes_a_rising_curve(steps: list[float]) -> None:
    outputs = np.concatenate([[0.0], np.cumsum(steps)])
    outputs /= outputs[-1]
    inputs = np.linspace(0.0, 1.0, outputs.size)
    table = inverse_table(inputs, outputs)
    codes = np.round(outputs * 65535).astype(int)
    slope = np.max(np.diff(inputs) / np.diff(outputs))
    np.testing.assert_allclose(table[codes], inputs, atol=slope / 65535 + 1e-6)
