"""How uneven a patch looks: dots and broken grains, as far as the eye cannot smooth them out."""

import math

import numpy as np

from engine.burning import blur_mm
from engine.strip.even import Light
from engine.strip.read_patches import RIM_MM
from engine.strip.rectify import Shot
from engine.viewing import eye_sigma_mm
from shared.strip import Patch

FINEST_MM = 0.06
"""Pitch of the picture in which a patch is looked at: finer than what the eye tells apart."""


def texture(shot: Shot, light: Light, patch: Patch) -> float:
    """Standard deviation of the patch's frost inside its rim, as seen at reading distance.

    In the units of PatchReading.frost. The camera's blur comes on top of the eye's, and its noise,
    which that blur averages out over many pixels, is in it. Not a number for a patch without
    inside.
    """
    box = patch.box
    level = shot.straight(box, FINEST_MM)
    frost = light.frost_picture(level, box.left_mm, box.top_mm, FINEST_MM)
    rim = math.ceil(RIM_MM / FINEST_MM)
    inside = blur_mm(frost, eye_sigma_mm(), FINEST_MM)[rim:-rim, rim:-rim]
    return float(np.std(inside)) if inside.size else math.nan
