"""Whether every run was burnt with its own setting, told from what its patches show.

On one glass, frost is one rising curve of fluence, whatever the run. Two settings exchanged at the
machine put two runs beside that curve; exchanged back, they lie on it.
"""

from collections.abc import Sequence
from itertools import combinations

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

from engine.glass import Ends
from engine.strip.fit_power import doses_of
from engine.strip.fit_values import Value, tone_of
from shared.errors import InputError
from shared.profile import GlassProfile
from shared.strip import Run, Strip

Doubles = NDArray[np.float64]

MOST_APART = 0.012
"""Mean distance from one curve, as a share of the tone range; photographed strips stay below 0.003
(virtual sheets)."""
CLEARER = 4.0
"""How many times nearer to one curve the patches of exchanged runs come when exchanged back."""


def check_runs(strip: Strip, values: Sequence[Value], profile: GlassProfile, ends: Ends) -> None:
    """Raises InputError that names two runs whose settings were exchanged at the machine.

    profile: for the machine; ends: what the readings' 0 and 1 are in luminance.
    """
    as_told = _apart(strip, strip.runs, values, profile, ends)
    if as_told < MOST_APART or len(strip.runs) < 2:
        return
    pairs = list(combinations(range(len(strip.runs)), 2))
    apart = [_apart(strip, _exchanged(strip.runs, *pair), values, profile, ends) for pair in pairs]
    best = int(np.argmin(apart))
    if as_told > CLEARER * apart[best]:
        first, second = (number + 1 for number in pairs[best])
        raise InputError(
            f"Runs {first} and {second} look as if their settings had been exchanged at the "
            "machine: burn another strip, with each run at the setting that the placement sheet "
            "names."
        )


def _exchanged(runs: tuple[Run, ...], one: int, other: int) -> tuple[Run, ...]:
    order = list(runs)
    order[one], order[other] = runs[other], runs[one]
    return tuple(order)


def _apart(
    strip: Strip,
    runs: tuple[Run, ...],
    values: Sequence[Value],
    profile: GlassProfile,
    ends: Ends,
) -> float:
    """Mean distance of the patches of power from one rising curve, each run counting alike."""
    doses = doses_of(attrs.evolve(strip, runs=runs), values, profile, 0)
    if len(doses) < 8:
        return 0.0
    order = np.argsort(doses.log_fluence)
    tones = tone_of(doses.frost, ends)[order]
    off = np.abs(tones - isotonic_regression(tones).x)
    run = doses.run[order]
    return float(np.mean([off[run == number].mean() for number in np.unique(run)]))
