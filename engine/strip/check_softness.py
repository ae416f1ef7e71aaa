"""How softly a photo shows the piece, by the plate itself."""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from engine.burning import blur_mm
from engine.filters import Floats

WIDE_MM = 1.0
"""Standard deviation of what counts as light or tone and not as detail."""
SHARPEST_MM, SOFTEST_MM = 0.02, 1.0
_STEP = 0.03
"""Of the logarithm to which the softness is found."""


def softness_mm(taken: Floats, light: Floats, there: NDArray[np.bool_], pitch_mm: float) -> float:
    """Standard deviation, in mm, of the blur with which a photo shows what the plate should leave.

    A template that has the very form of what is looked for correlates best with it, whatever noise
    lies over both (Cauchy and Schwarz): the plate is blurred until its detail does.

    taken, light, there: rows x columns at `pitch_mm`, linear luminances and where the photo
    reaches.
    """
    known = blur_mm(there.astype(np.float32), WIDE_MM, pitch_mm)
    inside = there & (known > 0.9)
    filled = np.where(there, taken, np.float32(np.mean(taken[there])))

    def detail(picture: Floats) -> Floats:
        return np.asarray((picture - blur_mm(picture, WIDE_MM, pitch_mm))[inside])

    seen = detail(filled)

    def unlike(log_sigma: float) -> float:
        blurred = blur_mm(light, float(np.exp(log_sigma)), pitch_mm)
        return -float(np.corrcoef(seen, detail(blurred))[0, 1])

    found = minimize_scalar(
        unlike,
        bounds=(np.log(SHARPEST_MM), np.log(SOFTEST_MM)),
        method="bounded",
        options={"xatol": _STEP},
    )
    return float(np.exp(found.x))
