"""Curves as plain lists: the same figures that the model uses, and no tone lost or made up."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.curve_points import characteristic_points, tone_points, tones_along_fluence
from engine.linearise import tone_curve
from engine.response import frost_of_fluence
from shared.profile import GENERIC
from shared.recipe import Screen


def test_the_points_lie_on_the_characteristic_curve() -> None:
    points = characteristic_points(GENERIC, 0.1, 2.0, 50)
    fluences = np.array([fluence for fluence, _ in points])
    assert fluences[[0, -1]] == pytest.approx([0.1, 2.0])
    assert np.diff(np.log10(fluences)) == pytest.approx(np.log10(20.0) / 49)
    assert [frost for _, frost in points] == pytest.approx(frost_of_fluence(fluences, GENERIC))


@given(st.lists(st.floats(0.0, 1000.0), min_size=2, max_size=80))
def test_every_tone_but_bare_glass_is_counted_once(counts: list[float]) -> None:
    found = tones_along_fluence(counts, GENERIC, 0.1, 2.0)
    assert min(found) >= -1e-9
    assert sum(found) == pytest.approx(sum(counts[1:]), abs=1e-6)


def test_a_tone_lies_at_the_fluence_that_gives_it() -> None:
    counts = [0.0] * 101
    counts[50] = 7.0
    found = tones_along_fluence(counts, GENERIC, 0.1, 2.0, 40)
    at = 0.1 * 20.0 ** ((np.argmax(found) + 0.5) / 40)
    assert float(frost_of_fluence(at, GENERIC)) == pytest.approx(0.5, abs=0.12)


def test_full_frost_that_is_never_reached_is_counted_at_the_fullest() -> None:
    found = tones_along_fluence([0.0, 0.0, 3.0], GENERIC, 0.1, 2.0, 40)
    fluences = 0.1 * 20.0 ** (np.arange(41) / 40)
    fullest = np.argmax(frost_of_fluence(fluences, GENERIC))
    assert found[fullest - 1] > 0.0
    assert not any(found[fullest:])


@pytest.mark.parametrize("kind", ["continuous", "diffusion"])
def test_a_screen_starts_at_its_lightest_tone_and_ends_at_full_drive(kind: str) -> None:
    screen = Screen(kind=kind)
    curve = tone_curve(GENERIC, screen, 0.1)
    shown = tone_points(GENERIC, screen, 0.1)
    assert shown.points[0][1] == shown.least == curve.least
    assert shown.points[-1] == (1.0, curve.most)
    assert not shown.measured
    drives = [drive for drive, _ in shown.points]
    assert np.interp(drives, curve.drives, curve.frost) == pytest.approx(
        [frost for _, frost in shown.points]
    )
