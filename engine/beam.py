"""What follows from the beam's diameter: how scan lines overlap, and how evenly they cover."""

import numpy as np

LINES = 12


def line_overlap(beam_mm: float, pitch_mm: float) -> float:
    """Share of the beam's diameter (at 1/e^2) by which neighbouring lines overlap; below 0: a gap.

    1 - pitch / diameter, as the trade reckons it (common practice).
    """
    return 1.0 - pitch_mm / beam_mm


def line_ripple(beam_mm: float, pitch_mm: float) -> float:
    """Unevenness of the energy across scan lines: peak to peak over mean.

    The sum of Gaussians exp(-2 y^2 / w^2), w half the diameter at 1/e^2, one pitch apart.
    """
    across = np.linspace(0.0, pitch_mm, 201)
    centres = pitch_mm * np.arange(-LINES, LINES + 2)
    lines = np.exp(-2.0 * ((across[:, None] - centres[None, :]) / (beam_mm / 2.0)) ** 2)
    total = lines.sum(axis=1)
    return float((total.max() - total.min()) / total.mean())
