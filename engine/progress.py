"""How long work tells how far it has come."""

from collections.abc import Callable

Progress = Callable[[float], None]
"""Called with the share that is done, 0 to 1; may raise `Cancelled`, which ends the work."""


def unheard(_: float) -> None:
    """For work whose progress nobody asked for."""


def part(report: Progress, low: float, high: float) -> Progress:
    """What a part of the work calls with its own share: it goes from `low` to `high` of all."""
    return lambda share: report(low + (high - low) * share)
