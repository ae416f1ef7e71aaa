"""Error diffusion along wavefronts against a plain raster scan."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from engine.screens.diffusion import diffuse

KERNEL = ((0, 1, 7), (1, -1, 3), (1, 0, 5), (1, 1, 1))
"""Row, column and sixteenths of each neighbour, after Floyd and Steinberg 1976."""


def raster(drive: np.ndarray) -> np.ndarray:
    """The slow, readable twin: pixel after pixel, row after row."""
    rows, columns = drive.shape
    values = drive.astype(np.float32)
    pixels = np.zeros(drive.shape, np.uint8)
    for row in range(rows):
        for column in range(columns):
            burns = values[row, column] >= np.float32(0.5)
            pixels[row, column] = 255 if burns else 0
            error = values[row, column] - np.float32(burns)
            for down, right, sixteenths in KERNEL:
                if row + down < rows and 0 <= column + right < columns:
                    values[row + down, column + right] += error * np.float32(sixteenths / 16.0)
    return pixels


def test_the_kernel_hands_on_the_whole_error() -> None:
    assert sum(sixteenths for _, _, sixteenths in KERNEL) == 16


@settings(deadline=None)
@given(
    hnp.arrays(
        np.float32,
        hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=12),
        elements=st.floats(0.0, 1.0, width=32),
    )
)
def test_wavefronts_give_the_raster_scan(drive: np.ndarray) -> None:
    assert np.array_equal(diffuse(drive), raster(drive))


@pytest.mark.parametrize(
    "shape", [(1, 1), (1, 60), (60, 1), (2, 2), (40, 2), (2, 40), (40, 3), (75, 41), (41, 75)]
)
def test_wavefronts_give_the_raster_scan_in_every_format(shape: tuple[int, int]) -> None:
    drive = np.random.default_rng(3).random(shape, dtype=np.float32)
    assert np.array_equal(diffuse(drive), raster(drive))


def test_float64_is_taken_as_float32() -> None:
    drive = np.random.default_rng(4).random((30, 30))
    assert np.array_equal(diffuse(drive), diffuse(drive.astype(np.float32)))


@settings(deadline=None)
@given(tone=st.floats(0.0, 1.0, width=32), seed=st.integers(0, 99))
def test_tone_is_kept(tone: float, seed: int) -> None:
    noise = np.random.default_rng(seed).normal(0.0, 0.05, (128, 128)).astype(np.float32)
    drive = np.clip(np.float32(tone) + noise, 0.0, 1.0)
    assert abs(diffuse(drive).mean() / 255.0 - drive.mean()) < 0.005
