"""Which figures of two profiles differ, as people read them."""

from collections.abc import Iterator

import attrs

from app.glass.profile_form import PARTS, WHOLE
from shared.profile import GlassProfile
from shared.profile_fields import Figure, figures
from shared.units import percent


@attrs.frozen
class Difference:
    """One figure, and what each profile says of it."""

    label: str
    first: str
    second: str


def differences(first: GlassProfile, second: GlassProfile) -> tuple[Difference, ...]:
    """Every figure that is not the same, in the order of the form."""
    return tuple(row for row in _rows(first, second) if row.first != row.second)


def _rows(first: GlassProfile, second: GlassProfile) -> Iterator[Difference]:
    whole = figures(GlassProfile)
    yield Difference("Origin", first.origin, second.origin)
    for name in WHOLE:
        yield _row(whole[name], "", first, second, name)
    for part, (heading, cls) in PARTS.items():
        for name, figure in figures(cls).items():
            yield _row(figure, heading, getattr(first, part), getattr(second, part), name)
    yield Difference("Curve: measured points", _knots(first), _knots(second))
    yield _row(whole["spread_mm"], "", first, second, "spread_mm")
    for screen in sorted({g.screen for g in (*first.gains, *second.gains)}):
        yield Difference(f"Dot gain: {screen}", _gains(first, screen), _gains(second, screen))


def _row(figure: Figure, heading: str, first: object, second: object, name: str) -> Difference:
    label = f"{heading}: {figure.label.lower()}" if heading else figure.label
    return Difference(
        label, figure.shown(getattr(first, name)), figure.shown(getattr(second, name))
    )


def _knots(profile: GlassProfile) -> str:
    knots = sorted(profile.knots, key=lambda knot: knot.fluence_j_mm2)
    return ", ".join(f"{k.fluence_j_mm2:.4g}: {percent(k.frost, 1)}" for k in knots) or "none"


def _gains(profile: GlassProfile, screen: str) -> str:
    points = sorted(profile.gains_of(screen), key=lambda point: point.drive)
    return ", ".join(f"{percent(p.drive)}: {percent(p.frost, 1)}" for p in points) or "none"
