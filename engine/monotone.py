"""Curves that never fall: a smooth one through points, the nearest rising one, an inverse."""

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]


def monotone_curve(xs: Doubles, ys: Doubles, at: Doubles) -> Doubles:
    """The values at `at` of a piecewise cubic through the points; between two points it keeps
    within their values.

    `xs` strictly rising, at least two; `at` within their range, any shape. The slope at a point
    is the weighted harmonic mean of those at its sides, 0 where the values turn (Fritsch and
    Butland, SIAM J. Sci. Stat. Comput. 5(2), 1984); at both ends it is that of the parabola
    through three points, limited so that nothing overshoots (as PCHIM in SLATEC, from memory).
    """
    steps = np.diff(xs)
    rises = np.diff(ys) / steps
    slopes = _slopes(steps, rises)
    index = np.clip(np.searchsorted(xs, at, side="right") - 1, 0, steps.size - 1)
    width = steps[index]
    t = (at - xs[index]) / width
    bend = (slopes[:-1] + slopes[1:] - 2.0 * rises)[index]
    lean = (rises - slopes[:-1])[index]
    return np.asarray(ys[index] + width * t * (slopes[index] + t * (lean - bend * (1.0 - t))))


def _slopes(steps: Doubles, rises: Doubles) -> Doubles:
    if steps.size == 1:
        return np.repeat(rises, 2)
    slopes = np.zeros(steps.size + 1)
    slopes[0] = _end_slope(*steps[:2], *rises[:2])
    slopes[-1] = _end_slope(*steps[:-3:-1], *rises[:-3:-1])
    before, after = rises[:-1], rises[1:]
    same = before * after > 0.0
    near, far = 2.0 * steps[1:] + steps[:-1], steps[1:] + 2.0 * steps[:-1]
    inner = slopes[1:-1]
    inner[same] = (near + far)[same] / (near[same] / before[same] + far[same] / after[same])
    return slopes


def _end_slope(step: float, next_step: float, rise: float, next_rise: float) -> float:
    """At an end, from the two nearest intervals."""
    slope = ((2.0 * step + next_step) * rise - step * next_rise) / (step + next_step)
    if slope * rise <= 0.0:
        return 0.0
    if rise * next_rise < 0.0 and abs(slope) > 3.0 * abs(rise):
        return 3.0 * rise
    return slope


def rising(values: Doubles, weights: Doubles | None = None) -> Doubles:
    """The nearest sequence that never falls, in weighted least squares.

    Pool adjacent violators (Ayer et al. 1955); blocks become their weighted means.
    """
    # SciPy takes as long to import as Qt, and only measured or simulated curves need it.
    from scipy.optimize import isotonic_regression

    return np.asarray(isotonic_regression(values, weights=weights).x, np.float64)


def inverse_table(inputs: Doubles, outputs: Doubles, size: int = 65536) -> NDArray[np.float32]:
    """For even outputs from 0 to 1, the input that gives each; clamped where none does.

    `inputs` rise strictly, `outputs` never fall. Where a range of inputs gives the same output,
    the lowest is taken.
    """
    first = np.concatenate([[True], np.diff(outputs) > 1e-9])
    table = np.interp(np.linspace(0.0, 1.0, size), outputs[first], inputs[first])
    return np.asarray(table, np.float32)
