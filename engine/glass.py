"""The etched glass: how light its two ends are, what a look asks of the laser, how it is seen.

Reflectances are shares of the light that falls on the piece. The chain is

    look -> CIE L* between the two ends -> reflectance -> mark (frost, share of the surface)

and back; how the laser makes that frost is told in `drive`.
"""

from functools import lru_cache
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.colour import (
    lightness_from_luminance,
    look_up,
    luminance_from_lightness,
    srgb_encode,
)
from shared.profile import Light

_CODES = np.arange(65536) / 65535.0
_WHITE_AT = 0.9
"""The lightest tone of a proof is shown at this share of the screen's white, as a photograph of
the piece would be exposed."""


@attrs.frozen
class Ends:
    """Reflectance of glass that the laser leaves alone, and of full marking."""

    unmarked: float
    marked: float

    @property
    def low(self) -> float:
        """The darker end: where the look is 0."""
        return min(self.unmarked, self.marked)

    @property
    def high(self) -> float:
        """The lighter end: where the look is 1."""
        return max(self.unmarked, self.marked)

    @property
    def lightness_range(self) -> float:
        """Distance of the two ends in CIE L*."""
        low, high = lightness_from_luminance(np.array([self.low, self.high]))
        return float(high - low)


def ends(light: Light, backing: float, mark: str) -> Ends:
    """How light bare glass and the fullest mark are.

    A light mark is frost on a backing of reflectance `backing` (0 to 1): light reaches the backing
    and returns through what the surface lets pass, with the reflections between the two summed
    (the geometric series of a layer on a substrate, Kubelka 1948; common practice in optics).
    A dark mark is frost before a light: it holds back what bare glass lets straight through.
    """
    frost = light.frost_reflectance
    if mark == "dark":
        return Ends(
            unmarked=light.transmittance,
            marked=light.transmittance * light.frost_see_through,
        )
    veil, through = light.veil_reflectance, light.transmittance
    return Ends(
        unmarked=veil + through**2 * backing / (1.0 - veil * backing),
        marked=frost + (1.0 - frost) ** 2 * backing / (1.0 - frost * backing),
    )


def mark_from_look(look: NDArray[Any], glass: Ends) -> NDArray[np.float32]:
    """The share of the surface to mark, 0 to 1, float32, that gives a look.

    `look` is float32 from 0 to 1, or uint16 up to 65535; both give the same.
    The look is linear in CIE L* between the two ends, the mark in reflectance (Murray-Davies).
    """
    return _looked_up(look, _mark_table(glass))


def look_from_mark(mark: NDArray[Any], glass: Ends) -> NDArray[np.float32]:
    """The look, 0 to 1, that a share of marked surface gives; the inverse of `mark_from_look`."""
    return _looked_up(mark, _look_table(glass))


def lightness_of_mark(mark: NDArray[Any], glass: Ends) -> NDArray[np.float64]:
    """CIE L* of marked surface, by reflectance between the two ends (Murray-Davies)."""
    share = np.asarray(mark, np.float64)
    return np.asarray(
        lightness_from_luminance(glass.unmarked + (glass.marked - glass.unmarked) * share)
    )


def shown_mark(mark: NDArray[Any], glass: Ends) -> NDArray[np.uint8]:
    """A proof of marked surface: sRGB grey codes, uint8, of the glass as it is seen."""
    return _looked_up(mark, _shown_mark_table(glass))


def bare_code(glass: Ends) -> int:
    """The sRGB code at which a proof shows glass that the laser leaves alone."""
    return int(_shown_mark_table(glass)[0])


def _looked_up(values: NDArray[Any], table: NDArray[Any]) -> NDArray[Any]:
    return look_up(np.asarray(values, np.float32), table)


def _reflectance_of_look(look: NDArray[Any], glass: Ends) -> NDArray[np.float64]:
    low, high = lightness_from_luminance(np.array([glass.low, glass.high]))
    return np.asarray(luminance_from_lightness(low + (high - low) * look))


@lru_cache(maxsize=8)
def _mark_table(glass: Ends) -> NDArray[np.float32]:
    reflectance = _reflectance_of_look(_CODES, glass)
    mark = (reflectance - glass.unmarked) / (glass.marked - glass.unmarked)
    return np.clip(mark, 0.0, 1.0).astype(np.float32)


@lru_cache(maxsize=8)
def _look_table(glass: Ends) -> NDArray[np.float32]:
    reflectance = glass.unmarked + (glass.marked - glass.unmarked) * _CODES
    low, high = lightness_from_luminance(np.array([glass.low, glass.high]))
    look = (lightness_from_luminance(reflectance) - low) / (high - low)
    return np.asarray(np.clip(look, 0.0, 1.0), np.float32)


@lru_cache(maxsize=8)
def _shown_mark_table(glass: Ends) -> NDArray[np.uint8]:
    return _exposed(glass.unmarked + (glass.marked - glass.unmarked) * _CODES, glass)


def _exposed(reflectance: NDArray[np.float64], glass: Ends) -> NDArray[np.uint8]:
    encoded = srgb_encode(np.clip(reflectance / glass.high * _WHITE_AT, 0.0, 1.0))
    return np.round(encoded * 255.0).astype(np.uint8)
