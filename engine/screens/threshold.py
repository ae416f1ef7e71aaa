"""Line art: only bare glass and full power."""

import numpy as np
from numpy.typing import NDArray


def cut(drive: NDArray[np.float32], level: float) -> NDArray[np.uint8]:
    """255 where the drive (rows x columns, 0 to 1) is at or above `level`, 0 elsewhere."""
    burns = drive >= np.float32(level)
    return burns.view(np.uint8) * np.uint8(255)
