"""Error diffusion against a plain scan that hands errors on, pixel after pixel."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from engine.screens import bluenoise
from engine.screens.diffusion import diffuse

KERNELS = {
    "floyd": """
          *  7
       3  5  1""",
    "jarvis": """
             *  7  5
       3  5  7  5  3
       1  3  5  3  1""",
    "stucki": """
             *  8  4
       2  4  8  4  2
       1  2  4  2  1""",
}
"""As Floyd and Steinberg 1976, Jarvis, Judice and Ninke 1976 and Stucki 1981 print them."""

STIR = {"floyd": 0.4, "jarvis": 0.2, "stucki": 0.2}
"""How far apart the thresholds of the scan to and fro lie, around one half."""

SCANS = [(kernel, serpentine) for kernel in KERNELS for serpentine in (False, True)]


def taps(kernel: str) -> list[tuple[int, int, int]]:
    """Rows down, columns ahead and weight of each neighbour, in the order of reading."""
    lines = [line.split() for line in KERNELS[kernel].strip().splitlines()]
    lines[0] = ["0"] * (len(lines[1]) - len(lines[0])) + lines[0]
    here = lines[0].index("*")
    return [
        (down, column - here, int(weight))
        for down, line in enumerate(lines)
        for column, weight in enumerate(line)
        if weight not in ("*", "0")
    ]


def twin(
    drive: np.ndarray, kernel: str, serpentine: bool, top: int = 0, left: int = 0
) -> np.ndarray:
    """The slow, readable one: each pixel burns or not and hands its error on."""
    rows, columns = drive.shape
    neighbours = taps(kernel)
    divisor = sum(weight for _, _, weight in neighbours)
    mask = bluenoise.thresholds()
    values = drive.astype(np.float32)
    pixels = np.zeros(drive.shape, np.uint8)
    for row in range(rows):
        direction = -1 if serpentine and row % 2 else 1
        for column in range(columns)[::direction]:
            threshold = np.float32(0.5)
            if serpentine:
                noise = mask[(top + row) % 256, (left + column) % 256]
                stir = np.float32(STIR[kernel])
                threshold = stir * noise + np.float32(0.5) * (1 - stir)
            wanted = drive[row, column]
            burns = wanted >= 1 or (wanted > 0 and values[row, column] >= threshold)
            pixels[row, column] = 255 if burns else 0
            error = values[row, column] - np.float32(burns)
            for down, ahead, weight in neighbours:
                to = row + down, column + direction * ahead
                if to[0] < rows and 0 <= to[1] < columns:
                    values[to] += error * np.float32(weight / divisor)
    return pixels


def even_noise(rows: int, columns: int, seed: int = 3) -> np.ndarray:
    return np.random.default_rng(seed).random((rows, columns), dtype=np.float32)


@pytest.mark.parametrize(("kernel", "serpentine"), SCANS)
@settings(deadline=None, max_examples=50)
@given(
    drive=hnp.arrays(
        np.float32,
        hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=10),
        elements=st.floats(0.0, 1.0, width=32),
    )
)
def test_the_loop_gives_the_dots_of_the_twin(
    kernel: str, serpentine: bool, drive: np.ndarray
) -> None:
    assert np.array_equal(
        diffuse(drive, kernel, serpentine=serpentine), twin(drive, kernel, serpentine)
    )


@pytest.mark.parametrize("shape", [(1, 1), (1, 60), (90, 1), (2, 2), (97, 3), (3, 40), (64, 33)])
@pytest.mark.parametrize(("kernel", "serpentine"), SCANS)
def test_the_loop_gives_the_dots_of_the_twin_in_every_format(
    kernel: str, serpentine: bool, shape: tuple[int, int]
) -> None:
    drive = even_noise(*shape)
    assert np.array_equal(
        diffuse(drive, kernel, serpentine=serpentine), twin(drive, kernel, serpentine)
    )


def test_the_mask_lies_on_the_plate_and_repeats_down_it() -> None:
    drive = np.full((300, 9), 0.4, np.float32)
    assert np.array_equal(
        diffuse(drive, top=-70, left=250), twin(drive, "floyd", True, top=-70, left=250)
    )


@pytest.mark.parametrize("shape", [(0, 5), (5, 0), (0, 0)])
def test_an_empty_drive_has_no_dots(shape: tuple[int, int]) -> None:
    assert diffuse(np.zeros(shape, np.float32)).shape == shape


def test_float64_is_taken_as_float32() -> None:
    drive = np.random.default_rng(4).random((30, 30))
    assert np.array_equal(diffuse(drive), diffuse(drive.astype(np.float32)))


@pytest.mark.parametrize(("kernel", "serpentine"), SCANS)
@settings(deadline=None, max_examples=30)
@given(tone=st.floats(0.0, 1.0, width=32), seed=st.integers(0, 99))
def test_tone_is_kept(kernel: str, serpentine: bool, tone: float, seed: int) -> None:
    noise = np.random.default_rng(seed).normal(0.0, 0.05, (192, 192)).astype(np.float32)
    drive = np.clip(np.float32(tone) + noise, 0.0, 1.0)
    dots = diffuse(drive, kernel, serpentine=serpentine)
    assert abs(dots.mean() / 255.0 - drive.mean()) < 0.005


@pytest.mark.parametrize(("kernel", "serpentine"), SCANS)
def test_bare_and_full_parts_stay_so_beside_others(kernel: str, serpentine: bool) -> None:
    drive = even_noise(120, 150)
    drive[30:60, 40:90] = 0.0
    drive[70:100, 20:60] = 1.0
    dots = diffuse(drive, kernel, serpentine=serpentine)
    assert np.all(dots[drive == 0.0] == 0)
    assert np.all(dots[drive == 1.0] == 255)


@pytest.mark.parametrize("kernel", KERNELS)
def test_the_edges_of_the_dots_have_no_peak_at_the_middle_tone(kernel: str) -> None:
    """A checkerboard there would have a dot gain of its own."""
    tones = np.linspace(0.44, 0.56, 13, dtype=np.float32)
    dots = [diffuse(np.full((300, 300), tone, np.float32), kernel) // 255 for tone in tones]
    edges = [np.count_nonzero(d[1:] != d[:-1]) / d.size for d in dots]
    assert np.abs(np.diff(edges)).max() < 0.02
