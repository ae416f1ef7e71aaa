"""The forward model: what the machine's pixels do to the glass.

    drive code -> power -> (lag) -> fluence -> beam -> frost -> fracture spread

A drive code is 0 where the laser does not fire and 1 to 255 for powers that run linearly from the
setting's least to its greatest; it is 255 less the file's grey.
"""

from functools import lru_cache
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.filters import Floats
from engine.response import fluence_table
from shared.profile import GlassProfile

SUB = 3
"""Points per etch pixel each way on which beam and spread are computed."""
BEAM_SIGMAS = 4.0
"""A Gaussian beam's diameter at 1/e^2 is four standard deviations (ISO 11146)."""
_HEADROOM = 1.5
"""Overlap of lines can raise the fluence above a solid patch's, on the table at most this far."""
_LEAST_SIGMA_PX = 0.15
_LEAST_LAG_PX = 0.05


@lru_cache(maxsize=16)
def fluence_codes(profile: GlassProfile, pitch_mm: float) -> Floats:
    """Fluence in J/mm2 of a solid patch for each of the 256 drive codes; float32.

    Watts over speed times pitch; nothing for code 0 and below the firing floor.
    """
    setting = profile.setting
    codes = np.arange(256)
    span = setting.power_max_pct - setting.power_min_pct
    power = setting.power_min_pct + span * codes / 255.0
    watts = profile.machine.rated_w * power / 100.0
    fluence = watts / (setting.speed_mm_s * pitch_mm)
    fires = (codes > 0) & (power >= profile.machine.firing_floor_pct)
    return np.where(fires, fluence, 0.0).astype(np.float32)


def burn_codes(
    codes: NDArray[np.uint8], profile: GlassProfile, pitch_mm: float, sub: int = SUB
) -> Floats:
    """Frost, float32 from 0 to 1, rows x columns, that drive codes leave on the glass.

    `codes` is uint8, rows x columns, as seen from the side that is etched from left to right.
    Computed on `sub` x `sub` points a pixel and averaged back to pixels.
    """
    fluence = np.asarray(cv2.LUT(codes, fluence_codes(profile, pitch_mm)), np.float32)
    fluence = _lagged(fluence, profile, pitch_mm)
    fine = np.repeat(np.repeat(fluence, sub, axis=0), sub, axis=1) if sub > 1 else fluence
    step = pitch_mm / sub
    fine = _blurred(fine, profile.machine.beam_mm / BEAM_SIGMAS / step)
    frost = frost_table(fine, profile, pitch_mm)
    frost = _blurred(frost, profile.spread_mm / step)
    if sub == 1:
        return frost
    size = (codes.shape[1], codes.shape[0])
    return np.asarray(cv2.resize(frost, size, interpolation=cv2.INTER_AREA), np.float32)


def frost_table(fluence: Floats, profile: GlassProfile, pitch_mm: float) -> Floats:
    """The characteristic curve, by table, for fluences that the setting can reach."""
    greatest = float(fluence_codes(profile, pitch_mm).max()) * _HEADROOM
    if greatest <= 0.0:
        return np.zeros_like(fluence)
    scaled = np.minimum(fluence * np.float32(65535.0 / greatest), np.float32(65535.0))
    return np.asarray(
        cv2.LUT(scaled.astype(np.uint16), fluence_table(profile, greatest)), np.float32
    )


def total_spread_mm(profile: GlassProfile) -> float:
    """Standard deviation of beam and fracture together; their variances add."""
    return float(np.hypot(profile.machine.beam_mm / BEAM_SIGMAS, profile.spread_mm))


def blur_mm(values: Any, sigma_mm: float, pitch_mm: float) -> Floats:
    """A Gaussian of standard deviation `sigma_mm`; float32, rows x columns; keeps the mean."""
    return _blurred(np.asarray(values, np.float32), sigma_mm / pitch_mm)


def _blurred(values: Floats, sigma_px: float) -> Floats:
    if sigma_px < _LEAST_SIGMA_PX:
        return values
    blurred = cv2.GaussianBlur(values, (0, 0), sigma_px, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(blurred, np.float32)


def _lagged(fluence: Floats, profile: GlassProfile, pitch_mm: float) -> Floats:
    """The tube follows its setting with a time constant; every other line runs backwards."""
    length_px = profile.machine.lag_ms / 1000.0 * profile.setting.speed_mm_s / pitch_mm
    if length_px < _LEAST_LAG_PX:
        return fluence
    # SciPy takes as long to import as Qt, and few machines have a lag worth the wait.
    from scipy.signal import lfilter

    keep = float(np.exp(-1.0 / length_px))
    lagged = fluence.copy()
    forwards = lagged[::2] if profile.setting.both_directions else lagged
    forwards[:] = lfilter([1.0 - keep], [1.0, -keep], forwards, axis=1)
    if profile.setting.both_directions:
        back = lagged[1::2, ::-1]
        lagged[1::2] = lfilter([1.0 - keep], [1.0, -keep], back, axis=1)[:, ::-1]
    return lagged
