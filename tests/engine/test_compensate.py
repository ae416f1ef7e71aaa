"""Spread compensation: what headroom allows comes back, and nothing gets worse."""

import attrs
import numpy as np
import pytest
from numpy.typing import NDArray

from engine import burning
from engine.compensate import MOST_GAIN, compensate, modulation_kept, sharpening_taps
from shared.profile import GENERIC

PITCH = 0.1


def _grating(cycles_per_mm: float, swing: float) -> NDArray[np.float32]:
    at = np.arange(500) * PITCH
    line = 0.5 + swing * np.sin(2.0 * np.pi * cycles_per_mm * at)
    return np.repeat(line[None, :], 200, axis=0).astype(np.float32)


def _kept(spread_mm: float, cycles: float, swing: float, strength: float) -> float:
    profile = attrs.evolve(GENERIC, spread_mm=spread_mm)
    wanted = _grating(cycles, swing)
    asked = compensate(wanted, profile, PITCH, strength=strength, halo=0.5, low=0.0, high=1.0)
    shown = burning.blur_mm(asked, burning.total_spread_mm(profile), PITCH)
    kept = modulation_kept(wanted, shown, PITCH, cycles)
    assert kept is not None
    return kept


@pytest.mark.parametrize("spread_mm", [0.03, 0.05, 0.08, 0.1])
def test_modulation_at_two_cycles_comes_back_within_a_tenth(spread_mm: float) -> None:
    assert _kept(spread_mm, 2.0, 0.12, 1.0) == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize("spread_mm", [0.03, 0.08, 0.15, 0.25])
@pytest.mark.parametrize("cycles", [1.0, 2.0, 3.0])
@pytest.mark.parametrize("swing", [0.1, 0.45])
def test_it_is_never_worse_than_without(spread_mm: float, cycles: float, swing: float) -> None:
    without = _kept(spread_mm, cycles, swing, 0.0)
    with_it = _kept(spread_mm, cycles, swing, 1.0)
    assert abs(1.0 - with_it) <= abs(1.0 - without) + 0.01


def test_strength_nought_changes_nothing_and_half_lies_between() -> None:
    kept = [_kept(0.08, 2.0, 0.1, strength) for strength in (0.0, 0.5, 1.0)]
    assert kept[0] < kept[1] < kept[2]


def test_flat_fields_stay_and_bare_glass_stays_bare() -> None:
    flat = np.full((60, 60), 0.3, np.float32)
    flat[:, 30:] = 0.0
    asked = compensate(flat, GENERIC, PITCH, strength=1.0, halo=0.5, low=0.1, high=1.0)
    np.testing.assert_allclose(asked[10:-10, 3:15], 0.3, atol=2e-3)
    assert asked[:, 30:].max() == 0.0
    assert asked[:, :30].min() >= 0.1


@pytest.mark.parametrize("halo", [0.05, 0.2])
def test_the_halo_limit_holds(halo: float) -> None:
    rng = np.random.default_rng(3)
    wanted = rng.random((80, 80)).astype(np.float32)
    asked = compensate(wanted, GENERIC, PITCH, strength=1.0, halo=halo, low=0.0, high=1.0)
    assert np.abs(asked - wanted).max() <= halo + 1e-6
    assert asked.min() >= 0.0
    assert asked.max() <= 1.0


@pytest.mark.parametrize("sigma_px", [0.3, 0.6, 1.0, 2.0])
def test_the_filter_keeps_the_mean_and_its_cap(sigma_px: float) -> None:
    taps = sharpening_taps(sigma_px)
    assert taps.sum() == pytest.approx(1.0, abs=1e-6)
    gain = np.abs(np.fft.rfft(taps, 512))
    assert gain.max() <= np.sqrt(MOST_GAIN) * 1.1


def test_modulation_needs_something_to_measure() -> None:
    flat = np.full((64, 64), 0.5, np.float32)
    assert modulation_kept(flat, flat, PITCH, 2.0) is None
    assert modulation_kept(_grating(2.0, 0.1), flat, PITCH, 6.0) is None
