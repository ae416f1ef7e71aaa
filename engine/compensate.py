"""Spread compensation: asking for more than is wanted where beam and fracture will take it away."""

from functools import lru_cache

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import burning
from engine.burning import Softness
from engine.colour import look_up
from engine.filters import Floats
from engine.scratch import borrowed
from shared.profile import GlassProfile

MOST_GAIN = 4.0
"""No modulation is raised more than this for beam and fracture, and the root of it for the lag;
what the glass swallows whole cannot be brought back."""
STEPS, POWER_STEPS = (1.0, 1.0), (0.6, 0.6, 0.6)
"""Shares of what is missing that are added in turn. Full steps would swing to and fro where power
and frost are not in proportion (measured on virtual sheets, mixed screen)."""
TAPS_PER_SIGMA = 6
_LEAST_SIGMA_PX = 0.2


@attrs.frozen(eq=False)
class Doses:
    """Fluence, as a share of the greatest, of a screen that follows the tone by power: two tables
    of 65536, from frost and to frost."""

    of_frost: Floats
    to_frost: Floats


def compensate(
    frost: Floats,
    profile: GlassProfile,
    pitch_mm: float,
    *,
    strength: float,
    halo: float,
    low: float,
    high: float,
    doses: Doses | None = None,
) -> Floats:
    """The frost to ask for so that the glass shows `frost`; float32, rows x columns, 0 to 1.

    A first answer is the inverse of the spread as a Gaussian, capped at MOST_GAIN; then what is
    still missing after the spread is added (Landweber's iteration), which also makes good nearby
    what the bounds cut off. `strength` 0 changes nothing, 1 compensates in full. The answer stays
    within `halo` of what was wanted, within `low` and `high`, and bare glass (0) stays bare.
    `doses` are given where the power follows the tone: see `shown`.
    """
    axes = burning.all_softness(profile)
    if strength <= 0.0 or axes[0].deviation_mm / pitch_mm < _LEAST_SIGMA_PX:
        return frost
    taps = [sharpening_taps(axis, pitch_mm) for axis in axes]
    asked = _filtered(frost, *taps)
    with borrowed(frost.shape, 3) as (least, most, missing):
        np.maximum(np.subtract(frost, np.float32(halo), out=least), np.float32(low), out=least)
        np.minimum(np.add(frost, np.float32(halo), out=most), np.float32(high), out=most)
        _bound(asked, least, most)
        for step in STEPS if doses is None else POWER_STEPS:
            np.subtract(frost, shown(asked, profile, pitch_mm, doses), out=missing)
            np.multiply(missing, np.float32(step), out=missing)
            asked += missing
            _bound(asked, least, most)
    asked -= frost
    asked *= np.float32(strength)
    asked += frost
    asked[frost <= 0.0] = 0.0
    return asked


def shown(asked: Floats, profile: GlassProfile, pitch_mm: float, doses: Doses | None) -> Floats:
    """The frost that is left of an asked one after lag, beam and fracture, by tone.

    Dots are full power or none wherever they stand, so their frost is spread as it is. A power
    that follows the tone is spread while it is fluence, and the curve of `doses` comes after: dark
    detail beside light suffers another loss than light beside dark.
    """
    if doses is None:
        return burning.soften(asked, burning.all_softness(profile), pitch_mm)
    dose = burning.dose_shown(look_up(asked, doses.of_frost), profile, pitch_mm)
    return burning.blur_mm(look_up(dose, doses.to_frost), profile.spread_mm, pitch_mm)


def compensation_reach_mm(profile: GlassProfile, pitch_mm: float) -> float:
    """How far one place can influence another."""
    sigma_px = burning.all_softness(profile)[0].deviation_mm / pitch_mm
    return (TAPS_PER_SIGMA * 2 + len(POWER_STEPS) * 4 + 2) * max(sigma_px, 1.0) * pitch_mm


@attrs.frozen
class Modulation:
    """How much of the look's modulation the glass shows at a frequency, 1 for all of it."""

    cycles_per_mm: float
    without: float
    with_compensation: float


def modulation_kept(
    wanted: Floats, shown: Floats, pitch_mm: float, cycles_per_mm: float
) -> float | None:
    """Root of the ratio of two pictures' power in a band of 15 % round a frequency.

    None where the wanted picture has nothing there, or the pitch cannot carry the frequency.
    """
    if cycles_per_mm * 2.0 * pitch_mm >= 1.0:
        return None
    power = [_band_power(picture, pitch_mm, cycles_per_mm) for picture in (wanted, shown)]
    return None if power[0] < 1e-12 else float(np.sqrt(power[1] / power[0]))


@lru_cache(maxsize=8)
def sharpening_taps(axis: Softness, pitch_mm: float) -> NDArray[np.float32]:
    """One axis of the capped inverse of beam, fracture and lag: a symmetric filter that keeps the
    mean.

    In each axis the gain is the inverse of the transfer, rolled off towards the cap's square root,
    so that both axes together stay below MOST_GAIN; the lag is made up for on top of it, within the
    same bound.
    """
    size = 1024
    waves = np.fft.rfftfreq(size, pitch_mm).astype(np.float64)
    blur, lag = Softness(axis.sigma_mm), attrs.evolve(axis, sigma_mm=0.0)
    gain = _capped(blur.transfer(waves)) * _capped(lag.transfer(waves))
    response = np.fft.irfft(gain, size)
    half = max(3, int(np.ceil(TAPS_PER_SIGMA * axis.deviation_mm / pitch_mm)))
    taps = np.concatenate([response[-half:], response[: half + 1]])
    taps *= 0.5 + 0.5 * np.cos(np.pi * np.arange(-half, half + 1) / (half + 1))
    return np.asarray(taps / taps.sum(), np.float32)


def _capped(transfer: NDArray[np.float64]) -> NDArray[np.float64]:
    cap = np.sqrt(MOST_GAIN)
    gain = transfer / (transfer**2 + (1.0 / cap) ** 4 * (1.0 - transfer) ** 2)
    return np.asarray(np.minimum(gain, cap))


def _bound(values: Floats, least: Floats, most: Floats) -> None:
    np.maximum(values, least, out=values)
    np.minimum(values, most, out=values)


def _filtered(values: Floats, along: NDArray[np.float32], across: NDArray[np.float32]) -> Floats:
    filtered = cv2.sepFilter2D(values, cv2.CV_32F, along, across, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(filtered, np.float32)


def _band_power(picture: Floats, pitch_mm: float, cycles_per_mm: float) -> float:
    window = np.outer(np.hanning(picture.shape[0]), np.hanning(picture.shape[1]))
    centred = (picture - picture.mean()) * window
    spectrum = np.abs(np.fft.rfft2(centred)) ** 2
    down = np.fft.fftfreq(picture.shape[0], pitch_mm)[:, None]
    across = np.fft.rfftfreq(picture.shape[1], pitch_mm)[None, :]
    ratio = np.hypot(down, across) / cycles_per_mm
    return float(spectrum[(ratio > 0.85) & (ratio < 1.15)].sum())
