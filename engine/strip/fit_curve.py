"""A smooth curve that never falls through scattered readings, robust to a bad one."""

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.strip.robust import spread

Doubles = NDArray[np.float64]

GENTLE_ROUNDS, STRICT_ROUNDS = 3, 5
SETTLED_ROUNDS = 3
"""In the last rounds the penalty stays, so that the curve comes to rest."""
HUBER, TUKEY = 1.345, 4.685
"""Usual tuning constants: 95 % efficient on normal errors (Huber 1964; Beaton and Tukey 1974)."""
SMOOTHEST, ROUGHEST, SMOOTHNESSES = 4.0, -2.0, 25
"""Decades of the penalty that are tried, relative to the weight of the readings."""
DOUBT = 1.4
"""Cross validation counts each degree of freedom so much, against fits that follow the noise."""
BAD_WEIGHT = 0.2
"""A reading whose weight falls below this share disagrees with the others."""
_PIN = 1e-6


@attrs.frozen(eq=False)
class RisingFit:
    """A rising curve at even nodes, its standard error there, and what each reading was worth."""

    at: Doubles
    values: Doubles
    scatter: Doubles
    trust: Doubles
    """One share per reading: 1 as good as its scatter says, near 0 a bad one."""
    misfit: float
    """Sum of squares of the residuals over their scatter, with trust as weights."""

    def __call__(self, at: Doubles) -> Doubles:
        """The curve at any places; beyond its ends the ends hold."""
        return np.asarray(np.interp(at, self.at, self.values))


def fit_rising(
    x: Doubles,
    y: Doubles,
    scatter: Doubles,
    nodes: Doubles,
    base: Doubles | None = None,
    *,
    from_zero: bool = False,
) -> RisingFit:
    """Fit a curve of 0 or more that never falls through readings `y` at `x`.

    Penalised least squares on even `nodes` (Whittaker 1923; Eilers and Marx 1996): the second
    differences of the curve, or of what it adds to `base` where one is given, are kept small; how
    small is chosen by generalised cross validation (Craven and Wahba 1979). That it never falls is
    held by non-negative steps (Lawson and Hanson 1974). Readings that disagree with the rest lose
    their weight: Huber's weights first, then Tukey's. With `from_zero` it starts at 0.
    """
    hats = _hats(x, nodes)
    lean = np.zeros(nodes.size) if base is None else np.asarray(base, np.float64)
    trust = np.ones(x.size)
    values = lean
    penalty = 1.0
    for number in range(GENTLE_ROUNDS + STRICT_ROUNDS):
        weights = np.sqrt(trust) / scatter
        if number < GENTLE_ROUNDS + STRICT_ROUNDS - SETTLED_ROUNDS:
            penalty = _best_penalty(hats, y - hats @ lean, weights, from_zero)
        values = _solve(hats, y, weights, lean, penalty, from_zero)
        apart = (y - hats @ values) / scatter
        apart /= max(1.0, spread(apart))
        strict = number >= GENTLE_ROUNDS - 1
        trust = _tukey(apart) if strict else _huber(apart)
    weights = np.sqrt(trust) / scatter
    apart = y - hats @ values
    worth = max(1.0, spread(apart / scatter))
    error = _standard_error(hats, weights, penalty) * worth
    return RisingFit(nodes, values, error, trust, float(np.square(weights * apart).sum()))


def _hats(x: Doubles, nodes: Doubles) -> Doubles:
    """Readings x nodes: each node's share in linear interpolation at each reading."""
    return np.column_stack([np.interp(x, nodes, unit) for unit in np.eye(nodes.size)])


def _second_differences(count: int) -> Doubles:
    return np.asarray(np.diff(np.eye(count), 2, axis=0))


def _scale(hats: Doubles, weights: Doubles) -> float:
    return float(np.square(weights).sum() / hats.shape[1])


def _best_penalty(hats: Doubles, y: Doubles, weights: Doubles, from_zero: bool) -> float:
    bends = _second_differences(hats.shape[1])
    bends = bends.T @ bends
    weighted = hats * weights[:, None]
    normal = weighted.T @ weighted
    if from_zero:
        normal[0, 0] += _scale(hats, weights) / _PIN
    target = weighted.T @ (weights * y)
    scale = _scale(hats, weights)
    ridge = 1e-9 * scale * np.eye(hats.shape[1])
    scores = []
    for power in np.linspace(ROUGHEST, SMOOTHEST, SMOOTHNESSES):
        inverse = np.linalg.inv(normal + scale * 10.0**power * bends + ridge)
        residual = weights * (y - hats @ (inverse @ target))
        freedom = float(np.trace(weighted @ inverse @ weighted.T))
        left = max(1e-3, 1.0 - DOUBT * freedom / y.size)
        scores.append((float(np.square(residual).mean()) / left**2, 10.0**power))
    return float(min(scores)[1])


def _solve(
    hats: Doubles, y: Doubles, weights: Doubles, lean: Doubles, penalty: float, from_zero: bool
) -> Doubles:
    # SciPy takes as long to import as Qt, and only measured curves need it.
    from scipy.optimize import nnls

    count = hats.shape[1]
    bends = _second_differences(count) * np.sqrt(penalty * _scale(hats, weights))
    steps = np.tril(np.ones((count, count)))
    if from_zero:
        steps[:, 0] = 0.0
    rows = np.vstack([hats * weights[:, None], bends]) @ steps
    wanted = np.concatenate([weights * y, bends @ lean])
    found, _ = nnls(rows, wanted, maxiter=60 * count)
    return np.asarray(steps @ found)


def _standard_error(hats: Doubles, weights: Doubles, penalty: float) -> Doubles:
    bends = _second_differences(hats.shape[1])
    weighted = hats * weights[:, None]
    scale = _scale(hats, weights)
    normal = weighted.T @ weighted + penalty * scale * bends.T @ bends
    inverse = np.linalg.inv(normal + 1e-9 * scale * np.eye(hats.shape[1]))
    return np.asarray(np.sqrt(np.maximum(np.diag(inverse), 0.0)))


def _huber(apart: Doubles) -> Doubles:
    return np.asarray(np.minimum(1.0, HUBER / np.maximum(np.abs(apart), 1e-12)))


def _tukey(apart: Doubles) -> Doubles:
    inside = np.clip(1.0 - np.square(apart / TUKEY), 0.0, None)
    return np.square(inside)
