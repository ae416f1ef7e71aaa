"""Spread compensation: what headroom allows comes back, and nothing gets worse."""

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from engine import burning
from engine.compensate import MOST_GAIN, compensate, modulation_kept, sharpening_taps
from engine.drive import aim_of, drive_of_frost, frost_asked, frost_wanted
from engine.screens import screen
from shared.profile import GENERIC
from shared.recipe import Recipe

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


@pytest.mark.parametrize("both", [True, False])
@pytest.mark.parametrize("lag_ms", [0.1, 0.2, 0.3])
@pytest.mark.parametrize("kind", ["continuous", "diffusion"])
def test_a_lagging_tube_loses_no_modulation_at_two_cycles(
    kind: str, lag_ms: float, both: bool
) -> None:
    """Along the lines, burnt on the model; what the pixels themselves take is left out."""
    slow = attrs.evolve(
        GENERIC,
        machine=attrs.evolve(GENERIC.machine, lag_ms=lag_ms),
        setting=attrs.evolve(GENERIC.setting, both_directions=both),
    )
    aim = aim_of(Recipe().changed(screen__kind=kind, glass__backing=0.0), slow)
    look = np.repeat(
        (0.5 + 0.1 * np.sin(2.0 * np.pi * 2.0 * PITCH * np.arange(400)))[None, :], 200, axis=0
    ).astype(np.float32)
    asked = drive_of_frost(frost_asked(look, aim, PITCH), aim)
    codes = screen(asked, aim.screen, pitch_mm=PITCH)
    burnt = burning.burn_codes(codes, slow, PITCH)
    kept = modulation_kept(
        frost_wanted(look, aim), np.repeat(burnt.mean(axis=0)[None, :], 200, axis=0), PITCH, 2.0
    )
    assert kept is not None
    assert kept / np.sinc(2.0 * PITCH) ** 2 == pytest.approx(1.0, abs=0.1)


@given(sigma_mm=st.floats(0.0, 0.3), lag_mm=st.floats(0.001, 0.3), both=st.booleans())
def test_softening_passes_waves_as_its_transfer_says(
    sigma_mm: float, lag_mm: float, both: bool
) -> None:
    axis = burning.Softness(sigma_mm, lag_mm, both)
    wave = np.cos(2.0 * np.pi * np.arange(800) / 8.0).astype(np.float32)
    rows = np.repeat(wave[None, :], 3, axis=0)
    soft = burning.soften(rows, (axis, burning.Softness(0.0)), PITCH)
    middle = soft[1, 300:500]
    left = 2.0 * float((middle * wave[300:500]).mean())
    expected = float(axis.transfer(np.array([1.0 / (8.0 * PITCH)]))[0])
    assert left == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize("sigma_px", [0.3, 0.6, 1.0, 2.0])
def test_the_filter_keeps_the_mean_and_its_cap(sigma_px: float) -> None:
    taps = sharpening_taps(burning.Softness(sigma_px * PITCH), PITCH)
    assert taps.sum() == pytest.approx(1.0, abs=1e-6)
    gain = np.abs(np.fft.rfft(taps, 512))
    assert gain.max() <= np.sqrt(MOST_GAIN) * 1.1


def test_modulation_needs_something_to_measure() -> None:
    flat = np.full((64, 64), 0.5, np.float32)
    assert modulation_kept(flat, flat, PITCH, 2.0) is None
    assert modulation_kept(_grating(2.0, 0.1), flat, PITCH, 6.0) is None
