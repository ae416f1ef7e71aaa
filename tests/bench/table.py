"""Rows of the bench's table, and how two ways of doing the same are held against each other."""

import statistics
import time
from collections.abc import Callable, Iterable, Sequence

import attrs


@attrs.frozen
class Row:
    """One line: what was measured, against what, and whether that is good enough."""

    what: str
    measured: float
    unit: str
    target: float
    reference: float | None = None
    note: str = ""

    @property
    def ratio(self) -> float | None:
        """Measured over reference."""
        return None if self.reference is None else self.measured / self.reference

    @property
    def met(self) -> bool:
        """Whether the ratio, or without a reference the measured value, is within the target."""
        return (self.measured if self.ratio is None else self.ratio) <= self.target


@attrs.frozen
class Pairs:
    """Seconds of two ways of doing the same, measured in turns."""

    ours: tuple[float, ...]
    plain: tuple[float, ...]

    def row(self, what: str, target: float, note: str = "") -> Row:
        """The medians of both. Machines are shared: only the ratio means much."""
        ours, plain = statistics.median(self.ours), statistics.median(self.plain)
        return Row(what, ours * 1e3, "ms", target, plain * 1e3, note)


def in_turns(moves: Iterable[tuple[Callable[[], object], Callable[[], object]]]) -> Pairs:
    """Time ours and plain one after the other; every second time the other one goes first."""
    ours: list[float] = []
    plain: list[float] = []
    for number, (first, second) in enumerate(moves):
        if number % 2:
            plain.append(seconds(second))
            ours.append(seconds(first))
        else:
            ours.append(seconds(first))
            plain.append(seconds(second))
    return Pairs(tuple(ours), tuple(plain))


def seconds(work: Callable[[], object]) -> float:
    """How long one call takes."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def percentile(values: Sequence[float], share: float) -> float:
    """The smallest of the values that at least this share of them does not exceed."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def lines(rows: Iterable[Row]) -> list[str]:
    """The table as text."""
    form = "{:<58} {:>12} {:>12} {:>7} {:>8}  {:<6} {}"
    head = form.format("what", "measured", "reference", "ratio", "target", "met", "note")
    result = [head, "-" * len(head)]
    for row in rows:
        reference = "" if row.reference is None else f"{row.reference:.2f} {row.unit}"
        ratio = "" if row.ratio is None else f"{row.ratio:.2f}"
        target = f"{row.target:g}{' x' if row.ratio is not None else ''}"
        measured = f"{row.measured:.2f} {row.unit}"
        met = "yes" if row.met else "NO"
        result.append(
            form.format(row.what, measured, reference, ratio, target, met, row.note).rstrip()
        )
    return result
