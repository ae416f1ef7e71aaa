"""The camera's picture style: an S curve over the encoded tones, found and taken off.

Patches burnt alike lie in unlike light, since light always falls off somewhere. In plain tones they
all tell of one and the same fall of light, the pale ones and the light ones; a curve makes light
ones fall faster and pale ones slower. The strength that brings them together again is the style's.

A power of the light falls alike at all tones and stays unseen, and so does any style in quite even
light.
"""

import math
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from engine.colour import srgb_decode, srgb_encode
from engine.strip.even import Light, Values, fit_dark, fit_gain
from engine.strip.read_patches import (
    LEAST_PIXELS,
    Bare,
    Field,
    alike,
    expected_error,
    middles,
    usable,
)
from engine.strip.robust import spread
from engine.strip.style_curve import plain
from shared.strip import Strip

LEAST_STRENGTH = 0.06
"""Below it an S curve cannot be told from the unevenness of good photographs."""
SURE = 5.0
"""Standard errors from nought on which a style is taken as found."""
MOST_STRENGTH = 0.3
"""Beyond it too much is left after the sine, which stands for any S, is taken off: curves that
bend about another tone than the middle leave 1 L* (virtual photos)."""
LEAST_GAIN = 1.6
"""Factor by which taking the style off brings patches together: 1.02 at most where there is none,
1.4 and more in haze, which bends tones too (virtual photos)."""
LEAST_SUSPECT = 0.1
"""From it on a strength is told of that is sure but brings patches together by less."""
MOST_ERROR = 0.02
"""Of a strength that is told of; in quite even light it is larger."""
LEAST_WHITE = 0.6
"""Encoded tone of the lightest patches, below which the curve is too straight to be seen."""
_REACH = (-0.4, 0.6)
_STEP = 0.02
_QUANTILES = (np.arange(15) + 0.5) / 15.0


@attrs.frozen
class Style:
    """How strongly the tones are bent, the standard error of that, and how many times closer
    patches alike come together without it."""

    strength: float
    error: float
    gain: float

    @property
    def found(self) -> bool:
        """Whether there is a style to be taken off."""
        return self._sure(LEAST_STRENGTH) and self.gain > LEAST_GAIN

    @property
    def suspected(self) -> bool:
        """Whether there seems to be one that cannot be taken off."""
        return not self.found and self._sure(LEAST_SUSPECT) and self.error < MOST_ERROR

    def _sure(self, least: float) -> bool:
        return abs(self.strength) > max(least, SURE * self.error)

    def light(self, encoded: Any) -> Values:
        """Linear light of encoded tones without the style, 0 to 1 both."""
        return _light(encoded, self.strength)


def style_of(strip: Strip, fields: list[Field], bare: Bare) -> Style:
    """The style of the photo in which fields and bare glass were measured as if it had none."""
    seen = _Seen.of(strip, fields, bare)
    if seen is None or np.quantile(seen.shades, 0.99) < LEAST_WHITE:
        return Style(0.0, math.inf, 1.0)
    found = minimize_scalar(
        lambda strength: _apart(seen.off(strength)),
        bounds=_REACH,
        method="bounded",
        options={"xatol": 0.002},
    )
    strength = float(found.x)
    off = seen.off(strength)
    slope = (seen.off(strength + _STEP) - seen.off(strength - _STEP)) / (2.0 * _STEP)
    gain = math.sqrt(_apart(seen.off(0.0)) / max(_apart(off), 1e-12))
    return Style(strength, spread(off) / max(float(np.linalg.norm(slope)), 1e-9), gain)


def _apart(off: Values) -> float:
    """How far patches alike are apart: squares, of which large ones count less."""
    return float(np.log1p(np.square(off / 3.0)).sum())


@attrs.frozen(eq=False)
class _Seen:
    """What patches with a like show, each as a few quantiles of its pixels, encoded."""

    size_mm: tuple[float, float]
    x_mm: Values
    y_mm: Values
    shades: Values
    error: Values
    """Of each patch's level, as measured without a style."""
    bare: Bare
    """Encoded too."""
    group: NDArray[np.intp]
    """From 0 on."""

    @classmethod
    def of(cls, strip: Strip, fields: list[Field], bare: Bare) -> "_Seen | None":
        """None where too few patches alike are seen."""
        shades = np.array([_shades(field) for field in fields])
        x, y = middles(strip.patches)
        level = srgb_decode(shades).mean(axis=1)
        dark = _dark(strip.size_mm, bare.x_mm, bare.y_mm, bare.level)
        group = alike(strip.patches)
        counts = usable(level - dark.dark(x, y), group)
        if counts.sum() < 16:
            return None
        order = np.unique(group[counts], return_inverse=True)[1]
        glass = attrs.evolve(bare, level=np.asarray(srgb_encode(bare.level), np.float64))
        error = np.array([field.error for field in fields])[counts]
        return cls(strip.size_mm, x[counts], y[counts], shades[counts], error, glass, order)

    def off(self, strength: float) -> Values:
        """What each patch is off the one fall of light, in expected errors."""
        x, y, bare = self.x_mm, self.y_mm, self.bare
        level = _light(self.shades, strength).mean(axis=1)
        dark = _dark(self.size_mm, bare.x_mm, bare.y_mm, _light(bare.level, strength))
        added = np.maximum(level - dark.dark(x, y), 1e-5)
        error = expected_error(added, float(np.quantile(added, 0.95)), self.error)
        return fit_gain(self.size_mm, x, y, added, error, self.group)[1] / error


def _light(encoded: Any, strength: float) -> Values:
    return np.asarray(srgb_decode(plain(encoded, strength)), np.float64)


def _shades(field: Field) -> Values:
    if field.pixels < LEAST_PIXELS:
        return np.full(_QUANTILES.size, np.nan)
    shades = np.quantile(field.samples.level[field.kept], _QUANTILES)
    return np.asarray(srgb_encode(shades), np.float64)


def _dark(size_mm: tuple[float, float], x: Values, y: Values, level: Values) -> Light:
    return Light(size_mm, fit_dark(size_mm, x, y, level)[0], np.zeros(6))
