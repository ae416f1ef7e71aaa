"""Beam, light, time and tone against published formulas and worked figures."""

import math

import numpy as np
import pytest

from engine.beam import line_overlap, line_ripple
from engine.kinematics import line_time_s, move_time_s, overtravel_mm, plate_time_s
from engine.lighting import ABSORPTION_PER_MM, EdgeLight, edge_flux
from shared.profile import GENERIC


@pytest.mark.parametrize(
    ("pitch_over_w", "ripple"), [(0.8, 0.0018), (1.0, 0.0288), (1.2, 0.130), (1.5, 0.446)]
)
def test_ripple_of_gaussian_scan_lines(pitch_over_w: float, ripple: float) -> None:
    """Sum of exp(-2 y^2 / w^2) at spacing p, peak to peak over mean; computed from the formula."""
    assert line_ripple(0.2, 0.1 * pitch_over_w) == pytest.approx(ripple, rel=0.02)


@pytest.mark.parametrize(("pitch", "overlap"), [(0.05, 0.635), (0.1, 0.270), (0.127, 0.073)])
def test_overlap_of_scan_lines(pitch: float, overlap: float) -> None:
    """1 - pitch / diameter for a 0.137 mm beam (common practice)."""
    assert line_overlap(0.137, pitch) == pytest.approx(overlap, abs=1e-3)


def test_fresnel_transmission_of_two_faces() -> None:
    """n = 1.523 (float glass, Rubin 1985): R = .04297 a face, .0824 for both summed, T .9176."""
    face = ((1.523 - 1.0) / (1.523 + 1.0)) ** 2
    both = 2.0 * face / (1.0 + face)
    assert GENERIC.light.transmittance == pytest.approx(1.0 - both, abs=1e-3)


@pytest.mark.parametrize(
    ("glass", "transmitted"),
    [("green", (0.039, 0.366, 0.341)), ("white", (0.501, 0.809, 0.789))],
)
def test_absorption_over_200_mm(glass: str, transmitted: tuple[float, ...]) -> None:
    """Beer-Lambert; clear and low-iron float at .65, .55, .45 um (from Rubin 1985's k tables)."""
    bare = np.zeros((2, 400), np.float32)
    flux = edge_flux(bare, 0.5, EdgeLight(("left",), 3.0, glass == "green"))
    for channel, wanted in enumerate(transmitted):
        assert math.exp(-200.0 * ABSORPTION_PER_MM[glass][channel]) == pytest.approx(
            wanted, rel=0.01
        )
        assert flux[0, -1, channel] == pytest.approx(wanted, rel=0.02)


def test_uniform_frost_decays_exponentially() -> None:
    """far / near = exp(-k L): k .01 /mm over 200 mm leaves .1353 (Beer-Lambert)."""
    frost = np.full((2, 200), 0.4, np.float32)
    flux = edge_flux(frost, 1.0, EdgeLight(("left",), 3.0, False))[0, :, 1].astype(float)
    decay = -np.log(flux[-1] / flux[0]) / 199.0
    assert flux[150] / flux[50] == pytest.approx(math.exp(-100.0 * decay), rel=1e-3)


def test_scan_time_of_a_worked_example() -> None:
    """200 x 150 mm at 0.1 mm, 400 mm/s, 4000 mm/s2: .700 s x 1500 lines = 1050 s."""
    assert overtravel_mm(400.0, 4000.0) == pytest.approx(20.0)
    assert overtravel_mm(500.0, 5000.0) == pytest.approx(25.0)
    assert line_time_s(200.0, 400.0, 4000.0) == pytest.approx(0.7)
    assert plate_time_s(200.0, 1500, 400.0, 4000.0, both_directions=True) == pytest.approx(1050.0)
    assert plate_time_s(200.0, 1500, 400.0, 4000.0, both_directions=False) > 1900.0


def test_short_moves() -> None:
    """10 mm, 100 mm/s, 1000 mm/s2: .200 s; 5 mm: 2 sqrt(L / a) = .141421 s."""
    assert move_time_s(10.0, 100.0, 1000.0) == pytest.approx(0.2)
    assert move_time_s(5.0, 100.0, 1000.0) == pytest.approx(0.141421, abs=1e-6)
