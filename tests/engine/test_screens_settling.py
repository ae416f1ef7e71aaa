"""Settling dots against a plain search, and what it may not touch."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from engine.screens.diffusion import diffuse
from engine.screens.settling import BLOCK_ROWS, PASSES, settle
from engine.screens.settling_text import REACH, TAPS, UNIT

NEIGHBOURS = [(down, ahead) for down in (-1, 0, 1) for ahead in (-1, 0, 1) if down or ahead]


def picture(rows: int, columns: int, seed: int = 3) -> np.ndarray:
    """Soft shapes between bare and full, some of both."""
    noise = np.random.default_rng(seed).random((rows, columns), dtype=np.float32)
    return np.clip(24.0 * (cv2.GaussianBlur(noise, (0, 0), 4.0) - 0.5) + 0.5, 0.0, 1.0)


def settled(drive: np.ndarray, scale: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    before = diffuse(np.minimum(drive * np.float32(scale), np.float32(1.0)))
    after = before.copy()
    settle(after, drive, scale)
    return before, after


def twin(dots: np.ndarray, drive: np.ndarray) -> np.ndarray:
    """The slow, readable one: every move is judged by the whole sum of squares."""
    asked = np.clip(np.rint(drive * np.float32(UNIT)), 1.0, UNIT - 1.0)
    asked = np.where(drive <= 0.0, 0.0, np.where(drive >= 1.0, UNIT, asked))
    weights = np.outer(TAPS, TAPS)
    burns = (dots > 0).astype(float)
    movable = (drive > 0.0) & (drive < 1.0)

    def disturbance(at: tuple[int, int]) -> float:
        rows = slice(max(at[0] - REACH, 0), at[0] + REACH + 1)
        columns = slice(max(at[1] - REACH, 0), at[1] + REACH + 1)
        error = (burns * UNIT - asked)[rows, columns]
        down = np.arange(rows.start, rows.start + error.shape[0]) - at[0] + REACH
        ahead = np.arange(columns.start, columns.start + error.shape[1]) - at[1] + REACH
        return float((weights[np.ix_(down, ahead)] * error).sum())

    for _ in range(PASSES):
        for row, column in np.ndindex(burns.shape):
            if not (burns[row, column] and movable[row, column]):
                continue
            best, to = disturbance((row, column)), None
            for down, ahead in NEIGHBOURS:
                other = row + down, column + ahead
                inside = 0 <= other[0] < burns.shape[0] and 0 <= other[1] < burns.shape[1]
                if inside and movable[other] and not burns[other]:
                    alone = weights[REACH, REACH] - weights[REACH + down, REACH + ahead]
                    cost = disturbance(other) + alone * UNIT
                    if cost < best:
                        best, to = cost, other
            if to is not None:
                burns[row, column], burns[to] = 0.0, 1.0
    return (burns * 255).astype(np.uint8)


@settings(deadline=None, max_examples=40)
@given(
    hnp.arrays(
        np.float32,
        hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=9),
        elements=st.floats(0.0, 1.0, width=32),
    )
)
def test_the_loop_moves_the_dots_of_the_twin(drive: np.ndarray) -> None:
    before, after = settled(drive)
    assert np.array_equal(after, twin(before, drive))


def test_the_loop_moves_the_dots_of_the_twin_in_a_picture() -> None:
    drive = picture(40, 33)
    before, after = settled(drive)
    assert np.array_equal(after, twin(before, drive))


@pytest.mark.parametrize("shape", [(1, 1), (1, 60), (90, 1), (BLOCK_ROWS, 8), (BLOCK_ROWS + 1, 8)])
def test_no_dot_is_won_or_lost_and_fixed_ones_stay(shape: tuple[int, int]) -> None:
    before, after = settled(picture(*shape))
    assert before.sum(dtype=int) == after.sum(dtype=int)
    assert set(np.unique(after)) <= {0, 255}


def test_bare_and_full_parts_stay_so() -> None:
    drive = picture(300, 200)
    _, after = settled(drive)
    assert (drive == 0.0).any()
    assert (drive == 1.0).any()
    assert np.all(after[drive == 0.0] == 0)
    assert np.all(after[drive == 1.0] == 255)


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_the_picture_gets_smoother(scale: float) -> None:
    """To an eye at 450 mm, as a Gaussian of 0.157 mm on pixels of 0.1 mm."""
    drive = picture(400, 300) / np.float32(scale)
    before, after = settled(drive, scale)
    noise = [
        float(
            np.square(cv2.GaussianBlur(dots / np.float32(255) - scale * drive, (0, 0), 1.57)).mean()
        )
        for dots in (before, after)
    ]
    assert noise[1] < 0.7 * noise[0]


def test_blocks_leave_no_seam() -> None:
    drive = picture(2 * BLOCK_ROWS, 300)
    _, after = settled(drive)
    error = cv2.GaussianBlur(after / np.float32(255) - drive, (0, 0), 1.57)
    at_seam = np.square(error[BLOCK_ROWS - 3 : BLOCK_ROWS + 3]).mean()
    assert at_seam < 2.0 * np.square(error).mean()


def test_nothing_of_nothing() -> None:
    settle(np.zeros((0, 5), np.uint8), np.zeros((0, 5), np.float32))
