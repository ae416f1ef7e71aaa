"""One axis of a plot: where a value lies on it, and which values are written at it."""

import math

import attrs

_MANTISSAS = ((1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0), (1.0, 2.0, 5.0), (1.0, 3.0), (1.0,))


@attrs.frozen
class Axis:
    """From `low` to `high`, even or by decades."""

    low: float
    high: float
    by_decades: bool = False

    def share(self, value: float) -> float:
        """How far along the axis a value lies, 0 to 1; beyond its ends, the nearest end."""
        if self.by_decades:
            value = max(value, self.low)
            share = math.log(value / self.low) / math.log(self.high / self.low)
        else:
            share = (value - self.low) / (self.high - self.low)
        return min(max(share, 0.0), 1.0)

    def ticks(self, most: int) -> list[float]:
        """Round values along the axis, at most so many where possible."""
        return self._decades(most) if self.by_decades else self._even(most)

    def _even(self, most: int) -> list[float]:
        parts = next((n for n in (4, 2) if n < most), 1)
        return [self.low + (self.high - self.low) * i / parts for i in range(parts + 1)]

    def _decades(self, most: int) -> list[float]:
        for mantissas in _MANTISSAS:
            found = self._multiples(mantissas)
            if len(found) <= most:
                return found
        return found[:: math.ceil(len(found) / max(most, 1))]

    def _multiples(self, mantissas: tuple[float, ...]) -> list[float]:
        first, last = math.floor(math.log10(self.low)), math.ceil(math.log10(self.high))
        every = [m * 10.0**decade for decade in range(first, last + 1) for m in mantissas]
        slack = 1e-9
        return [v for v in every if self.low * (1 - slack) <= v <= self.high * (1 + slack)]
