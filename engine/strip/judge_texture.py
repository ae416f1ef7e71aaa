"""The texture that each setting's own patches show to the eye, in lightness."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from engine.colour import lightness_from_luminance
from engine.glass import Ends, look_from_mark
from engine.strip.judge_tones import middles, nearness
from engine.strip.read_result import PatchReading
from shared.strip import Patch, Strip

ALIKE = 0.07
"""Share of the look within which patches tell of each other's texture, standard deviation."""


def seen_texture(
    strip: Strip,
    readings: Sequence[PatchReading],
    run: int,
    ends: Ends,
    full: float,
    weight: NDArray[np.float64],
) -> float | None:
    """Standard deviation in L* that a picture of a run's dots is to be expected to have.

    Every tone has the texture of the patches that came out near it: bare ones, solids and those of
    the screen that is judged. None where none of the run's own was read.

    ends: luminance of bare glass and of the fullest frost; full: the latter in the readings' units.
    weight: how often each of even tones of the look comes.
    """
    kind = str(strip.screen.get("kind", "diffusion"))
    found = [
        (patch, read)
        for patch, read in zip(strip.patches, readings, strict=True)
        if read.counts and np.isfinite(read.texture) and _tells(patch, run, kind)
    ]
    if all(patch.kind == "bare" for patch, _ in found):
        return None
    frost = np.array([read.frost for _, read in found]) / full
    looks = look_from_mark(frost.astype(np.float32)[None, :], ends)[0]
    texture = np.array([read.texture for _, read in found]) / full
    variance = np.square(_in_lightness(frost, texture, ends))
    near = nearness(middles(weight.size), looks, ALIKE) + 1e-9
    return float(np.sqrt(np.average(near @ variance / near.sum(axis=1), weights=weight)))


def _tells(patch: Patch, run: int, kind: str) -> bool:
    if patch.kind == "bare":
        return True
    if patch.run != run:
        return False
    if patch.kind == "screen":
        return patch.screen == kind
    return patch.kind == "solid" or (patch.kind == "power" and kind == "continuous")


def _in_lightness(
    frost: NDArray[np.float64], texture: NDArray[np.float64], ends: Ends
) -> NDArray[np.float64]:
    """Half the lightness between frost less and frost more texture."""
    span = ends.marked - ends.unmarked
    shades = np.maximum(frost + np.stack([-texture, texture]), 0.0)
    low, high = lightness_from_luminance(ends.unmarked + span * shades)
    return np.asarray((high - low) / 2.0)
