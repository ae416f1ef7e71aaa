"""How sharp the edges of solid patches are, and the modulation that line patches kept.

The edge's profile is gathered from the photo's own pixels by their distance from the edge, as in
the slanted-edge method of ISO 12233.
"""

import math

import attrs
import numpy as np
from scipy.optimize import least_squares
from scipy.special import erf

from engine.strip.even import Light, Values
from engine.strip.rectify import Shot
from shared.strip import Box, Patch

REACH_MM = 0.7
_BIN_MM = 0.05
_CENTRES = np.arange(-REACH_MM + _BIN_MM / 2.0, REACH_MM, _BIN_MM)
_BESIDE_MM = (0.25, 0.15)
"""Distance from an edge, give or take, at which sharpening shows most at 5 to 12 pixels per mm."""
CAMERA_BLUR_PX = (0.3, 0.6, 0.95)
"""Standard deviation in pixels of a phone's lens and sharpening: the least, the usual and the most
that a photo in focus has; the pixel's own square comes on top."""


@attrs.frozen
class Edges:
    """Standard deviations in mm across edges that run up and down, and along the strip."""

    across_x_mm: float
    across_y_mm: float
    misfit: float
    """Root mean square difference of the typical edge from one blurred step: a double image has
    more. The worst of the four sides, as the rest."""
    over: float
    """How far the typical edge rises above its step on the light side and falls below it on the
    dark one, as a share of the step: sharpening does that."""
    step: float
    """Height of the step over the frost inside; 1 for a clear edge."""
    worst_mm: float
    """Blur of a solid where the photo is softest, but for one that may be spoilt."""
    shift_mm: float
    """How far most edges (nine of ten) at most lie from where they should be."""

    @property
    def blur_mm(self) -> float:
        """Both together."""
        return math.sqrt((self.across_x_mm**2 + self.across_y_mm**2) / 2.0)


def edges(shot: Shot, light: Light, solids: list[Box], frost: Values) -> Edges:
    """The edges of solid patches, all four sides of each; medians, so that a spoilt patch does not
    count. frost: what each of them has inside, above 0."""
    sides = [
        [
            _step(*_profile(shot, light, *solid, axis, sign))
            for solid in zip(solids, frost, strict=True)
        ]
        for axis in (0, 1)
        for sign in (-1, 1)
    ]
    figures = np.array([[step[:3] for step in side] for side in sides])
    middle = np.nanmedian(figures, axis=1)  # of each side: sigma, height, shift
    sigma = np.sqrt(np.mean(middle[:, 0].reshape(2, 2) ** 2, axis=1))
    off = [_middle_of(np.array([step[3] for step in side])) for side in sides]
    return Edges(
        float(sigma[0]),
        float(sigma[1]),
        float(max(np.sqrt(np.mean(np.square(apart))) for apart in off)),
        float(max(_over(apart) for apart in off)),
        float(middle[:, 1].min()),
        _worst(figures[:, :, 0]),
        float(np.nanquantile(np.abs(figures[:, :, 2]), 0.9)),
    )


def _worst(sigma: Values) -> float:
    """Of four sides x solids; the middle two sides of each stand for it."""
    each = np.nanmedian(sigma[:, np.isfinite(sigma).any(axis=0)], axis=0)
    return float(np.sort(each)[-2:].min())


def _middle_of(off: Values) -> Values:
    """The median over patches (rows) in each bin; nought where no patch tells."""
    told = np.isfinite(off).any(axis=0)
    middle = np.zeros(told.shape)
    middle[told] = np.nanmedian(off[:, told], axis=0)
    return middle


def _over(off: Values) -> float:
    near = np.abs(np.abs(_CENTRES) - _BESIDE_MM[0]) < _BESIDE_MM[1]
    inside, outside = off[near & (_CENTRES < 0.0)], off[near & (_CENTRES > 0.0)]
    return float(inside.mean() - outside.mean()) / 2.0


def modulation(
    shot: Shot, light: Light, patch: Patch, rim_mm: float, blur_mm: float
) -> tuple[float, float]:
    """Peak to peak of the fundamental of a line patch, and its uncertainty; see PatchReading."""
    samples = shot.samples(patch.box, rim_mm)
    frost = light.frost(samples.x_mm, samples.y_mm, samples.level)
    place = samples.x_mm if patch.upright else samples.y_mm
    angle = 2.0 * math.pi * patch.lines_per_mm * place
    terms = np.stack([np.ones_like(angle), np.cos(angle), np.sin(angle)], axis=-1)
    solved, *_ = np.linalg.lstsq(terms, frost, rcond=None)
    left = frost - terms @ solved
    seen = 2.0 * math.hypot(solved[1], solved[2])
    noise = 2.0 * float(left.std()) * math.sqrt(2.0 / max(len(frost), 1))
    px = shot.view.px_per_mm_at(patch.box)
    kept = [_kept(patch.lines_per_mm, min(blur / px, blur_mm), px) for blur in CAMERA_BLUR_PX]
    reach = (seen / kept[2] - seen / kept[0]) / 2.0
    return seen / kept[1], math.hypot(reach, noise / kept[1])


def _kept(per_mm: float, blur_mm: float, px_per_mm: float) -> float:
    """Contrast that a camera keeps: a Gaussian blur and the pixel's square."""
    return math.exp(-2.0 * (math.pi * per_mm * blur_mm) ** 2) * float(np.sinc(per_mm / px_per_mm))


def _profile(
    shot: Shot, light: Light, box: Box, inside: float, axis: int, sign: int
) -> tuple[Values, Values, Values]:
    """For each bin of distance outwards from one side of a patch: mean distance, mean frost as a
    share of what is inside, and weight, 0 for an empty one; away from the patch's corners."""
    around = Box(
        box.left_mm - REACH_MM,
        box.top_mm - REACH_MM,
        box.width_mm + 2.0 * REACH_MM,
        box.height_mm + 2.0 * REACH_MM,
    )
    samples = shot.samples(around, 0.0)
    spans = ((box.left_mm, box.width_mm, samples.x_mm), (box.top_mm, box.height_mm, samples.y_mm))
    start, length, place = spans[axis]
    side = start if sign < 0 else start + length
    distance = sign * (place - side)
    start, length, place = spans[1 - axis]
    near = (np.abs(distance) < REACH_MM) & (place > start + 0.8) & (place < start + length - 0.8)
    frost = light.frost(samples.x_mm, samples.y_mm, samples.level) / inside
    index = np.floor((distance[near] + REACH_MM) / _BIN_MM).astype(np.intp)
    count = np.bincount(index, minlength=_CENTRES.size)[: _CENTRES.size].astype(np.float64)
    filled = np.maximum(count, 1.0)
    mean = np.bincount(index, frost[near], minlength=_CENTRES.size)[: _CENTRES.size] / filled
    centre = np.bincount(index, distance[near], minlength=_CENTRES.size)[: _CENTRES.size] / filled
    return centre, mean, np.sqrt(count)


def _step(distance: Values, frost: Values, weight: Values) -> tuple[float, float, float, Values]:
    """Standard deviation in mm, height of the step and shift of one side, and what is left in each
    bin (not a number in empty ones)."""
    full = weight > 0.0
    if full.sum() < 8:
        return math.nan, math.nan, math.nan, np.full(weight.shape, math.nan)

    def model(p: Values) -> Values:
        step = 0.5 * (1.0 - erf((distance - p[0]) / (math.sqrt(2.0) * p[1])))
        return np.asarray(p[3] + p[2] * step)

    def off(p: Values) -> Values:
        return np.asarray(((model(p) - frost) * weight / weight.max())[full])

    start = np.array([0.0, 0.12, 1.0, 0.0])
    bounds = ([-0.7, 0.01, 0.0, -0.5], [0.7, 1.5, 2.0, 0.8])
    found = least_squares(off, start, bounds=bounds)
    shift, sigma, height, _ = found.x
    left = np.where(full, (frost - model(found.x)) / max(height, 0.1), math.nan)
    return float(sigma), float(height), float(shift), left
