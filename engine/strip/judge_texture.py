"""The texture that each setting's own patches show to the eye, in lightness."""

from collections.abc import Sequence

import numpy as np

from engine.colour import lightness_from_luminance
from engine.glass import Ends
from engine.strip.read_result import PatchReading
from shared.strip import Patch, Strip


def seen_texture(
    strip: Strip, readings: Sequence[PatchReading], run: int, ends: Ends, full: float
) -> float | None:
    """Standard deviation in L* of a run's patches of the screen that is judged, and of its solids:
    the median of them; None where none was read.

    ends: luminance of bare glass and of the fullest frost; full: the latter in the readings' units.
    """
    kind = str(strip.screen.get("kind", "diffusion"))
    found = [
        _in_lightness(read.frost / full, read.texture / full, ends)
        for patch, read in zip(strip.patches, readings, strict=True)
        if patch.run == run and read.counts and np.isfinite(read.texture) and _tells(patch, kind)
    ]
    return float(np.median(found)) if found else None


def _tells(patch: Patch, kind: str) -> bool:
    if patch.kind == "screen":
        return patch.screen == kind
    return patch.kind == "solid" or (patch.kind == "power" and kind == "continuous")


def _in_lightness(frost: float, texture: float, ends: Ends) -> float:
    """Half the lightness between frost less and frost more texture."""
    span = ends.marked - ends.unmarked
    shades = np.maximum(frost + np.array([-texture, texture]), 0.0)
    low, high = lightness_from_luminance(ends.unmarked + span * shades)
    return float(high - low) / 2.0
