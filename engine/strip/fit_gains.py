"""Each screen's dot gain: what its drives came out as, between the steps as the model has it."""

from collections.abc import Sequence
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.glass import Ends
from engine.linearise import CORNERS, tone_curve
from engine.strip.fit_curve import BAD_WEIGHT, fit_rising
from engine.strip.fit_values import Value, frost_of_tone, tone_of, tone_scatter
from shared.profile import Gain, GlassProfile, ScreenGains
from shared.recipe import Screen
from shared.strip import Patch, Run, Strip

Doubles = NDArray[np.float64]

NODES = 41
FEWEST = 3
LEAN = 0.2
"""Nodes are even in the tone that the model gives, with so much of the drive added, since there it
need not rise: what readings tell then changes little from one node to the next."""
ENOUGH = 4
"""Steps of its own with which a setting needs nothing from another one."""
ELSEWHERE = 0.03
"""Share of the tone range by which a screen burnt at another setting may differ from what the
model carries over."""


@attrs.frozen(eq=False)
class GainFit:
    """One screen's points and the patches that disagreed with the rest."""

    gains: ScreenGains
    bad: tuple[int, ...]


def fit_gains(
    strip: Strip,
    values: Sequence[Value],
    profile: GlassProfile,
    ends: Ends,
    chosen: int,
    full: float,
    more: Sequence[tuple[str, Gain]] = (),
    only: str | None = None,
) -> list[GainFit]:
    """The dot gain of every screen burnt, at the chosen run's setting.

    `profile` has the fitted characteristic curve and no gains; its model gives the shape between
    the steps, the readings correct it (Murray-Davies: frost is the share between bare and full).
    Where a run has few steps of its own, those of the run that has most are carried over by the
    difference of both models.
    `full` is the fullest frost in the readings' units; `more` are points, in units of the fullest
    frost, that count beside the readings. `only` names the one screen to fit.
    """
    kinds = dict.fromkeys(p.screen for p in strip.patches if p.kind == "screen")
    kinds.update(dict.fromkeys(kind for kind, _ in more))
    fits = []
    for kind in kinds:
        if only not in (None, kind):
            continue
        screen = screen_named(kind, strip.screen)
        own = _Model(profile, screen, strip.pitch_mm, ends)
        points = _points(strip, values, profile, own, chosen, full)
        points += [
            _point(-1, gain.drive, gain.frost, gain.scatter, ends)
            for name, gain in more
            if name == kind
        ]
        if len({point.drive for point in points}) >= FEWEST:
            fits.append(_fit(kind, points, own))
    return fits


def with_bare_off(gains: ScreenGains, error: float) -> ScreenGains:
    """The same where frost 0 itself has an error, a share of frost 1, which all points share."""
    if not error:
        return gains
    points: Any = [
        attrs.evolve(
            point, scatter=min(1.0, float(np.hypot(point.scatter, error * (1 - point.frost))))
        )
        for point in gains.points
    ]
    return ScreenGains(gains.screen, points)


def set_to(profile: GlassProfile, run: Run, pitch_mm: float) -> GlassProfile:
    """The profile at a run's setting."""
    return attrs.evolve(profile, setting=run.setting_from(profile.setting, pitch_mm))


def screen_named(kind: str, wish: dict[str, object]) -> Screen:
    """The strip's own screen where it is of that kind, else that kind as it comes."""
    return Screen(**wish) if wish.get("kind") == kind else Screen(kind=kind)  # type: ignore[arg-type]


@attrs.frozen
class _Point:
    patch: int
    drive: float
    tone: float
    error: float


class _Model:
    """A screen's tone curve as the engine's model has it: tones by drive, and places by drive on
    the scale on which nodes are even."""

    def __init__(self, profile: GlassProfile, screen: Screen, pitch_mm: float, ends: Ends) -> None:
        self.screen, self.pitch_mm, self.ends = screen, pitch_mm, ends
        curve = tone_curve(attrs.evolve(profile, gains=()), screen, pitch_mm)
        self._drives, self._tones = curve.drives, tone_of(curve.frost, ends)
        self._places = self._tones + LEAN * curve.drives

    def __call__(self, drive: Any) -> Doubles:
        return np.asarray(np.interp(drive, self._drives, self._tones))

    def places(self, drives: Any) -> Doubles:
        return np.asarray(np.interp(drives, self._drives, self._places))

    def nodes(self) -> Doubles:
        """Drives at even places; the nearest one lies where a screen's dots cover all."""
        nodes = np.interp(np.linspace(0.0, self._places[-1], NODES), self._places, self._drives)
        corner = CORNERS.get(self.screen.kind)
        if corner is not None:
            nodes[np.argmin(np.abs(self.places(nodes) - self.places(corner)))] = corner
        return np.asarray(nodes)


def _points(
    strip: Strip,
    values: Sequence[Value],
    profile: GlassProfile,
    own: _Model,
    chosen: int,
    full: float,
) -> list[_Point]:
    kind = own.screen.kind
    mine = [v for v in values if _tells_of(strip.patches[v.patch], kind)]
    used = _runs_used([strip.patches[v.patch] for v in mine], chosen)
    found = []
    others: dict[int, _Model] = {}
    for value in mine:
        patch = strip.patches[value.patch]
        if patch.run not in used:
            continue
        drive = _drive(patch, kind)
        point = _point(value.patch, drive, value.frost / full, value.scatter / full, own.ends)
        if patch.run != chosen:
            if patch.run not in others:
                theirs = set_to(profile, strip.runs[patch.run], strip.pitch_mm)
                others[patch.run] = _Model(theirs, own.screen, strip.pitch_mm, own.ends)
            apart = float(own(drive) - others[patch.run](drive))
            point = attrs.evolve(
                point, tone=point.tone + apart, error=float(np.hypot(point.error, ELSEWHERE))
            )
        found.append(point)
    return found


def _tells_of(patch: Patch, kind: str) -> bool:
    """A screen's own patches; at full drive every screen is a solid, and where the mixed screen
    covers all it is plain power."""
    if patch.kind == "solid" or (patch.kind == "power" and kind == "mixed"):
        return True
    return patch.kind == "screen" and patch.screen == kind and patch.drive > 0.0


def _drive(patch: Patch, kind: str) -> float:
    """Of the screen, where it burns what the patch is."""
    if patch.kind != "power":
        return patch.drive
    corner = CORNERS[kind]
    return corner + (1.0 - corner) * patch.drive


def _runs_used(patches: list[Patch], chosen: int) -> set[int]:
    """The chosen run alone if it has enough steps of its own, else also the richest one."""
    own = {p.drive for p in patches if p.run == chosen and p.kind == "screen"}
    runs = [p.run for p in patches if p.kind == "screen"]
    if len(own) >= ENOUGH or not runs:
        return {chosen}
    return {chosen, max(sorted(set(runs)), key=runs.count)}


def _point(patch: int, drive: float, frost: float, scatter: float, ends: Ends) -> _Point:
    tone, error = tone_of(frost, ends), tone_scatter(frost, scatter, ends)
    return _Point(patch, drive, float(tone), float(error))


def _fit(kind: str, points: list[_Point], own: _Model) -> GainFit:
    nodes = own.nodes()
    fit = fit_rising(
        own.places(np.array([point.drive for point in points])),
        np.array([point.tone for point in points]),
        np.array([point.error for point in points]),
        own.places(nodes),
        own(nodes),
        from_zero=True,
    )
    frost = frost_of_tone(fit.values, own.ends)
    more = frost_of_tone(fit.values + fit.scatter, own.ends)
    gains: Any = [
        Gain(float(node), float(min(1.0, f)), float(np.clip(m - f, 0.0, 1.0)))
        for node, f, m in zip(nodes[1:], frost[1:], more[1:], strict=True)
    ]
    bad = [p.patch for p, trust in zip(points, fit.trust, strict=True) if trust < BAD_WEIGHT]
    return GainFit(ScreenGains(kind, gains), tuple(bad))
