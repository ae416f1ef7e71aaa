"""How an etched piece is looked at: the distance, and what the eye smooths out from there."""

import math

VIEWING_MM = 450.0
"""Reading distance, at which a framed portrait in the hand is seen (common practice)."""
EYE_ARCMIN = 1.2
"""Standard deviation of the eye's blur, minutes of arc."""


def eye_sigma_mm(distance_mm: float = VIEWING_MM) -> float:
    """Standard deviation of the eye's blur on the glass."""
    return distance_mm * math.tan(math.radians(EYE_ARCMIN / 60.0))
