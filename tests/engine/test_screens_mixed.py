"""The mixed screen: dots at the least power below a drive of one half, power above it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.screens.diffusion import diffuse
from engine.screens.mixed import mix
from engine.screens.settling import settle


def ramp(low: float, high: float, rows: int = 200, columns: int = 800) -> np.ndarray:
    return np.tile(np.linspace(low, high, columns, dtype=np.float32), (rows, 1))


def asked(drive: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Share of pixels that fire, and the value of those that do; straight from the words."""
    share = np.where(drive < 0.5, 2.0 * drive, 1.0)
    value = np.where(drive < 0.5, 1.0, np.maximum(1.0, 255.0 * (2.0 * drive - 1.0)))
    return share, value


@pytest.mark.parametrize("turned", [False, True])
def test_tone_is_kept_on_a_ramp_across_the_middle(turned: bool) -> None:
    drive = ramp(0.3, 0.7)
    pixels = mix(np.ascontiguousarray(drive.T)).T if turned else mix(drive)
    share, value = asked(drive)
    fired = (pixels > 0).reshape(200, 40, 20).mean((0, 2))
    assert np.abs(fired - share.reshape(200, 40, 20).mean((0, 2))).max() < 0.005
    above = drive >= 0.5
    assert np.abs(pixels[above] - value[above]).max() <= 0.5 + 1e-4


def test_above_the_middle_every_pixel_fires_and_below_it_only_at_the_least_power() -> None:
    drive = ramp(0.0, 1.0)
    pixels = mix(drive)
    assert np.all(pixels[drive >= 0.5] >= 1)
    assert set(np.unique(pixels[drive < 0.5])) == {0, 1}


def test_the_gaps_die_out_towards_the_seam() -> None:
    """The closer to one half, the fewer pixels stay bare, and none is doubled or bunched there."""
    drive = ramp(0.45, 0.5, rows=400, columns=500)
    bare = (mix(drive) == 0).reshape(400, 10, 50).mean((0, 2))
    expected = (1.0 - asked(drive)[0]).reshape(400, 10, 50).mean((0, 2))
    assert np.abs(bare - expected).max() < 0.003
    assert np.all(np.diff(bare) < 0.0)


@settings(deadline=None, max_examples=30)
@given(tone=st.floats(0.0, 1.0, width=32))
def test_flat_tones(tone: float) -> None:
    drive = np.full((128, 128), tone, np.float32)
    pixels = mix(drive)
    share, value = asked(drive)
    assert abs((pixels > 0).mean() - share[0, 0]) < 0.01
    fired = pixels[pixels > 0]
    assert np.all(np.abs(fired - value[0, 0]) <= 0.5 + 1e-4)


def test_the_dots_are_those_of_a_drive_twice_as_high() -> None:
    drive = ramp(0.0, 0.49)
    dots = diffuse(2 * drive)
    settle(dots, drive, 2.0)
    assert np.array_equal(mix(drive) > 0, dots > 0)
