"""The camera's tones measured with two exposures of one strip, taken in the same light.

In the darker photo every patch is seen with the same share of its light, whatever curve the camera
lays on: log light(tone in the first) - log light(tone in the darker one) is the same for all of
them, up to what the light moved between the two. That is linear in the curve's logarithm, which is
solved for by regularised least squares (Debevec and Malik, SIGGRAPH 1997, with a few smooth terms
in place of 256 values). It sees what one photo cannot: powers of the light, and styles in even
light.
"""

import math
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.colour import lightness_from_luminance, srgb_decode, srgb_encode
from engine.strip.even import Values
from engine.strip.read_patches import LEAST_PIXELS, Field, middles
from engine.strip.refuse import Refusal
from engine.strip.robust import solve_robustly, spread
from shared.strip import Strip

LEAST_SHARE, MOST_SHARE = 0.3, 0.8
"""Of the first photo's light. With less, patches are too far apart in tone to tell of a bend
between them, and with more hardly anything changes (virtual photos)."""
MOST_APART = 5.0
"""Robust standard deviation of what is left, in expected errors; cameras with one curve for both
stay below 3 (virtual photos)."""
LEAST_PATCHES = 20
_EVEN = ("bare", "solid", "power")
_TURNS_OF_TERMS = np.arange(1, 9)
"""Half turns of the cosines over the encoded tones."""
_LEAST_LIGHT = 1e-4
_ERROR, _STEP = 0.004, 0.16 / 255.0
"""Of a patch's light relative to itself, and of its encoded tone: the median of many pixels, each
rounded to 8 bits."""
_EXPECTED_POWER, _EXPECTED_FALL = 0.5, 0.1
_EXPECTED_BENDS = 1.0 / _TURNS_OF_TERMS**3
"""Standard deviations of the terms before anything is measured; a camera's curve is smooth."""
_SHOWN = 0.35
"""Luminance that the lightest frost is taken to have where a bend is told in L*."""


@attrs.frozen(eq=False)
class Darker:
    """A second photo of the strip."""

    pixels: NDArray[Any]
    """As the first one's: rows x columns x 3, uint8 or uint16."""
    share: float
    """How many times as much light the camera gathered as for the first one."""


@attrs.frozen(eq=False)
class CameraTones:
    """The curve between encoded tones and light that one camera used for two photos."""

    terms: Values
    """Of the logarithm of what a tone's light is over plain sRGB's: its own logarithm, then cosines
    over the encoded tones."""
    low: float
    high: float
    """Encoded tones that the patches span; beyond them the bend stays as it is at the ends."""

    def light(self, encoded: Any) -> NDArray[np.float64]:
        """Linear light of encoded tones, 0 to 1 both; the lightest patches keep theirs."""
        knots = np.linspace(self.low, self.high, 1025)
        found = np.maximum.accumulate(_plain_log(knots) + _terms(knots) @ self.terms)
        light = np.exp(found - found[-1] + _plain_log(knots[-1:]))
        plain = np.asarray(srgb_decode(np.asarray(encoded, np.float64)), np.float64)
        below = plain * (light[0] / srgb_decode(self.low))
        inside = np.interp(encoded, knots, light)
        return np.where(encoded < self.low, below, np.where(encoded > self.high, plain, inside))

    @property
    def bend_l(self) -> float:
        """How far plain sRGB would have read the tones wrongly at most, L*."""
        knots = np.linspace(self.low, self.high, 65)
        plain = np.asarray(srgb_decode(knots))
        scale = _SHOWN / plain[-1]
        read, true = (lightness_from_luminance(y * scale) for y in (plain, self.light(knots)))
        return float(np.abs(read - true).max())


def check_share(share: float) -> None:
    """Raises Refusal for a second photo that is not about one stop darker."""
    if not LEAST_SHARE <= share <= MOST_SHARE:
        stops = -math.log2(share)
        how = f"{abs(stops):.1f} stops {'darker' if stops > 0.0 else 'lighter'} than"
        raise Refusal("not_darker", how=how if abs(stops) > 0.05 else "as light as")


def camera_tones(
    strip: Strip, first: list[Field], darker: list[Field], share: float
) -> CameraTones:
    """The curve from the patches of both photos, measured as plain sRGB. Raises Refusal as
    `tones_from` does, and where too few patches are seen in both."""
    even = np.array([patch.kind in _EVEN for patch in strip.patches])
    light = np.array([[_median(field) for field in fields] for fields in (first, darker)])
    seen = even & (np.nan_to_num(light) > _LEAST_LIGHT).all(axis=0)
    if seen.sum() < LEAST_PATCHES:
        raise Refusal("unlike")
    x, y = (place[seen] for place in middles(strip.patches))
    return tones_from(np.asarray(srgb_encode(light[:, seen]), np.float64), x, y, share)


def tones_from(tones: Values, x: Values, y: Values, share: float) -> CameraTones:
    """The curve from places seen in two photos, the second one with `share` of the light.

    tones: 2 x places, encoded, 0 to 1; x, y: where the places lie, in any unit. Raises Refusal
    where they cannot have been taken by one curve.
    """
    fall = _fall(x, y)
    change = _plain_log(tones[0]) - _plain_log(tones[1])
    terms = np.hstack([_terms(tones[0]) - _terms(tones[1]), fall])
    wanted = -math.log(share) - change
    error = np.sqrt(_ERROR**2 + sum((_STEP * _slope(tone)) ** 2 for tone in tones))
    expected = np.hstack([_EXPECTED_POWER, _EXPECTED_BENDS, np.full(fall.shape[1], _EXPECTED_FALL)])
    solved, off = solve_robustly(terms, wanted, error, 1.0 / np.square(expected))
    if spread(off / error) > MOST_APART:
        raise Refusal("unlike")
    return CameraTones(solved[: 1 + _TURNS_OF_TERMS.size], float(tones.min()), float(tones.max()))


def _median(field: Field) -> float:
    """Linear light; a curve takes the median pixel along, which it does not do with a mean."""
    few = field.pixels < LEAST_PIXELS
    return math.nan if few else float(np.median(field.samples.level[field.kept]))


def _plain_log(encoded: Values) -> Values:
    return np.log(np.maximum(srgb_decode(encoded), _LEAST_LIGHT / 10.0))


def _slope(encoded: Values) -> Values:
    """Of the plain logarithm."""
    return (_plain_log(encoded + 1e-4) - _plain_log(encoded - 1e-4)) / 2e-4


def _terms(encoded: Values) -> Values:
    waves = np.cos(np.pi * encoded[:, None] * _TURNS_OF_TERMS)
    return np.column_stack([_plain_log(encoded), waves])


def _fall(x: Values, y: Values) -> Values:
    """Slow surfaces without a mean, for light that moved between the photos."""
    u, v = (2.0 * (p - p.mean()) / max(float(np.ptp(p)), 1e-9) for p in (x, y))
    surfaces = np.stack([u, v, u * u, u * v, v * v], axis=-1)
    return np.asarray(surfaces - surfaces.mean(axis=0))
