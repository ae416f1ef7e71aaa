"""The characteristic curve from patches of plain power: all runs on one scale of fluence."""

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.glass import Ends
from engine.strip.fit_curve import RisingFit, fit_rising
from engine.strip.fit_shape import (
    DECADES,
    USUAL_DECADES,
    Flaking,
    first_guess,
    fullest,
    least,
    standard_errors,
    weibull,
)
from engine.strip.fit_values import Value, frost_of_tone, tone_of, tone_scatter
from shared.errors import InputError
from shared.profile import GlassProfile, Knot
from shared.strip import Strip

Doubles = NDArray[np.float64]

NODES = 41
FEWEST = 4
"""Different fluences below which no curve is fitted."""
ELSEWHERE = 0.008
"""Share of the tone range by which a run of another setting may differ for reasons of its own."""
MOST_RECIPROCITY = 0.25
LEAST_LOSS = 0.04
"""Frost that must be lost beyond the peak before it counts as flaking."""


FLAKED = 0.5
"""Share of the tone range by which a reading may be off for each share of its frost that came off:
the law of flaking is a rough one (starting guess)."""


@attrs.frozen(eq=False)
class Dose:
    """Readings of plain power, one entry each."""

    patch: NDArray[np.int64]
    run: NDArray[np.int64]
    log_fluence: Doubles
    log_speed: Doubles
    """log10 of the run's speed over that of the chosen run."""
    frost: Doubles
    scatter: Doubles

    def __len__(self) -> int:
        return self.patch.size

    def only(self, where: NDArray[np.bool_]) -> "Dose":
        """Some of the readings."""
        return Dose(*(getattr(self, field.name)[where] for field in attrs.fields(Dose)))


@attrs.frozen(eq=False)
class PowerFit:
    """The characteristic curve at the chosen setting's speed."""

    curve: RisingFit
    """Tone against log10 fluence, flaking taken out."""
    ends: Ends
    reciprocity: float
    reciprocity_error: float
    flaking_j_mm2: float
    flaking_decades: float
    flakes: bool
    full: float
    """The fullest frost that the glass can have, in the readings' units."""
    doses: Dose

    def frost_at(self, log_fluence: Doubles) -> Doubles:
        """Frost in the readings' units, flaking taken out."""
        return frost_of_tone(self.curve(log_fluence), self.ends)

    def with_bare_off(self, error: float) -> "PowerFit":
        """The same where frost 0 itself has an error, a share of frost 1, which all readings share:
        more readings do not make it less."""
        if not error:
            return self
        frost = self.frost_at(self.curve.at)
        alike = tone_of(frost + error * np.maximum(1.0 - frost, 0.0), self.ends) - self.curve.values
        scatter = np.hypot(self.curve.scatter, alike)
        return attrs.evolve(self, curve=attrs.evolve(self.curve, scatter=scatter))

    @property
    def growth(self) -> float:
        """Share of its frost that the strongest dose owes to its last fifth; 0 on glass that is
        full or flakes."""
        most = self.curve.at[-1]
        less, frost = self.frost_at(most + np.log10([0.8, 1.0]))
        return 0.0 if self.flakes or frost <= 0.0 else float(1.0 - less / frost)

    def knots(self) -> list[Knot]:
        """The curve's nodes with their scatter; 1 is the fullest frost."""
        tones, errors = self.curve.values, self.curve.scatter
        frost = frost_of_tone(tones, self.ends) / self.full
        upper = frost_of_tone(tones + errors, self.ends) / self.full
        fluence = 10.0**self.curve.at
        return [
            Knot(float(at), float(min(1.0, share)), float(np.clip(more - share, 0.0, 1.0)))
            for at, share, more in zip(fluence, frost, upper, strict=True)
        ]


def doses_of(strip: Strip, values: Sequence[Value], profile: GlassProfile, chosen: int) -> Dose:
    """The values of `power` and `solid` patches that fired, with their fluences."""
    rows = []
    for value in values:
        patch = strip.patches[value.patch]
        if patch.kind not in ("power", "solid"):
            continue
        run = strip.runs[patch.run]
        percent = run.power_pct(patch.fired)
        if patch.fired <= 0.0 or percent < profile.machine.firing_floor_pct:
            continue
        watts = profile.machine.rated_w * percent / 100.0
        fluence = watts / (run.speed_mm_s * strip.pitch_mm)
        speed = run.speed_mm_s / strip.runs[chosen].speed_mm_s
        rows.append(
            (value.patch, patch.run, np.log10(fluence), np.log10(speed), value.frost, value.scatter)
        )
    columns = [np.array(column) for column in zip(*rows, strict=True)] or [np.empty(0)] * 6
    return Dose(columns[0].astype(np.int64), columns[1].astype(np.int64), *columns[2:])


def fit_power(doses: Dose, ends: Ends, chosen: int, flaking_j_mm2: float) -> PowerFit:
    """Fit the characteristic curve. Raises InputError when there is too little to fit.

    `flaking_j_mm2` is what was thought before; it stays unless the readings say otherwise.
    Reciprocity: the fluence counts (speed / chosen speed) ^ r more, as in photography
    (Schwarzschild 1900); r is told by readings below flaking, and drawn towards 0 by its standard
    error e: r (1 - e^2 / r^2), 0 where e is larger (James and Stein 1961, positive part).
    """
    if np.unique(np.round(doses.log_fluence, 3)).size < FEWEST:
        raise InputError(
            f"Fewer than {FEWEST} patches of different power were read: photograph the strip "
            "again, or type in the readings of more patches."
        )
    start = first_guess(doses.log_fluence, doses.frost)
    exponent, error = _reciprocity(below_flaking(doses), ends, start)
    logs = doses.log_fluence + exponent * doses.log_speed
    flaking = _flaking(logs, doses)
    loss = np.ones(len(doses)) if flaking is None else flaking.kept(logs)
    tones = tone_of(doses.frost / loss, ends)
    errors = tone_scatter(doses.frost / loss, doses.scatter / loss, ends)
    errors = np.hypot(errors, FLAKED * (1.0 - loss))
    apart = np.hypot(errors, ELSEWHERE)
    nodes = np.linspace(logs.min(), logs.max(), NODES)
    shape = _shape(logs, tones, apart, ends, start)
    base = tone_of(weibull(nodes, *shape), ends)
    curve = fit_rising(logs, tones, np.where(doses.run == chosen, errors, apart), nodes, base)
    highest = float(10.0 ** logs.max())
    known = max(flaking_j_mm2, 1.05 * highest) if flaking is None else 10.0**flaking.log_fluence
    width = USUAL_DECADES if flaking is None else flaking.decades
    left = np.ones(NODES) if flaking is None else flaking.kept(nodes)
    seen = float(np.max(frost_of_tone(curve.values, ends) * left))
    if seen <= 0.02:
        raise InputError(
            "No patch of the strip is frosted: raise the power or go slower, and burn another."
        )
    flakes = flaking is not None
    full = fullest(logs, doses.frost, doses.scatter, seen, flakes=flakes)
    return PowerFit(curve, ends, exponent, error, known, width, flakes, full, doses)


def _shape(
    logs: Doubles, tones: Doubles, errors: Doubles, ends: Ends, start: list[float]
) -> Doubles:
    def apart(figures: Doubles) -> Doubles:
        return np.asarray((tone_of(weibull(logs, *figures), ends) - tones) / errors)

    return np.asarray(least(apart, start).x)


def tones_told(doses: Dose, ends: Ends) -> tuple[Doubles, Doubles]:
    """The readings as tones, and by how much each may be off beside other runs."""
    errors = np.hypot(tone_scatter(doses.frost, doses.scatter, ends), ELSEWHERE)
    return tone_of(doses.frost, ends), errors


def _reciprocity(doses: Dose, ends: Ends, start: list[float]) -> tuple[float, float]:
    """The exponent and its standard error; 0 and infinity when the strip has one speed."""
    if np.ptp(doses.log_speed) < 0.02:
        return 0.0, float("inf")
    tones, errors = tones_told(doses, ends)

    def apart(figures: Doubles) -> Doubles:
        logs = doses.log_fluence + figures[5] * doses.log_speed
        return np.asarray((tone_of(weibull(logs, *figures[:5]), ends) - tones) / errors)

    found = least(apart, [*start, 0.0], (-MOST_RECIPROCITY, MOST_RECIPROCITY))
    error = float(standard_errors(found, len(doses))[5])
    exponent = float(found.x[5])
    return exponent * max(0.0, 1.0 - (error / max(abs(exponent), 1e-9)) ** 2), error


def below_flaking(doses: Dose) -> Dose:
    """The readings of frost that is whole; all, where too few are."""
    if len(doses) < FEWEST:
        return doses
    flaking = _flaking(doses.log_fluence, doses)
    whole = doses.log_fluence < (np.inf if flaking is None else flaking.log_fluence)
    return doses.only(whole) if np.count_nonzero(whole) >= FEWEST else doses


def _flaking(logs: Doubles, doses: Dose) -> Flaking | None:
    """From where on frost falls again, and how fast; None when it does not."""
    order = np.argsort(logs)
    sorted_logs, frost = logs[order], doses.frost[order]
    places, means = _means(sorted_logs, frost)
    peak = int(np.argmax(_smooth3(means)))
    beyond = means[peak + 1 :]
    if beyond.size < 2 or means[peak] - np.median(beyond[-2:]) < LEAST_LOSS * means[peak]:
        return None
    after = sorted_logs >= places[peak]
    candidates = [
        Flaking(float(place), float(width))
        for place in np.linspace(places[peak] - 0.2, places[-1], 81)
        for width in np.geomspace(*DECADES, 9)
    ]
    top, at, seen = means[peak], sorted_logs[after], frost[after]
    return min(candidates, key=lambda found: float(np.abs(top * found.kept(at) - seen).sum()))


def _means(places: Doubles, values: Doubles) -> tuple[Doubles, Doubles]:
    """Medians of readings that lie within a fiftieth of a decade."""
    groups = np.cumsum(np.concatenate([[0.0], np.diff(places) > 0.02])).astype(int)
    number = np.arange(groups[-1] + 1)
    at = np.array([places[groups == g].mean() for g in number])
    return at, np.array([np.median(values[groups == g]) for g in number])


def _smooth3(values: Doubles) -> Doubles:
    if values.size < 3:
        return values
    padded = np.concatenate([values[:1], values, values[-1:]])
    return np.asarray(np.median(np.stack([padded[:-2], padded[1:-1], padded[2:]]), axis=0))
