"""Continuous screen: the laser's power follows the drive."""

import cv2
import numpy as np
from numpy.typing import NDArray


def follow(drive: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Drive 0 to 1, rows x columns, as uint8 0 to 255: the nearest of 256 powers."""
    return np.asarray(cv2.convertScaleAbs(drive, alpha=255.0), np.uint8)
