"""What the user says about a strip: values typed in, patches left out or taken in again."""

from collections.abc import Mapping
from typing import Any

import attrs
import numpy as np

from engine.strip.by_hand import by_eye, typed
from engine.strip.fit_values import LineValue, Measured, Value
from engine.strip.read_result import Reading
from shared.strip import Strip

TYPED_SCATTER = 0.03
"""Standard error of a frost typed over a photo's: about what an eye can tell (estimate)."""
EYE = "eye"
"""The unit of values that are steps of a printed grey scale."""


def _as_tuple(values: Any) -> tuple[float, ...]:
    return tuple(float(value) for value in values)


@attrs.frozen
class Corrections:
    """By the number of the patch."""

    values: Mapping[int, float] = attrs.field(factory=dict)
    """Values typed in. Over a photo they are frost, 0 as bare glass and 1 as a solid patch."""
    used: Mapping[int, bool] = attrs.field(factory=dict)
    """Patches that shall count, or not, whatever the reading says."""
    unit: str = "frost"
    """Without a photo: one of by_hand.UNITS, or EYE."""
    scale: tuple[float, ...] = attrs.field(default=(), converter=_as_tuple)
    """CIE L*, or density, of the printed grey scale's steps."""

    def with_value(self, patch: int, value: float | None) -> "Corrections":
        """With another value, or none; a value that is typed counts."""
        return self.with_values({patch: value})

    def with_values(self, more: Mapping[int, float | None]) -> "Corrections":
        """With other values, or none, of several patches."""
        values = {n: known for n, known in self.values.items() if n not in more}
        values |= {n: value for n, value in more.items() if value is not None}
        used = {n: on for n, on in self.used.items() if n not in more}
        return attrs.evolve(self, values=values, used=used)

    def with_used(self, patch: int, on: bool) -> "Corrections":
        """With a patch taken in or left out."""
        return attrs.evolve(self, used={**self.used, patch: on})


@attrs.frozen
class Entry:
    """One patch as it stands."""

    value: float
    used: bool
    by_hand: bool
    remark: str


def entries(strip: Strip, reading: Reading | None, corrections: Corrections) -> dict[int, Entry]:
    """All patches of which something is known or said."""
    found = {}
    for number in range(len(strip.patches)):
        read = reading.patches[number] if reading is not None else None
        own = corrections.values.get(number)
        if own is not None:
            used = corrections.used.get(number, True)
            found[number] = Entry(own, used, True, "typed in")
        elif read is not None and np.isfinite(read.frost):
            used = corrections.used.get(number, read.counts)
            found[number] = Entry(read.frost, used, False, "; ".join(read.flags))
    return found


def corrected(
    strip: Strip, reading: Reading | None, corrections: Corrections, source: str = ""
) -> Measured:
    """What counts after the user's corrections; without a reading, what was typed alone.

    Raises InputError when typed values cannot be used.
    """
    known = entries(strip, reading, corrections)
    if reading is None:
        values = {number: entry.value for number, entry in known.items() if entry.used}
        if corrections.unit == EYE:
            return by_eye(strip, values, corrections.scale)
        return typed(strip, values, corrections.unit)
    counted, lines = [], []
    for number, entry in known.items():
        read = reading.patches[number]
        if not entry.used:
            continue
        if strip.patches[number].kind == "lines":
            if read.modulation is not None and read.modulation_error is not None:
                lines.append(LineValue(number, read.modulation, read.modulation_error))
        elif entry.by_hand:
            counted.append(Value(number, entry.value, TYPED_SCATTER))
        elif np.isfinite(read.standard_error):
            counted.append(Value(number, entry.value, read.standard_error))
    ends = reading.bare_over_solid
    return Measured(tuple(counted), tuple(lines), ends, source, reading.fingerprint)
