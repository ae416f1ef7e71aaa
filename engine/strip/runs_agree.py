"""How well the runs of a strip agree on one glass: by how much power one lies beside the others."""

import numpy as np
from numpy.typing import NDArray

from engine.glass import Ends
from engine.strip.fit_power import MOST_RECIPROCITY, Dose, below_flaking, tones_told
from engine.strip.fit_shape import first_guess, least, standard_errors, weibull
from engine.strip.fit_values import tone_of
from shared.errors import InputError
from shared.units import percent

Doubles = NDArray[np.float64]

SHOWS, SPOILS = 0.015, 0.04
"""Decades of power by which a run beside the others is warned of, and spoils the strip: 3.5 and
10 %. Runs that were burnt alike stay below 0.007 (virtual sheets)."""
SURE = 3.0
"""Standard errors by which it must be beside them."""
_FARTHEST = 0.6
_FIGURES = 5
"""Of the law."""
_SPARE = 4
"""Readings beyond the figures that are fitted, without which nothing tells how good they are."""
_FEWEST, _MARKED = 3, 0.25
"""Readings of a run, of this share of the fullest frost and more, without which nobody knows where
it lies."""
_MEAN = 1e-3
"""How closely the mean of all runs is held: what all are off by cannot be known."""
_RATHER_NONE = 1e-3
"""Decades that a whole unit of reciprocity must save, so that none is taken where it saves
nothing."""

_SPOILT = (
    "The runs do not agree: run {run} frosted the glass as if its power had been {share} of its "
    "setting, held against {others}. Burn another strip with the tube warm, each run at the "
    "setting that the placement sheet names for it."
)
_UNSTEADY = (
    "Run {run} frosted the glass as if its power had been {share} of its setting, held against "
    "{others}; the profile is as far off as that. If the tube was cold or another setting was "
    "burnt, burn another strip."
)


def unsteady(doses: Dose, ends: Ends) -> str:
    """A warning of the run that lies farthest beside the others; empty where all agree.

    ends: what frost 0 and 1 of the readings are in luminance. Raises InputError where a run lies
    so far beside that the strip cannot be trusted.
    """
    whole = _telling(below_flaking(doses))
    runs = np.unique(whole.run)
    if runs.size < 2 or len(whole) < runs.size + _FIGURES + _SPARE:
        return ""
    shifts, errors = _shifts(whole, ends, runs)
    speeds = np.array([whole.log_speed[whole.run == run][0] for run in runs])
    left = shifts - _reciprocity(shifts, speeds) * speeds
    apart = np.array([own - np.median(np.delete(left, n)) for n, own in enumerate(left)])
    worst = int(np.argmax(np.abs(apart)))
    if abs(apart[worst]) < max(SHOWS, SURE * errors[worst]):
        return ""
    told = {
        "run": runs[worst] + 1,
        "share": percent(10.0 ** apart[worst]),
        "others": f"run {runs[1 - worst] + 1}" if runs.size == 2 else "the other runs",
    }
    if abs(apart[worst]) - SURE * errors[worst] > SPOILS:
        raise InputError(_SPOILT.format(**told))
    return _UNSTEADY.format(**told)


def _telling(doses: Dose) -> Dose:
    """The readings of runs that left enough frost."""
    marked = doses.frost > _MARKED * doses.frost.max(initial=0.0)
    runs, counts = np.unique(doses.run[marked], return_counts=True)
    return doses.only(np.isin(doses.run, runs[counts >= _FEWEST]))


def _shifts(doses: Dose, ends: Ends, runs: NDArray[np.int64]) -> tuple[Doubles, Doubles]:
    """By how many decades of fluence each run lies beside one curve, and the standard errors; the
    curve is the law's, as in `fit_power`."""
    tones, scatter = tones_told(doses, ends)
    own = (doses.run[:, None] == runs).astype(np.float64)

    def apart(figures: Doubles) -> Doubles:
        shifts = figures[_FIGURES:]
        frost = weibull(doses.log_fluence + own @ shifts, *figures[:_FIGURES])
        return np.append((tone_of(frost, ends) - tones) / scatter, shifts.mean() / _MEAN)

    start = [*first_guess(doses.log_fluence, doses.frost), *np.zeros(runs.size)]
    found = least(apart, start, *([(-_FARTHEST, _FARTHEST)] * runs.size))
    return found.x[_FIGURES:], standard_errors(found, len(doses))[_FIGURES:]


def _reciprocity(shifts: Doubles, speeds: Doubles) -> float:
    """The exponent that leaves the least beside one another, as an absolute sum: a run that is
    off by itself does not bend it."""

    def left(exponent: float) -> float:
        rest = shifts - exponent * speeds
        return float(np.abs(rest - np.median(rest)).sum()) + _RATHER_NONE * abs(exponent)

    return float(min(np.linspace(-MOST_RECIPROCITY, MOST_RECIPROCITY, 201), key=left))
