"""What the user says about a reading: values typed in, patches left out or taken in again."""

from collections.abc import Mapping

import attrs
import numpy as np

from engine.strip.fit_values import LineValue, Measured, Value
from engine.strip.read_result import Reading
from shared.strip import Strip

TYPED_SCATTER = 0.03
"""Standard error of a frost that somebody typed: about what an eye can tell (estimate)."""


@attrs.frozen
class Corrections:
    """By the number of the patch."""

    frost: Mapping[int, float] = attrs.field(factory=dict)
    """Values that replace what was read, 0 as bare glass, 1 as a solid patch."""
    used: Mapping[int, bool] = attrs.field(factory=dict)
    """Patches that shall count, or not, whatever the reading says."""

    def with_frost(self, patch: int, frost: float | None) -> "Corrections":
        """With another value, or none; a value that is typed counts."""
        values = {n: value for n, value in self.frost.items() if n != patch}
        used = {n: on for n, on in self.used.items() if n != patch}
        if frost is not None:
            values[patch] = frost
        return Corrections(values, used)

    def with_used(self, patch: int, on: bool) -> "Corrections":
        """With a patch taken in or left out."""
        return attrs.evolve(self, used={**self.used, patch: on})


@attrs.frozen
class Entry:
    """One patch as it stands."""

    frost: float | None
    used: bool
    by_hand: bool
    remark: str


def entries(strip: Strip, reading: Reading | None, corrections: Corrections) -> dict[int, Entry]:
    """All patches of which something is known or said."""
    found = {}
    for number in range(len(strip.patches)):
        read = reading.patches[number] if reading is not None else None
        known = None
        if read is not None and np.isfinite(read.frost):
            known = read.frost
        typed = corrections.frost.get(number)
        frost = typed if typed is not None else known
        if frost is None:
            continue
        counts = typed is not None or (read is not None and read.counts)
        used = corrections.used.get(number, counts)
        flags = "; ".join(read.flags) if read is not None else ""
        remark = "typed in" if typed is not None else flags
        found[number] = Entry(frost, used, typed is not None, remark)
    return found


def corrected(
    strip: Strip, reading: Reading | None, corrections: Corrections, source: str = ""
) -> Measured:
    """What counts after the user's corrections; without a reading, what was typed alone."""
    values, lines = [], []
    for number, entry in entries(strip, reading, corrections).items():
        if not entry.used or entry.frost is None:
            continue
        if entry.by_hand:
            values.append(Value(number, entry.frost, TYPED_SCATTER))
            continue
        assert reading is not None
        read = reading.patches[number]
        if strip.patches[number].kind != "lines":
            if np.isfinite(read.standard_error):
                values.append(Value(number, entry.frost, read.standard_error))
        elif read.modulation is not None and read.modulation_error is not None:
            lines.append(LineValue(number, read.modulation, read.modulation_error))
    over = reading.bare_over_solid if reading is not None else None
    return Measured(tuple(values), tuple(lines), over, source)
