"""The light on the strip as two smooth surfaces: how bright bare glass is, and how much full frost
adds to it. frost = (level - dark) / gain (flat-field correction, in linear light).

Bare glass shows everywhere between the patches. The gain is known from the solid patches and, up
to a constant each, from every group of patches that were burnt alike: the logarithm of what they
add is one surface plus a level for each group.
"""

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.strip.robust import TURNS, solve, solve_robustly, spread

Values = NDArray[np.float64]

BEND_EXPECTED = 0.15
"""Standard deviation of the curved terms of the gain's logarithm before anything was measured."""


@attrs.frozen(eq=False)
class Light:
    """Two surfaces over the strip."""

    size_mm: tuple[float, float]
    dark_terms: Values
    """Of the dark surface: constant, x, y, x squared, x y, y squared in half sizes."""
    gain_terms: Values
    """The same of the gain's natural logarithm."""

    def dark(self, x_mm: Values, y_mm: Values) -> Values:
        """Linear light of bare glass there."""
        return np.maximum(_terms(x_mm, y_mm, self.size_mm) @ self.dark_terms, 0.0)

    def gain(self, x_mm: Values, y_mm: Values) -> Values:
        """Linear light that full frost adds there."""
        return np.asarray(np.exp(_terms(x_mm, y_mm, self.size_mm) @ self.gain_terms))

    def frost(self, x_mm: Values, y_mm: Values, level: Values) -> Values:
        """Levels in linear light, evened: 0 bare, 1 solid."""
        return (level - self.dark(x_mm, y_mm)) / self.gain(x_mm, y_mm)

    def frost_picture(
        self, level: NDArray[np.float32], left_mm: float, top_mm: float, pitch_mm: float
    ) -> NDArray[np.float32]:
        """A straight picture of part of the strip, evened; rows x columns."""
        x = np.asarray(left_mm + (np.arange(level.shape[1]) + 0.5) * pitch_mm, np.float64)
        bands = [
            self.frost(
                x, np.full_like(x, top_mm + (row + 0.5) * pitch_mm), values.astype(np.float64)
            )
            for row, values in enumerate(level)
        ]
        return np.asarray(bands, np.float32)


def fit_dark(
    size_mm: tuple[float, float], x_mm: Values, y_mm: Values, level: Values
) -> tuple[Values, Values]:
    """The terms of the dark surface through samples of bare glass, and what each sample is above
    it. Samples far off (labels, dirt, glare) lose their weight."""
    terms = _terms(x_mm, y_mm, size_mm)
    weight = np.ones_like(level)
    start = level > np.quantile(level, 0.7)
    weight[start] = 0.05
    for _ in range(TURNS):
        solved, over = solve(terms, level, weight)
        width = max(spread(over), 1e-5)
        weight = 1.0 / (1.0 + (over / (2.5 * width)) ** 2) ** 2
    return solved, over


def fit_gain(
    size_mm: tuple[float, float],
    x_mm: Values,
    y_mm: Values,
    added: Values,
    error: Values,
    group: NDArray[np.intp],
) -> tuple[Values, Values]:
    """The terms of the gain's logarithm, and what each sample is off it in the logarithm.

    added: what each patch adds to bare glass, above 0; error: its standard deviation relative to
    itself; group: 0 for the solid patches that are to be 1, other numbers for patches alike.
    """
    groups = int(group.max()) + 1
    level = np.zeros((len(added), groups))
    level[np.arange(len(added)), group] = 1.0
    terms = np.hstack([_terms(x_mm, y_mm, size_mm)[:, 1:], level])
    wanted = np.log(added)
    bend = np.zeros(terms.shape[1])
    bend[2:5] = 1.0 / BEND_EXPECTED**2
    bend[:2] = 0.01
    solved, off = solve_robustly(terms, wanted, error, bend)
    return np.concatenate([solved[5:6], solved[:5]]), off


def _terms(x_mm: Values, y_mm: Values, size_mm: tuple[float, float]) -> Values:
    u = 2.0 * np.asarray(x_mm) / size_mm[0] - 1.0
    v = 2.0 * np.asarray(y_mm) / size_mm[1] - 1.0
    return np.stack([np.ones_like(u), u, v, u * u, u * v, v * v], axis=-1)
