"""Dots that settle: each may move to a neighbour's place where that makes the picture smoother.

Two passes of a direct binary search by swaps alone (Analoui and Allebach, Proc. SPIE 1666 (1992)
96-108): the error between dots and drive is seen through a Gaussian of 1.3 pixels, about what the
eye does at arm's length to pixels of 0.1 mm, and a dot moves where the sum of squares gets less.
It knows nothing of the glass, so a wrong profile cannot mislead it, and no dot is won or lost.
"""

import atexit
import functools
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.screens.settling_text import DOT, FIXED, FREE, REACH, TAPS, UNIT, settle_text

if TYPE_CHECKING:
    import wasmtime

PASSES = 2
BLOCK_ROWS = 256
"""Worked on in turn, each with what the ones before left; so memory stays bounded."""
_PAGE_BYTES = 65536
_ALIGN = 16


def settle(dots: NDArray[np.uint8], drive: NDArray[np.float32], scale: float = 1.0) -> None:
    """Move the dots, 0 or 255, of a drive times `scale` in place; rows x columns.

    A pixel without drive never burns and one with full drive always does, as before.
    """
    rows, columns = dots.shape
    if not dots.size:
        return
    loop = Loop(columns)
    for top in range(0, rows, BLOCK_ROWS):
        bottom = min(top + BLOCK_ROWS, rows)
        first, last = max(0, top - REACH), min(rows, bottom + REACH)
        asked = _steps(drive[first:last], scale)
        burns = np.minimum(dots[first:last], np.uint8(1))
        error = cv2.addWeighted(burns, UNIT, asked, -1.0, 0.0, dtype=cv2.CV_32F)
        inner = slice(top - first, bottom - first)
        fixed = (asked[inner] <= 0.0) | (asked[inner] >= UNIT)
        disturbed = disturbance(np.asarray(error, np.float32))
        loop.settle(dots[top:bottom], fixed, disturbed[inner], PASSES)


def disturbance(error: NDArray[np.float32]) -> NDArray[np.float32]:
    """How much a dot more at each pixel would add to the sum of squares of the seen error, halved:
    the error, in UNIT a dot, blurred twice; rows x columns."""
    taps = np.array(TAPS, np.float32)
    blurred = cv2.sepFilter2D(error, cv2.CV_32F, taps, taps, borderType=cv2.BORDER_CONSTANT)
    return np.asarray(blurred, np.float32)


class Loop:
    """The compiled loop with room for a block of some width."""

    def __init__(self, columns: int) -> None:
        import wasmtime

        engine, module = _compiled()
        self._store = wasmtime.Store(engine)
        exports = wasmtime.Instance(self._store, module, []).exports(self._store)
        memory, loop = exports["memory"], exports["settle"]
        assert isinstance(memory, wasmtime.Memory)
        assert isinstance(loop, wasmtime.Func)
        self._loop = loop
        width = -(-(columns + 2) // _ALIGN) * _ALIGN
        self._errors_at = (BLOCK_ROWS + 2) * width
        errors = (BLOCK_ROWS + 2 * REACH, columns + 2 * REACH)
        end = self._errors_at + 4 * errors[0] * errors[1]
        memory.grow(self._store, end // _PAGE_BYTES)
        held = np.frombuffer(memoryview(memory.get_buffer_ptr(self._store)), np.uint8)
        self._states = held[: self._errors_at].reshape(BLOCK_ROWS + 2, width)
        self._errors: NDArray[np.float32] = (
            held[self._errors_at : end].view(np.float32).reshape(errors)
        )

    def settle(
        self,
        dots: NDArray[np.uint8],
        fixed: NDArray[np.bool_],
        disturbed: NDArray[np.float32],
        passes: int,
    ) -> None:
        """Move the dots, 0 or 255, of at most BLOCK_ROWS rows in place, as `disturbed` tells, which
        is `disturbance` there; `fixed` ones stand."""
        rows, columns = dots.shape
        self._states[:] = FIXED
        place = self._states[1 : 1 + rows, 1 : 1 + columns]
        place[:] = np.where(fixed, np.uint8(FIXED), np.minimum(dots, np.uint8(DOT)))
        self._errors[REACH : REACH + rows, REACH : REACH + columns] = disturbed
        strides = self._states.strides[0], self._errors.strides[0]
        states_at = strides[0] + 1
        errors_at = self._errors_at + REACH * (strides[1] + 4)
        for _ in range(passes):
            self._loop(self._store, states_at, errors_at, rows, columns, *strides)
        dots[place == FREE] = 0
        dots[place == DOT] = 255


def _steps(drive: NDArray[np.float32], scale: float) -> NDArray[np.float32]:
    """The drive in whole steps of 1 / UNIT, 0 and UNIT for nothing and full alone."""
    asked = np.asarray(drive, np.float32) * np.float32(scale)
    inner = np.clip(np.rint(asked * np.float32(UNIT)), 1.0, UNIT - 1.0)
    inner[asked >= 1.0] = UNIT
    inner[asked <= 0.0] = 0.0
    return np.asarray(inner, np.float32)


@functools.cache
def _compiled() -> "tuple[wasmtime.Engine, wasmtime.Module]":
    import wasmtime

    engine = wasmtime.Engine()
    return engine, wasmtime.Module(engine, settle_text())


# What is still held when Python takes its modules apart complains while it is freed.
atexit.register(_compiled.cache_clear)
