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
CAMERA_BLUR_PX = (0.3, 0.6, 0.95)
"""Standard deviation in pixels of a phone's lens and sharpening: the least, the usual and the most
that a photo in focus has; the pixel's own square comes on top."""


@attrs.frozen
class Edges:
    """Standard deviations in mm across edges that run up and down, and along the strip."""

    across_x_mm: float
    across_y_mm: float
    misfit: float
    """Root mean square difference from one blurred step: a double image has more."""
    step: float
    """Height of the step; 1 for a clear edge."""
    shift_mm: float
    """How far most edges (nine of ten) at most lie from where they should be."""

    @property
    def blur_mm(self) -> float:
        """Both together."""
        return math.sqrt((self.across_x_mm**2 + self.across_y_mm**2) / 2.0)


def edges(shot: Shot, light: Light, solids: list[Box]) -> Edges:
    """The edges of solid patches, all four sides of each; medians, so that a spoilt patch does not
    count."""
    sides = [
        [_step(*_profile(shot, light, box, axis, sign)) for box in solids]
        for axis in (0, 1)
        for sign in (-1, 1)
    ]
    found = np.array(sides)  # sides x solids x (sigma, height, misfit, shift)
    middle = np.nanmedian(found, axis=1)
    sigma = np.sqrt(np.mean(middle[:, 0].reshape(2, 2) ** 2, axis=1))
    return Edges(
        float(sigma[0]),
        float(sigma[1]),
        float(middle[:, 2].max()),
        float(middle[:, 1].min()),
        float(np.nanquantile(np.abs(found[:, :, 3]), 0.9)),
    )


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
    shot: Shot, light: Light, box: Box, axis: int, sign: int
) -> tuple[Values, Values, Values]:
    """Distance outwards from one side of a patch, mean frost there, and the weight of each; away
    from the patch's corners."""
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
    frost = light.frost(samples.x_mm, samples.y_mm, samples.level)
    index = np.floor((distance[near] + REACH_MM) / _BIN_MM).astype(np.intp)
    count = np.bincount(index, minlength=int(2 * REACH_MM / _BIN_MM))
    full = count > 0
    mean = np.bincount(index, frost[near], minlength=len(count))[full] / count[full]
    centre = np.bincount(index, distance[near], minlength=len(count))[full] / count[full]
    return centre, mean, np.sqrt(count[full])


def _step(distance: Values, frost: Values, weight: Values) -> tuple[float, float, float, float]:
    """Standard deviation in mm, height of the step, misfit and shift of one side."""
    if len(distance) < 8:
        return math.nan, math.nan, math.nan, math.nan

    def off(p: Values) -> Values:
        model = p[3] + p[2] * 0.5 * (1.0 - erf((distance - p[0]) / (math.sqrt(2.0) * p[1])))
        return np.asarray((model - frost) * weight / weight.max())

    start = np.array([0.0, 0.12, 1.0, 0.0])
    bounds = ([-0.7, 0.01, 0.0, -0.5], [0.7, 1.5, 2.0, 0.8])
    found = least_squares(off, start, bounds=bounds)
    misfit = float(np.sqrt(np.mean(found.fun**2)))
    shift, sigma, height, _ = found.x
    return float(sigma), float(height), misfit, float(shift)
