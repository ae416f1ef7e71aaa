"""The grey that keeps colours apart.

Source: Lu, Xu and Jia 2012, "Contrast preserving decolorization", IEEE ICCP. Grey is a polynomial
of second degree in the encoded records. The grey difference of a pair of pixels shall be as large
as their colour difference d (CIE Lab, 100 units to 1); its sign is free, by a mixture of two
Gaussians about +d and -d, unless all three records agree on which pixel is lighter.

Added here: beside neighbours, pairs of pixels far apart, so that areas which do not touch keep
apart too; and two conditions, that the weights of first degree add up to 1 and those of second
degree to 0, so that a neutral r = g = b = v stays v. Each step of the fixed-point iteration is the
least-squares answer under these conditions. Where the answer would clip more than a small share of
the photo, it is drawn back towards the plain mean, which clips nothing.
"""

from typing import Any

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import colour

Rgb = NDArray[np.float32]
Doubles = NDArray[np.float64]

SIGMA = 0.02
MOST_STEPS = 40
# Weights that move less than this change no grey by a visible amount.
SETTLED = 1e-4
# The energy is summed over a picture this small (pixels on its longer side).
SIDE = 72
# Pairs are neighbours, and pixels a quarter of the longer side apart.
GAPS = (1, SIDE // 4)
# A weight that is off by 1 costs as much as grey differences that are off by 0.001 everywhere:
# enough to leave the plain mean in place where a photo has no colour to judge by.
DAMPING = 1e-6
MOST_CLIPPED = 0.01
CLIP_MARGIN = 1.0 / 255.0
STARTS = ((1 / 3, 1 / 3, 1 / 3), colour.LUMA_601)


@attrs.frozen(eq=False)
class Pairs:
    """Pairs of pixels: nine differences of terms, colour distance, sign (0 where it is free)."""

    terms: Doubles
    distance: Doubles
    sign: Doubles


def contrast_weights(sample: Rgb) -> tuple[float, ...]:
    """The nine weights of r, g, b, rg, rb, gb, r2, g2, b2 that keep most contrast.

    `sample`: float32, rows x columns x 3, encoded sRGB 0..1. The iteration sets out from the plain
    mean and from luma; the end with the lower energy is taken.
    """
    rgb = _reduced(sample)
    pairs = pairs_of(rgb)
    ends = [_settle(_from_linear(linear), pairs) for linear in STARTS]
    best = min(ends, key=lambda weights: energy(weights, pairs))
    return tuple(round(float(weight), 6) for weight in _drawn_back(best, rgb))


def pairs_of(rgb: Rgb) -> Pairs:
    """Pairs of pixels across and down; rgb as above, at most 72 pixels on its longer side."""
    records = _differences(rgb.astype(np.float64))
    lab = _differences(cv2.cvtColor(np.ascontiguousarray(rgb), cv2.COLOR_RGB2Lab) / 100.0)
    lighter, darker = (records >= 0.0).all(axis=1), (records <= 0.0).all(axis=1)
    return Pairs(
        terms=_differences(_terms(rgb.astype(np.float64))),
        distance=np.sqrt((lab**2).sum(axis=1)),
        sign=np.where(lighter, 1.0, 0.0) - np.where(darker, 1.0, 0.0),
    )


def energy(weights: Doubles, pairs: Pairs) -> float:
    """Mean energy of a pair: minus the logarithm of the paper's mixture, without its constants."""
    grey = pairs.terms @ weights
    one = (grey - pairs.distance) ** 2
    other = (grey + pairs.distance) ** 2
    scale = 2.0 * SIGMA**2
    free = -np.logaddexp(-one / scale, -other / scale) + np.log(2.0)
    fixed = (grey - pairs.sign * pairs.distance) ** 2 / scale
    return float(np.where(pairs.sign == 0.0, free, fixed).sum() / max(1, len(grey)))


def _reduced(sample: Rgb) -> Rgb:
    scale = SIDE / max(sample.shape[:2])
    if scale >= 1.0:
        return sample
    size = [max(1, round(scale * length)) for length in (sample.shape[1], sample.shape[0])]
    return np.asarray(cv2.resize(sample, size, interpolation=cv2.INTER_AREA), np.float32)


def _settle(weights: Doubles, pairs: Pairs) -> Doubles:
    origin, free = _from_linear(STARTS[0]), _neutral_directions()
    terms, offset = pairs.terms, pairs.terms @ origin
    gram = free.T @ (terms.T @ terms) @ free
    gram += DAMPING * max(1, len(terms)) * np.eye(len(gram))
    for _ in range(MOST_STEPS):
        # The two weights of the mixture differ by this tangent; it is the sign still undecided.
        lean = np.tanh((terms @ weights) * pairs.distance / SIGMA**2)
        wanted = np.where(pairs.sign == 0.0, lean, pairs.sign) * pairs.distance
        before = weights
        weights = origin + free @ np.linalg.solve(gram, free.T @ (terms.T @ (wanted - offset)))
        if np.abs(weights - before).max() < SETTLED:
            break
    return weights


def _drawn_back(weights: Doubles, rgb: Rgb) -> Doubles:
    terms = _terms(rgb.astype(np.float64)).reshape(-1, 9)
    origin = _from_linear(STARTS[0])
    plain, full = terms @ origin, terms @ weights
    shares = np.linspace(1.0, 0.0, 41)
    off = np.abs(plain + shares[:, None] * (full - plain) - 0.5) > 0.5 + CLIP_MARGIN
    kept = shares[np.argmax(off.mean(axis=1) <= MOST_CLIPPED)]
    return np.asarray(origin + kept * (weights - origin))


def _neutral_directions() -> Doubles:
    """The 9 x 7 ways in which weights may move while every neutral stays as it is."""
    conditions = np.zeros((2, 9))
    conditions[0, :3] = 1.0
    conditions[1, 3:] = 1.0
    return np.linalg.svd(conditions)[2][2:].T


def _from_linear(linear: tuple[float, ...]) -> Doubles:
    return np.concatenate([linear, np.zeros(6)])


def _terms(rgb: Doubles) -> Doubles:
    r, g, b = np.moveaxis(rgb, 2, 0)
    return np.stack([r, g, b, r * g, r * b, g * b, r * r, g * g, b * b], axis=2)


def _differences(values: NDArray[Any]) -> Doubles:
    parts = []
    for gap in GAPS:
        parts += [values[:, gap:] - values[:, :-gap], values[gap:] - values[:-gap]]
    layers = values.shape[2]
    return np.concatenate([part.reshape(-1, layers) for part in parts]).astype(np.float64)
