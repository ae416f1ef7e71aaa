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
_LEAST_SIGMA_PX = 0.05
_SAMPLED_SIGMA_PX = 0.5
"""A narrower Gaussian is not well sampled by pixels: three taps keep its variance instead."""
_LEAST_LAG_PX = 0.02


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
    codes: NDArray[np.uint8],
    profile: GlassProfile,
    pitch_mm: float,
    sub: int = SUB,
    *,
    mirrored: bool = False,
) -> Floats:
    """Frost, float32 from 0 to 1, rows x columns, that drive codes leave on the glass.

    `codes` is uint8, rows x columns; its first row is burnt from left to right, or from right to
    left where the codes are `mirrored` against what the machine sees. Computed on `sub` x `sub`
    points a pixel and averaged back to pixels.
    """
    fluence = np.asarray(cv2.LUT(codes, fluence_codes(profile, pitch_mm)), np.float32)
    step = pitch_mm / sub
    fine = _lagged(np.repeat(fluence, sub, axis=1), profile, step, mirrored)
    fine = blur_mm(np.repeat(fine, sub, axis=0), profile.machine.beam_mm / BEAM_SIGMAS, step)
    frost = frost_table(fine, profile, pitch_mm)
    frost = blur_mm(frost, profile.spread_mm, step)
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


def reach_mm(profile: GlassProfile) -> float:
    """How far one pixel of the machine can reach on the glass: one part in ten thousand is left."""
    return 4.0 * total_spread_mm(profile) + 9.0 * lag_mm(profile)


def total_spread_mm(profile: GlassProfile) -> float:
    """Standard deviation of beam and fracture together; their variances add."""
    return float(np.hypot(profile.machine.beam_mm / BEAM_SIGMAS, profile.spread_mm))


def lag_mm(profile: GlassProfile) -> float:
    """How far the head moves within the tube's time constant."""
    return profile.machine.lag_ms / 1000.0 * profile.setting.speed_mm_s


def lag_spread_mm(profile: GlassProfile) -> float:
    """Standard deviation, along the lines, of the Gaussian that fades detail as the lag does.

    A lag of length l passes 1 / (1 + i w l) of a wave of w radians per mm. Two lines that run
    opposite ways show the mean, 1 / (1 + (w l)^2), lines that run one way sqrt of that, shifted;
    to the second order in w these are Gaussians of variance 2 l^2 and l^2.
    """
    return lag_mm(profile) * (2.0**0.5 if profile.setting.both_directions else 1.0)


def spreads_mm(profile: GlassProfile) -> tuple[float, float]:
    """Standard deviations of lag, beam and fracture together: along the lines and across them."""
    across = total_spread_mm(profile)
    return float(np.hypot(across, lag_spread_mm(profile))), across


def dose_shown(dose: Floats, profile: GlassProfile, pitch_mm: float) -> Floats:
    """A picture in fluence after the lag, without its shift, and the beam."""
    across = profile.machine.beam_mm / BEAM_SIGMAS
    along = float(np.hypot(across, lag_spread_mm(profile)))
    return blur_mm(dose, across, pitch_mm, along)


def blur_mm(values: Any, sigma_mm: float, pitch_mm: float, along_mm: float | None = None) -> Floats:
    """A Gaussian of standard deviation `sigma_mm`, along the rows `along_mm` if that is another;
    float32, rows x columns; keeps the mean."""
    across = sigma_mm / pitch_mm
    along = across if along_mm is None else along_mm / pitch_mm
    picture = np.asarray(values, np.float32)
    if max(along, across) < _LEAST_SIGMA_PX:
        return picture
    blurred = cv2.sepFilter2D(
        picture, cv2.CV_32F, _taps(along), _taps(across), borderType=cv2.BORDER_REPLICATE
    )
    return np.asarray(blurred, np.float32)


@lru_cache(maxsize=64)
def _taps(sigma_px: float) -> Floats:
    if sigma_px < _SAMPLED_SIGMA_PX:
        side = 0.5 * sigma_px**2
        return np.array([side, 1.0 - 2.0 * side, side], np.float32)
    half = int(np.ceil(4.0 * sigma_px))
    taps = np.exp(-0.5 * (np.arange(-half, half + 1) / sigma_px) ** 2)
    return np.asarray(taps / taps.sum(), np.float32)


def _lagged(fluence: Floats, profile: GlassProfile, pitch_mm: float, mirrored: bool) -> Floats:
    """The tube follows its setting with a time constant; every other line runs backwards.

    Each value is the mean over its pixel of the answer to a power that is even within pixels.
    """
    length_px = lag_mm(profile) / pitch_mm
    if length_px < _LEAST_LAG_PX:
        return fluence
    # SciPy takes as long to import as Qt, and few machines have a lag worth the wait.
    from scipy.signal import lfilter

    keep = float(np.exp(-1.0 / length_px))
    first = 1.0 - length_px * (1.0 - keep)
    step = 2 if profile.setting.both_directions else 1
    lagged = fluence.copy()
    for start in range(step):
        ahead = 1 if mirrored == bool(start) else -1
        lines = lagged[start::step, ::ahead]
        lines[:] = lfilter([first, 1.0 - first - keep], [1.0, -keep], lines, axis=1)
    return lagged
