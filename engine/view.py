"""What a pane shows: one stage of one take on one grid, as seen from the front, in 8 bits."""

import math
from functools import cache
from typing import Any

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import burning, drive, glass, measure, proof, screens, tone
from engine.colour import (
    lightness_from_luminance,
    look_up,
    luminance_from_lightness,
    srgb_encode,
)
from engine.flow import Flow
from engine.grid import Grid, overview, whole_plate
from shared.recipe import Recipe

STAGES = ("photo", "look", "plate", "proof", "risk")
_OVERVIEW_SIDE = 600
_BINS = 256
_DIFFERENCE_GAIN = 2.0
