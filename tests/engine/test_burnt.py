"""The frost of dots on a measured glass: each tone as it was measured."""

import attrs
import numpy as np
import pytest

from engine import burning, screens
from engine.burnt import frost_of_dots, reach_mm
from engine.linearise import tone_curve
from shared.profile import GENERIC, Gain, GlassProfile, ScreenGains
from shared.recipe import Screen
from tests.dots_parts import DIFFUSION, MIXED, gained

PITCH = 0.1


def patch(profile: GlassProfile, screen: Screen, level: float) -> tuple[float, float]:
    """An even patch's mean frost on the model, and as measured."""
    dots = screens.screen(np.full((120, 120), level, np.float32), screen, pitch_mm=PITCH)
    inner = np.s_[15:-15, 15:-15]
    model = burning.burn_codes(dots, profile, PITCH)[inner].mean()
    return float(model), float(frost_of_dots(dots, profile, screen, PITCH)[inner].mean())


@pytest.mark.parametrize(
    ("screen", "level"),
    [(DIFFUSION, 0.15), (DIFFUSION, 0.35), (DIFFUSION, 0.6), (DIFFUSION, 0.85), (MIXED, 0.6),
     (MIXED, 0.75)],
)  # fmt: skip
def test_an_even_patch_comes_out_as_measured(screen: Screen, level: float) -> None:
    profile = gained(screen.kind, 0.7)
    curve = tone_curve(profile, screen, PITCH)
    wanted = float(np.interp(level, curve.drives, curve.frost))
    model, found = patch(profile, screen, level)
    assert found == pytest.approx(wanted, abs=0.004)
    assert abs(model - wanted) > 0.02


def test_without_a_measured_gain_the_model_stands() -> None:
    dots = screens.screen(np.full((40, 40), 0.3, np.float32), DIFFUSION, pitch_mm=PITCH)
    model = burning.burn_codes(dots, GENERIC, PITCH)
    np.testing.assert_array_equal(frost_of_dots(dots, GENERIC, DIFFUSION, PITCH), model)
    other = gained("mixed", 0.8)
    np.testing.assert_array_equal(frost_of_dots(dots, other, DIFFUSION, PITCH), model)


def test_bare_glass_stays_bare_and_nothing_is_more_than_full() -> None:
    profile = gained("diffusion", 1.4)
    drive = np.repeat(np.linspace(0.0, 1.0, 160, dtype=np.float32)[None, :], 60, axis=0)
    dots = screens.screen(drive, DIFFUSION, pitch_mm=PITCH)
    frost = frost_of_dots(dots, profile, DIFFUSION, PITCH)
    assert frost.min() >= 0.0
    assert frost.max() <= 1.0
    nothing = frost_of_dots(np.zeros_like(dots), profile, DIFFUSION, PITCH)
    assert not nothing.any()


def test_nothing_reaches_farther_than_said() -> None:
    profile = gained("diffusion", 0.8)
    dots = np.zeros((80, 80), np.uint8)
    dots[:, :40] = 255
    changed = dots.copy()
    changed[40, 20] = 0
    both = [frost_of_dots(d, profile, DIFFUSION, PITCH) for d in (dots, changed)]
    apart = np.argwhere(np.abs(both[0] - both[1]) > 2e-4)
    far = np.abs(apart - [40, 20]).max()
    assert 0 < far <= reach_mm(profile, DIFFUSION, PITCH) / PITCH


def test_gains_of_two_points_are_not_enough() -> None:
    few = attrs.evolve(
        GENERIC, gains=[ScreenGains("diffusion", [Gain(0.3, 0.1, 0.0), Gain(1.0, 0.9, 0.0)])]
    )
    assert patch(few, DIFFUSION, 0.3)[0] == patch(few, DIFFUSION, 0.3)[1]
