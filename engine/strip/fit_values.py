"""What was measured on a strip, by whatever means, and the scale on which it is fitted."""

from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.colour import lightness_from_luminance
from engine.glass import Ends
from engine.strip.read_result import Reading
from shared.errors import InputError
from shared.strip import Strip

Doubles = NDArray[np.float64]

LEAST_SCATTER = 0.002
"""No reading of a frost is better than this."""
LEAST_TONE_SCATTER = 0.004
"""No reading of a tone is better than this share of the whole range."""


@attrs.frozen
class Value:
    """One patch: its number in the strip, its frost (0 bare, 1 full) and its standard error."""

    patch: int
    frost: float
    scatter: float = LEAST_SCATTER


@attrs.frozen
class LineValue:
    """One patch of lines: how much of a full step the lines still swing, peak to peak of the
    fundamental (an ideal square wave has 4 / pi), and its standard error."""

    patch: int
    modulation: float
    error: float


@attrs.frozen
class Measured:
    """All that was measured on one strip."""

    values: tuple[Value, ...]
    lines: tuple[LineValue, ...] = ()
    bare_over_full: float | None = None
    """Luminance of bare glass over that of frost 1; None when nobody knows."""
    source: str = ""
    """Where the figures come from, in words for the profile's note."""
    fingerprint: int = 0
    """Of the readings before anybody corrected them; 0 where nobody knows."""
    by_hand: bool = False
    """Whether people read all of it, by an instrument or by eye."""
    bare_error: float = 0.0
    """Standard error of frost 0, a share of frost 1, by which all that is dark is off alike."""
    error_l: float = 0.0
    """What readings by hand, and that of bare glass, are off by rounding, by the eye and from one
    to the next, L*, typical standard error."""
    doubts: tuple[str, ...] = ()
    """Sentences of warning about the readings."""

    @property
    def patches_read(self) -> int:
        """How many patches these are, those of lines too."""
        return len(self.values) + len(self.lines)


def measured_of(reading: Reading, strip: Strip, source: str = "") -> Measured:
    """What a photograph gave, without the patches that do not count."""
    values, lines = [], []
    for number, (patch, found) in enumerate(zip(strip.patches, reading.patches, strict=True)):
        if not found.counts:
            continue
        if patch.kind == "lines":
            if found.modulation is not None and found.modulation_error is not None:
                lines.append(LineValue(number, found.modulation, found.modulation_error))
        elif np.isfinite(found.frost) and np.isfinite(found.standard_error):
            values.append(Value(number, found.frost, found.standard_error))
    ends = reading.bare_over_solid
    return Measured(tuple(values), tuple(lines), ends, source, reading.fingerprint)


def checked(strip: Strip, measured: Measured) -> Measured:
    """The same, if every patch is there. Raises InputError for one that is not."""
    for number in [v.patch for v in measured.values] + [v.patch for v in measured.lines]:
        if not 0 <= number < len(strip.patches):
            raise InputError(f"The strip has no patch {number + 1}; it has {len(strip.patches)}.")
    return measured


def tone_of(frost: Any, ends: Ends) -> Doubles:
    """Frost on the even scale of CIE L*: 0 at bare glass, 1 at frost 1; goes on beyond both."""
    share = np.asarray(frost, np.float64)
    low, high = lightness_from_luminance(np.array([ends.unmarked, ends.marked]))
    light = lightness_from_luminance(
        np.maximum(ends.unmarked + (ends.marked - ends.unmarked) * np.maximum(share, 0.0), 0.0)
    )
    tone = (light - low) / (high - low)
    return np.asarray(np.where(share < 0.0, share * _slope_at_bare(ends), tone))


def frost_of_tone(tone: Any, ends: Ends) -> Doubles:
    """The inverse of `tone_of`, for tones of 0 or more."""
    fine = np.concatenate([np.linspace(0.0, 0.05, 501)[:-1], np.linspace(0.05, 1.5, 2001)])
    return np.asarray(np.interp(np.asarray(tone, np.float64), tone_of(fine, ends), fine))


def tone_scatter(frost: Any, scatter: Any, ends: Ends) -> Doubles:
    """The standard error of a tone, from that of its frost."""
    share = np.clip(np.asarray(frost, np.float64), 0.0, None)
    error = np.maximum(np.asarray(scatter, np.float64), LEAST_SCATTER)
    spread = (tone_of(share + error, ends) - tone_of(share, ends)) * 0.5
    spread = spread + 0.5 * (tone_of(share, ends) - tone_of(share - error, ends))
    return np.asarray(np.hypot(spread, LEAST_TONE_SCATTER))


def _slope_at_bare(ends: Ends) -> float:
    step = 1e-3
    low, high = lightness_from_luminance(np.array([ends.unmarked, ends.marked]))
    beyond = lightness_from_luminance(ends.unmarked + (ends.marked - ends.unmarked) * step)
    return float((beyond - low) / (high - low) / step)
