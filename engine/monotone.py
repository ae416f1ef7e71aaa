"""Curves that never fall: least-squares smoothing to a rising sequence, and inverses."""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

Doubles = NDArray[np.float64]


def rising(values: Doubles, weights: Doubles | None = None) -> Doubles:
    """The nearest sequence that never falls, in weighted least squares.

    Pool adjacent violators (Ayer et al. 1955); blocks become their weighted means.
    """
    return np.asarray(isotonic_regression(values, weights=weights).x, np.float64)


def inverse_table(inputs: Doubles, outputs: Doubles, size: int = 65536) -> NDArray[np.float32]:
    """For even outputs from 0 to 1, the input that gives each; clamped where none does.

    `inputs` rise strictly, `outputs` never fall. Where a range of inputs gives the same output,
    the lowest is taken.
    """
    first = np.concatenate([[True], np.diff(outputs) > 1e-9])
    table = np.interp(np.linspace(0.0, 1.0, size), outputs[first], inputs[first])
    return np.asarray(table, np.float32)
