"""The forward model: what the machine's pixels do to the glass.

    drive code -> power -> (lag) -> fluence -> beam -> frost -> fracture spread

A drive code is 0 where the laser does not fire and 1 to 255 for powers that run linearly from the
setting's least to its greatest; it is 255 less the file's grey.
"""

from functools import lru_cache
from typing import Any

import attrs
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


@attrs.frozen
class Softness:
    """How detail fades along one axis: as through a Gaussian and, along the lines, the lag."""

    sigma_mm: float
    lag_mm: float = 0.0
    both_directions: bool = True

    def transfer(self, cycles_per_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """The share of a wave's swing that is left, without its shift.

        A lag of length l passes 1 / (1 + i w l) of a wave of w radians per mm. Two lines that run
        opposite ways show the mean of both, 1 / (1 + (w l)^2); lines that all run one way show
        its size, the root of that.
        """
        waves = 2.0 * np.pi * cycles_per_mm
        lagged = 1.0 / (1.0 + np.square(waves * self.lag_mm))
        if not self.both_directions:
            lagged = np.sqrt(lagged)
        return np.asarray(np.exp(-0.5 * np.square(waves * self.sigma_mm)) * lagged)

    @property
    def deviation_mm(self) -> float:
        """Standard deviation of Gaussian and lag together."""
        return float(
            np.hypot(self.sigma_mm, self.lag_mm * (2.0 if self.both_directions else 1.0) ** 0.5)
        )


def softness(profile: GlassProfile, sigma_mm: float) -> tuple[Softness, Softness]:
    """Along the lines and across them, for a Gaussian of `sigma_mm`."""
    both = profile.setting.both_directions
    return Softness(sigma_mm, lag_mm(profile), both), Softness(sigma_mm)


def all_softness(profile: GlassProfile) -> tuple[Softness, Softness]:
    """Along the lines and across them, of lag, beam and fracture together."""
    return softness(profile, total_spread_mm(profile))


def dose_shown(dose: Floats, profile: GlassProfile, pitch_mm: float) -> Floats:
    """A picture in fluence after the lag, without its shift, and the beam."""
    return soften(dose, softness(profile, profile.machine.beam_mm / BEAM_SIGMAS), pitch_mm)


def soften(values: Any, axes: tuple[Softness, Softness], pitch_mm: float) -> Floats:
    """A picture as soft as said along its rows and across them; float32, rows x columns; keeps
    the mean."""
    picture = np.asarray(values, np.float32)
    if max(axis.deviation_mm for axis in axes) / pitch_mm < _LEAST_SIGMA_PX:
        return picture
    along, across = (_softening_taps(axis, pitch_mm) for axis in axes)
    softened = cv2.sepFilter2D(picture, cv2.CV_32F, along, across, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(softened, np.float32)


def blur_mm(values: Any, sigma_mm: float, pitch_mm: float) -> Floats:
    """A Gaussian of standard deviation `sigma_mm`; float32, rows x columns; keeps the mean."""
    return soften(values, (Softness(sigma_mm), Softness(sigma_mm)), pitch_mm)


@lru_cache(maxsize=64)
def _softening_taps(axis: Softness, pitch_mm: float) -> Floats:
    if axis.lag_mm == 0.0:
        return _taps(axis.sigma_mm / pitch_mm)
    half = int(np.ceil((4.0 * axis.sigma_mm + 9.0 * axis.lag_mm) / pitch_mm)) + 2
    size = max(1024, 4 * half)
    waves = np.fft.rfftfreq(size, pitch_mm).astype(np.float64)
    response = np.fft.irfft(axis.transfer(waves), size)
    taps = np.concatenate([response[-half:], response[: half + 1]])
    return np.asarray(taps / taps.sum(), np.float32)


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
