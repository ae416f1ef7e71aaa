"""Clustered dots: true tone for every ruling and angle, and the grid that was asked for."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.screens.bluenoise import thresholds
from engine.screens.clustered import cluster

GRIDS = [  # pitch in mm, lines per cm, degrees; whole pixels per line are the hard case
    (0.1, 20.0, 45.0),
    (0.1, 20.0, 0.0),
    (0.1, 25.0, 0.0),
    (0.1, 19.98, 0.0),
    (0.1, 50.0, 45.0),
    (0.0847, 20.0, 15.0),
    (0.1, 33.3, -30.0),
    (0.1, 10.0, 75.0),
    (0.1, 100.0, 45.0),
]


def flat(drive: float, side: int = 512) -> np.ndarray:
    return np.full((side, side), drive, np.float32)


def distribution(side: int = 1500) -> np.ndarray:
    """The spot function at the middles of side x side cells of one line, sorted."""
    wave = np.cos(2.0 * np.pi * (np.arange(side) + 0.5) / side)
    return np.sort((wave[:, None] + wave[None, :]).ravel())


def twin(
    drive: float, shape: tuple[int, int], grid: tuple[float, float, float], jitter: float = 1.0
) -> np.ndarray:
    """The plain one: look at the spot function somewhere in each pixel's square and rank it."""
    pitch, ruling, angle = grid
    turn = np.deg2rad(angle)
    rows, columns = np.indices(shape)
    mask = thresholds().astype(np.float64) - 0.5
    x = columns + jitter * mask[rows % 256, columns % 256]
    y = rows + jitter * mask[(rows + 97) % 256, (columns + 151) % 256]
    u = (x * np.cos(turn) + y * np.sin(turn)) * pitch * ruling / 10.0
    v = (-x * np.sin(turn) + y * np.cos(turn)) * pitch * ruling / 10.0
    ranks = distribution()
    spot = np.cos(2.0 * np.pi * u) + np.cos(2.0 * np.pi * v)
    higher = 1.0 - np.searchsorted(ranks, spot) / ranks.size
    return np.where(drive >= higher, np.uint8(255), np.uint8(0))


@pytest.mark.parametrize("grid", GRIDS[:6:2])
@pytest.mark.parametrize("drive", [0.1, 0.47, 0.8])
def test_the_dots_are_those_of_the_twin(grid: tuple[float, float, float], drive: float) -> None:
    """But for the few pixels that lie within the tables' rounding of a threshold."""
    pitch, ruling, angle = grid
    dots = cluster(flat(drive), ruling, angle, pitch_mm=pitch)
    assert np.count_nonzero(dots != twin(drive, dots.shape, grid)) <= 0.002 * dots.size


@pytest.mark.parametrize(("pitch", "ruling", "angle"), GRIDS)
def test_every_level_has_its_tone(pitch: float, ruling: float, angle: float) -> None:
    for level in np.linspace(0.0, 1.0, 52):
        dots = cluster(flat(level), ruling, angle, pitch_mm=pitch)
        assert abs(dots.mean() / 255.0 - level) < 0.005


@settings(deadline=None, max_examples=40)
@given(
    level=st.floats(0.0, 1.0, width=32),
    ruling=st.floats(4.0, 100.0),
    angle=st.floats(-90.0, 90.0),
    pitch=st.sampled_from([0.05, 0.0847, 0.1, 0.127]),
)
def test_any_grid_has_the_tone(level: float, ruling: float, angle: float, pitch: float) -> None:
    lines = 51.2 * pitch * ruling
    dots = cluster(flat(level), ruling, angle, pitch_mm=pitch)
    assert abs(dots.mean() / 255.0 - level) < 0.005 + 0.1 / lines  # cells cut by the border


def strongest_slow_wave(dots: np.ndarray, pitch: float, ruling: float) -> float:
    """Amplitude, in shares of tone, of the strongest wave clearly slower than the ruling."""
    waves = 2.0 * np.abs(np.fft.fft2(dots / 255.0)) / dots.size
    waves[0, 0] = 0.0
    rows, columns = (np.fft.fftfreq(side, pitch) for side in dots.shape)
    slow = np.hypot(rows[:, None], columns[None, :]) < min(1.0, 0.05 * ruling)
    return float(waves[slow].max())


@pytest.mark.parametrize(("pitch", "ruling", "angle"), [*GRIDS, (0.1, 48.0, 0.0)])
def test_there_is_no_moire(pitch: float, ruling: float, angle: float) -> None:
    dots = cluster(flat(0.3, 640), ruling, angle, pitch_mm=pitch)
    assert strongest_slow_wave(dots, pitch, ruling) < 0.01


def test_without_looking_about_in_the_pixel_there_would_be() -> None:
    """So the bound above can be missed."""
    dots = twin(0.3, (640, 640), (0.1, 48.0, 0.0), jitter=0.0)
    assert strongest_slow_wave(dots, 0.1, 48.0) > 0.03


@pytest.mark.parametrize(("ruling", "angle"), [(10.0, 0.0), (12.5, 30.0), (20.0, -15.0)])
def test_ruling_and_angle_are_those_asked_for(ruling: float, angle: float) -> None:
    """The strongest frequency of the dots, in lines per mm, and its direction."""
    side, pitch = 1024, 0.05
    dots = cluster(flat(0.5, side), ruling, angle, pitch_mm=pitch) / 255.0
    power = np.abs(np.fft.fft2(dots - dots.mean())) ** 2
    row, column = np.unravel_index(np.argmax(power), power.shape)
    frequencies = np.fft.fftfreq(side, pitch)
    assert np.hypot(frequencies[row], frequencies[column]) == pytest.approx(ruling / 10.0, abs=0.03)
    direction = np.rad2deg(np.arctan2(frequencies[row], frequencies[column]))
    assert (direction - angle + 45.0) % 90.0 - 45.0 == pytest.approx(0.0, abs=1.5)


def test_dots_are_clusters() -> None:
    """Ten pixels from line to line: far fewer edges than scattered dots of the same tone have."""
    dots = cluster(flat(0.3), 10.0, 45.0, pitch_mm=0.1)
    edges = np.count_nonzero(dots[1:] != dots[:-1]) / dots.size
    assert edges < 0.5 * 2.0 * 0.3 * 0.7


def test_more_drive_never_takes_a_dot_away() -> None:
    drive = np.random.default_rng(5).random((100, 120), dtype=np.float32)
    less = cluster(drive * np.float32(0.8), 20.0, 45.0, pitch_mm=0.1)
    assert np.all(less <= cluster(drive, 20.0, 45.0, pitch_mm=0.1))


def test_a_window_far_out_and_beyond_the_corner_continues_the_grid() -> None:
    whole = cluster(flat(0.4, 400), 20.0, 33.0, pitch_mm=0.1, top=-100, left=29_800)
    part = cluster(flat(0.4, 80), 20.0, 33.0, pitch_mm=0.1, top=-20, left=30_000)
    assert np.array_equal(part, whole[80:160, 200:280])
