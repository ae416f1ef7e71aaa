"""Whether every run was burnt with its own setting, told from what its patches show.

On one glass, frost is one rising curve of fluence, whatever the run. Two settings exchanged at the
machine, or one that was not changed, put runs beside that curve; with the settings that they were
burnt with, they lie on it. How far a run lies beside it tells of a tube that was not steady.
"""

from collections.abc import Sequence
from itertools import combinations, permutations

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

from engine.glass import Ends
from engine.strip.fit_power import Dose, doses_of
from engine.strip.fit_values import Value, tone_of
from engine.strip.runs_agree import unsteady
from engine.strip.tube import evened
from shared.errors import InputError
from shared.profile import GlassProfile
from shared.strip import Run, Strip

Doubles = NDArray[np.float64]

_AGAIN = "burn another strip, with each run at the setting that the placement sheet names for it."
MOST_APART = 0.012
"""Mean distance from one curve, as a share of the tone range; photographed strips stay below 0.005
(virtual sheets)."""
BARE, FROSTED = 0.1, 0.4
"""Tones, as shares of the range, below and above which a patch was surely not, and was, burnt."""
FEWEST = 3
"""Readings of each run, without which their scatter may look like an exchange."""
CLEARER = 4.0
"""How many times nearer to one curve the patches come with the settings that were burnt."""


def check_runs(strip: Strip, values: Sequence[Value], profile: GlassProfile, ends: Ends) -> str:
    """A warning of a run that lies a little beside the others; empty where all agree.

    profile: for the machine; ends: what the readings' 0 and 1 are in luminance. Raises InputError
    that names runs which were burnt with the setting of another one, or with another power.
    """
    doses = evened(doses_of(strip, values, profile, 0), ends)
    if _off_one_curve(doses, ends) >= MOST_APART:
        _check_exchanged(strip, values, profile, ends)
    return unsteady(doses, ends)


def _check_exchanged(
    strip: Strip, values: Sequence[Value], profile: GlassProfile, ends: Ends
) -> None:
    if len(strip.runs) < 2:
        return
    idle = _not_burnt(strip, values, profile, ends)
    if idle is not None:
        raise InputError(
            f"Run {idle + 1} left nothing on the glass where its setting should have frosted it: "
            "burn it on the same strip, at its place, and photograph it again."
        )
    runs = [strip.patches[value.patch].run for value in values]
    if np.bincount(runs, minlength=len(strip.runs)).min() < FEWEST:
        return
    ways = _ways(strip.runs)
    apart = [_apart(strip, runs, values, profile, ends) for runs, _ in ways]
    best = int(np.argmin(apart))
    if _apart(strip, strip.runs, values, profile, ends) > CLEARER * apart[best]:
        raise InputError(f"{ways[best][1]}: {_AGAIN}")


def _not_burnt(
    strip: Strip, values: Sequence[Value], profile: GlassProfile, ends: Ends
) -> int | None:
    """A run whose patches stayed bare where those of other runs were frosted by less."""
    doses = doses_of(strip, values, profile, 0)
    tones = tone_of(doses.frost, ends)
    for number in np.unique(doses.run):
        own = doses.run == number
        if own.all() or tones[own].max() > BARE:
            continue
        less = tones[~own & (doses.log_fluence <= doses.log_fluence[own].max())]
        if less.size >= 3 and np.median(np.sort(less)[-3:]) > FROSTED:
            return int(number)
    return None


def _ways(runs: tuple[Run, ...]) -> list[tuple[tuple[Run, ...], str]]:
    """Settings that may have been burnt instead of those that were told, and how to say so."""
    found = []
    for one, other in combinations(range(len(runs)), 2):
        both = {one: runs[other], other: runs[one]}
        words = f"Runs {one + 1} and {other + 1} look as if their settings had been exchanged"
        found.append((_with(runs, both), words))
    for one, other in permutations(range(len(runs)), 2):
        words = f"Run {one + 1} looks as if it had been burnt at the setting of run {other + 1}"
        found.append((_with(runs, {one: runs[other]}), words))
    return found


def _with(runs: tuple[Run, ...], changed: dict[int, Run]) -> tuple[Run, ...]:
    return tuple(changed.get(number, run) for number, run in enumerate(runs))


def _apart(
    strip: Strip,
    runs: tuple[Run, ...],
    values: Sequence[Value],
    profile: GlassProfile,
    ends: Ends,
) -> float:
    """Mean distance of a run's patches of power from one rising curve; the run that is farthest."""
    return _off_one_curve(doses_of(attrs.evolve(strip, runs=runs), values, profile, 0), ends)


def _off_one_curve(doses: Dose, ends: Ends) -> float:
    if len(doses) < 8:
        return 0.0
    order = np.argsort(doses.log_fluence)
    tones = tone_of(doses.frost, ends)[order]
    off = np.abs(tones - isotonic_regression(tones).x)
    run = doses.run[order]
    return float(max(off[run == number].mean() for number in np.unique(run)))
