"""Blend modes against the formulas of W3C Compositing and Blending Level 1 (CR 2015-01-13),
section "Separable blend modes", worked out by hand for single values."""

import math

import numpy as np
import pytest

from engine import blend

# (b, s): multiply, screen, overlay, hard-light, soft-light, dodge, burn.
ORDER = (
    blend.multiply,
    blend.screen,
    blend.overlay,
    blend.hard_light,
    blend.soft_light,
    blend.dodge,
    blend.burn,
)
ROOT = math.sqrt(0.6)
VECTORS = {
    (0.6, 0.3): (0.18, 0.72, 0.44, 0.36, 0.504, 6 / 7, 0.0),
    (0.6, 0.8): (0.48, 0.92, 0.84, 0.84, 0.6 + 0.6 * (ROOT - 0.6), 1.0, 0.5),
    (0.2, 0.7): (0.14, 0.76, 0.28, 0.52, 0.2992, 2 / 3, 0.0),
    (0.25, 0.75): (0.1875, 0.8125, 0.375, 0.625, 0.375, 1.0, 0.0),
    (0.5, 0.5): (0.25, 0.75, 0.5, 0.5, 0.5, 1.0, 0.0),
    (0.25, 0.5): (0.125, 0.625, 0.25, 0.25, 0.25, 0.5, 0.0),
    (0.5, 0.25): (0.125, 0.625, 0.25, 0.25, 0.375, 2 / 3, 0.0),
    (0.25, 0.0): (0.0, 0.25, 0.0, 0.0, 0.0625, 0.25, 0.0),
    (0.5, 1.0): (0.5, 1.0, 1.0, 1.0, math.sqrt(0.5), 1.0, 0.5),
    (0.0, 0.0): (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.0, 0.5): (0.0, 0.5, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.0, 1.0): (0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0),
    (1.0, 0.0): (0.0, 1.0, 1.0, 0.0, 1.0, 1.0, 1.0),
    (1.0, 0.5): (0.5, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0),
    (1.0, 1.0): (1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0),
}


@pytest.mark.parametrize("pair", VECTORS)
def test_vectors_of_the_seven_modes(pair: tuple[float, float]) -> None:
    found = [float(mode(*pair)) for mode in ORDER]
    assert found == pytest.approx(VECTORS[pair], abs=1e-6)


@pytest.mark.parametrize("mode", ORDER)
def test_pictures_agree_with_single_values(mode) -> None:
    """The branches of the formulas are taken per pixel, in float32 as in float64."""
    b, s = (np.array(side) for side in zip(*VECTORS, strict=True))
    wanted = [VECTORS[pair][ORDER.index(mode)] for pair in VECTORS]
    np.testing.assert_allclose(mode(b, s), wanted, atol=1e-12)
    np.testing.assert_allclose(mode(b.astype(np.float32), s.astype(np.float32)), wanted, atol=1e-6)


def test_soft_light_branches_meet_at_a_quarter() -> None:
    """At b = 0.25 both forms of D give 0.5, so the curve has no step there."""
    below, above = (float(blend.soft_light(b, 0.9)) for b in (0.25, 0.25 + 1e-9))
    assert above == pytest.approx(below, abs=1e-8)
