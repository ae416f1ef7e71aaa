"""The characteristic curve from patches of plain power: all runs on one scale of fluence."""

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.glass import Ends
from engine.strip.fit_curve import RisingFit, fit_rising
from engine.strip.fit_shape import first_guess, fullest, kept, least, weibull
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
SIGNIFICANT = 9.0
"""Fall of the misfit that an additional figure has to bring: three standard errors, squared."""
LEAST_LOSS = 0.04
"""Frost that must be lost beyond the peak before it counts as flaking."""


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


@attrs.frozen(eq=False)
class PowerFit:
    """The characteristic curve at the chosen setting's speed."""

    curve: RisingFit
    """Tone against log10 fluence, flaking taken out."""
    ends: Ends
    reciprocity: float
    reciprocity_error: float
    flaking_j_mm2: float
    flakes: bool
    full: float
    """The fullest frost that the glass can have, in the readings' units."""
    doses: Dose

    def frost_at(self, log_fluence: Doubles) -> Doubles:
        """Frost in the readings' units, flaking taken out."""
        return frost_of_tone(self.curve(log_fluence), self.ends)

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
        drive = 1.0 if patch.kind == "solid" else patch.drive
        percent = run.power_min_pct + (run.power_max_pct - run.power_min_pct) * drive
        if drive <= 0.0 or percent < profile.machine.firing_floor_pct:
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
    (Schwarzschild 1900); r is kept only if it is larger than three of its standard errors.
    """
    if np.unique(np.round(doses.log_fluence, 3)).size < FEWEST:
        raise InputError(
            f"Fewer than {FEWEST} patches of different power were read: photograph the strip "
            "again, or type in the readings of more patches."
        )
    start = first_guess(doses.log_fluence, doses.frost)
    exponent, error = _reciprocity(doses, ends, start)
    logs = doses.log_fluence + exponent * doses.log_speed
    flaking = _flaking(logs, doses)
    loss = np.ones(len(doses)) if flaking is None else kept(logs, np.log10(flaking))
    tones = tone_of(doses.frost / loss, ends)
    errors = tone_scatter(doses.frost / loss, doses.scatter / loss, ends)
    apart = np.hypot(errors, ELSEWHERE)
    nodes = np.linspace(logs.min(), logs.max(), NODES)
    shape = _shape(logs, tones, apart, ends, start)
    base = tone_of(weibull(nodes, *shape), ends)
    curve = fit_rising(logs, tones, np.where(doses.run == chosen, errors, apart), nodes, base)
    highest = float(10.0 ** logs.max())
    known = flaking if flaking is not None else max(flaking_j_mm2, 1.05 * highest)
    left = np.ones(NODES) if flaking is None else kept(nodes, np.log10(flaking))
    seen = float(np.max(frost_of_tone(curve.values, ends) * left))
    if seen <= 0.02:
        raise InputError(
            "No patch of the strip is frosted: raise the power or go slower, and burn another."
        )
    full = fullest(logs, doses.frost, doses.scatter, seen)
    return PowerFit(curve, ends, exponent, error, known, flaking is not None, full, doses)


def _shape(
    logs: Doubles, tones: Doubles, errors: Doubles, ends: Ends, start: list[float]
) -> Doubles:
    def apart(figures: Doubles) -> Doubles:
        return np.asarray((tone_of(weibull(logs, *figures), ends) - tones) / errors)

    return np.asarray(least(apart, start).x)


def _reciprocity(doses: Dose, ends: Ends, start: list[float]) -> tuple[float, float]:
    """The exponent and its standard error; 0 and infinity when the strip has one speed."""
    if np.ptp(doses.log_speed) < 0.02:
        return 0.0, float("inf")
    tones = tone_of(doses.frost, ends)
    errors = np.hypot(tone_scatter(doses.frost, doses.scatter, ends), ELSEWHERE)

    def apart(figures: Doubles) -> Doubles:
        logs = doses.log_fluence + figures[5] * doses.log_speed
        return np.asarray((tone_of(weibull(logs, *figures[:5]), ends) - tones) / errors)

    found = least(apart, [*start, 0.0], (-MOST_RECIPROCITY, MOST_RECIPROCITY))
    weighted = found.jac
    normal = weighted.T @ weighted + 1e-9 * np.eye(6)
    worth = max(1.0, 2.0 * found.cost / max(1, len(doses) - 6))
    error = float(np.sqrt(np.linalg.inv(normal)[5, 5] * worth))
    exponent = float(found.x[5])
    if exponent**2 < SIGNIFICANT * error**2:
        return 0.0, error
    return exponent, error


def _flaking(logs: Doubles, doses: Dose) -> float | None:
    """The fluence from which frost falls again; None when it does not."""
    order = np.argsort(logs)
    sorted_logs, frost = logs[order], doses.frost[order]
    places, means = _means(sorted_logs, frost)
    peak = int(np.argmax(_smooth3(means)))
    beyond = means[peak + 1 :]
    if beyond.size < 2 or means[peak] - np.median(beyond[-2:]) < LEAST_LOSS * means[peak]:
        return None
    after = sorted_logs >= places[peak]
    candidates = np.linspace(places[peak] - 0.2, places[-1], 81)
    top = means[peak]
    costs = [
        float(np.abs(top * kept(sorted_logs[after], f) - frost[after]).sum()) for f in candidates
    ]
    return float(10.0 ** candidates[int(np.argmin(costs))])


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
