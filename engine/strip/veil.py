"""An even veil of light over the strip: haze, a pale wall mirrored in the glass, stray light.

Bare glass and frost stand in the same light, so that where frost gets less of it bare glass gets
less in proportion. A veil does not fall off with them: it is what bare glass would still show where
frost gets none.
"""

import attrs
import numpy as np

from engine.strip.even import Light, Values
from engine.strip.read_patches import LEAST_PIXELS, Field, middles
from engine.strip.robust import spread
from shared.strip import Strip

SURE, KNOWN = 5.0, 3.0
"""Standard errors from nought from which on a veil is taken as found, and within which there is
taken to be none."""
LEAST_SHARE = 0.15
"""Share of what bare glass shows, below which a veil is not worth telling."""
_MOST_NOISE = 0.3
"""Of bare glass, relative; with more of it black cuts off what is darker, which looks like a veil.
"""
_TURNS = 10
_FLAT = 0.04
"""Relative spread of the light over the strip below which it tells of no veil."""


@attrs.frozen
class Veil:
    """Linear light that lies over everything, and the standard error of that."""

    level: float = 0.0
    error: float = np.inf
    uneven: float = 0.0
    """How much bare glass differs from place to place, relative to the frost's light there and
    without the veil: robust standard deviation over median."""

    def taken_off(self, dark: float) -> float:
        """What is to be taken off bare glass that shows `dark`: 0 where no veil is sure."""
        return self.level if self.level > max(SURE * self.error, LEAST_SHARE * dark) else 0.0

    def known(self, dark: float) -> bool:
        """Whether a veil worth telling of would have been found in bare glass that shows `dark`."""
        return KNOWN * self.error < LEAST_SHARE * dark


def veil_of(strip: Strip, fields: list[Field], light: Light) -> Veil:
    """The veil, from the bare patches: level = share x gain + veil, in least squares that outliers
    do not spoil."""
    bare = [
        n
        for n, patch in enumerate(strip.patches)
        if patch.kind == "bare" and fields[n].pixels >= LEAST_PIXELS
    ]
    if len(bare) < 6:
        return Veil()
    x, y = middles([strip.patches[n] for n in bare])
    level = np.array([fields[n].level for n in bare])
    noise = np.median([fields[n].samples.level.std() for n in bare])
    gain = light.gain(x, y)
    if noise > _MOST_NOISE * np.median(level):
        return Veil()
    if gain.std() < _FLAT * gain.mean():
        return Veil(uneven=_uneven(level / gain))
    terms = np.stack([gain, np.ones_like(gain)], axis=-1)
    weight = np.ones_like(gain)
    for _ in range(_TURNS):
        normal = terms.T @ (terms * weight[:, None])
        solved = np.linalg.solve(normal, terms.T @ (weight * level))
        off = level - terms @ solved
        scatter = max(spread(off), 1e-6)
        weight = 1.0 / (1.0 + (off / (2.5 * scatter)) ** 2)
    error = scatter * float(np.sqrt(np.linalg.inv(normal)[1, 1]))
    veil = Veil(float(solved[1]), error)
    haze = veil.taken_off(float(np.median(level)))
    return attrs.evolve(veil, uneven=_uneven((level - haze) / gain))


def _uneven(share: Values) -> float:
    middle = float(np.median(share))
    return spread(share - middle) / max(middle, 1e-9)
