"""How a number of the recipe is shown, and back: percent, inches, pixels per inch."""

import math
from collections.abc import Callable
from typing import Literal

import attrs

from shared import units
from shared.fields import Info
from shared.recipe import field_info

Units = Literal["mm", "in"]

COARSE_STEPS = 10
FINE_SHARE = 0.1
EXTRA_DIGITS = 2
"""Digits beyond those of one step that are shown when a value has them."""

_STORED_DIGITS = 9
_MOST_STEPS_OF_A_SLIDER = 2000
_LOG_RATIO = 40.0


@attrs.frozen
class Scale:
    """One number field as people see it: unit, step and range as shown, and both conversions."""

    unit: str
    step: float
    decimals: int
    low: float
    high: float
    to_shown: Callable[[float], float]
    to_stored: Callable[[float], float]

    def stepped(self, stored: float, steps: float) -> float:
        """The stored value some steps away, kept inside the range."""
        return self.stored_of(self.to_shown(stored) + steps * self.step)

    def stored_of(self, shown: float) -> float:
        """The stored value of a shown one, kept inside the range."""
        return self.to_stored(min(max(shown, self.low), self.high))

    def snapped(self, stored: float) -> float:
        """The nearest stored value that is a whole number of steps."""
        return self.stored_of(round(self.to_shown(stored) / self.step) * self.step)

    def digits(self, shown: float) -> int:
        """How many digits after the point show this value without hiding what was typed."""
        for digits in range(self.decimals, self.decimals + EXTRA_DIGITS):
            if abs(round(shown, digits) - shown) < 0.5 * 10.0 ** -(self.decimals + EXTRA_DIGITS):
                return digits
        return self.decimals + EXTRA_DIGITS

    def text(self, stored: float) -> str:
        """The value with its unit."""
        shown = self.to_shown(stored)
        return f"{shown:.{self.digits(shown)}f} {self.unit}".strip()


def scale_for(key: str, shown_units: Units = "mm") -> Scale:
    """The scale of the number field `group.field`.

    In inches the lengths of the plate are inches and its pitch is pixels per inch; sizes of
    detail stay in mm, where their numbers are handy.
    """
    info = field_info(key)
    if shown_units == "in" and key == "plate.pitch_mm":
        return _scale(info, "ppi", 1.0, 0, units.ppi_from_pitch, units.pitch_from_ppi)
    if shown_units == "in" and key.startswith("plate.") and info.unit == "mm":
        return _scale(info, "in", 0.01, 2, units.inches_from_mm, units.mm_from_inches)
    return _scale(
        info,
        info.unit,
        info.step * info.factor,
        info.decimals,
        lambda stored: stored * info.factor,
        lambda shown: shown / info.factor,
    )


def _scale(
    info: Info,
    unit: str,
    step: float,
    decimals: int,
    to_shown: Callable[[float], float],
    to_stored: Callable[[float], float],
) -> Scale:
    def stored(shown: float) -> float:
        return min(max(round(to_stored(shown), _STORED_DIGITS), info.low), info.high)

    low, high = sorted((to_shown(info.low), to_shown(info.high)))
    return Scale(unit, step, decimals, low, high, to_shown, stored)


def is_logarithmic(info: Info) -> bool:
    """Whether equal distances on the slider mean equal ratios; never for shares of a whole."""
    return info.high > 1 and info.low > 0 and info.high / info.low >= _LOG_RATIO


def has_slider(info: Info) -> bool:
    """Whether a slider of a hand's width can choose values of this range sensibly."""
    return (info.high - info.low) / info.step < _MOST_STEPS_OF_A_SLIDER - 0.5


def fraction_of(info: Info, value: float) -> float:
    """Where a value lies on the slider, from 0 to 1."""
    if is_logarithmic(info):
        return math.log(value / info.low) / math.log(info.high / info.low)
    return (value - info.low) / (info.high - info.low)


def value_at(info: Info, fraction: float) -> float:
    """The value at a place on the slider."""
    if is_logarithmic(info):
        return float(info.low * (info.high / info.low) ** fraction)
    return info.low + fraction * (info.high - info.low)
