"""The first shape of a characteristic curve: Weibull's law of brittle strength, and where it ends.

Share of grains that broke: Weibull's law (1951), three parameters. Grains differ in their
threshold, which rounds the toe: excess = toe x ln(1 + e^(excess / toe)).
"""

from collections.abc import Callable, Sequence
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.response import flaking_divisor

Doubles = NDArray[np.float64]

USUALLY_FULL, MOST_FULL = 1.02, 1.08
"""How many times the frost that was seen the glass can have; counts as one reading. A starting
guess. The last is what is believed at most."""
USUALLY_APART, FLAKING_APART = 0.02, 0.01
"""How far glasses differ in it; less where frost was seen to flake, since there the readings have
passed the top. Starting guesses."""
USUAL_DECADES, DECADES_APART = 0.25, 0.5
"""The width of flaking, and how far glasses differ in its logarithm: counts as one reading, too.
Starting guesses."""
DECADES = (0.05, 0.8)
"""Widths of flaking that are believed."""
OF_THE_TOP = 0.25
"""Share of the fullest frost from which on readings tell of it. Darker ones, where the law fits
worst, would bend it."""
LEAST_ERROR, FLAKING_ERROR = 0.004, 0.02
"""Of frost: what patches of one fluence differ by however well they are read, and how far glass
that flakes is from the law. There readings side by side are off together, so that many do not
tell more of the top than a few."""
_BOUNDS = ((0.01, 3.0), (-6.0, 3.0), (-4.0, 4.0), (0.3, 5.0), (0.005, 0.4))
"""Fullest frost, log threshold, log width, shape, toe."""


def weibull(
    logs: Doubles, top: float, threshold: float, width: float, shape: float, toe: float
) -> Doubles:
    """Frost at log10 fluences; the threshold too is a log10, the width a natural logarithm."""
    excess = toe * np.logaddexp(0.0, (10.0 ** (logs - threshold) - 1.0) / toe)
    return np.asarray(top * -np.expm1(-np.power(excess / np.exp(width), shape)))


@attrs.frozen
class Flaking:
    """Where frost begins to come off again, and how fast."""

    log_fluence: float
    """log10 of J/mm2."""
    decades: float
    """Beyond it, after which half the frost has come off."""

    def kept(self, logs: Doubles) -> Doubles:
        """Share of frost that stays on at log10 fluences, as the response has it."""
        return np.asarray(1.0 / flaking_divisor(logs, self.log_fluence, self.decades))


def first_guess(logs: Doubles, frost: Doubles) -> list[float]:
    """Figures of the law to start from."""
    top = max(0.05, float(np.percentile(frost, 95)))
    marked = logs[frost > 0.05 * top]
    low = float(marked.min()) if marked.size else float(logs.min())
    return [top, low - 0.05, 0.0, 1.0, 0.1]


def fullest(logs: Doubles, frost: Doubles, scatter: Doubles, seen: float, *, flakes: bool) -> float:
    """The fullest frost that the glass can have, in the readings' units; `seen` was reached.
    `flakes`: whether the readings show that frost comes off again.

    No setting need reach it: below, grains are left over, and beyond, frost has begun to flake. The
    law and its flaking are fitted together, to readings of frost and not of tone.
    """
    told = frost > OF_THE_TOP * frost.max()
    least_error, differ = (FLAKING_ERROR, FLAKING_APART) if flakes else (LEAST_ERROR, USUALLY_APART)
    logs, frost, error = logs[told], frost[told], np.hypot(scatter[told], least_error)
    start = [*first_guess(logs, frost), float(logs.max()) - 0.1, float(np.log(USUAL_DECADES))]

    def apart(figures: Doubles) -> Doubles:
        left = Flaking(float(figures[5]), float(np.exp(figures[6]))).kept(logs)
        usual = (
            (figures[0] / seen - USUALLY_FULL) / differ,
            (figures[6] - np.log(USUAL_DECADES)) / DECADES_APART,
        )
        return np.append((weibull(logs, *figures[:5]) * left - frost) / error, usual)

    flaking = (float(logs.min()), float(logs.max()) + 0.1)
    top = float(least(apart, start, flaking, (np.log(DECADES[0]), np.log(DECADES[1]))).x[0])
    return min(max(top, seen), MOST_FULL * seen)


def standard_errors(found: Any, readings: int) -> Doubles:
    """Of the figures that `least` found, by the curvature at its end; more where the readings lie
    farther from the law than their scatter says."""
    count = found.x.size
    worth = max(1.0, 2.0 * found.cost / max(1, readings - count))
    normal = found.jac.T @ found.jac + 1e-9 * np.eye(count)
    return np.asarray(np.sqrt(np.diag(np.linalg.inv(normal)) * worth))


def least(
    apart: Callable[[Doubles], Doubles], start: Sequence[float], *more: tuple[float, float]
) -> Any:
    """SciPy's result of robust least squares for the law's figures and `more`, by their bounds."""
    # SciPy takes as long to import as Qt, and only measured curves need it.
    from scipy.optimize import least_squares

    bounds = np.transpose([*_BOUNDS, *more])
    begin = np.clip(start, *bounds)
    return least_squares(apart, begin, bounds=bounds, loss="soft_l1", f_scale=2.0)
