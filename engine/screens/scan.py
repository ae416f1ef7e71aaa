"""The one loop of the engine that no array operation can do: error diffusion, pixel after pixel.

Every pixel waits for the one before it and, to and fro, every line for the one before it. So the
loop is compiled WebAssembly (see scan_text): ready some milliseconds after it is first wanted, on
every Python, and float32 without any freedom for the compiler, so that the dots are the same on
every machine.
"""

import atexit
import functools
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from engine.screens.kernels import KERNELS
from engine.screens.scan_text import FLOAT_BYTES, loop_text

if TYPE_CHECKING:
    import wasmtime

_PAGE_BYTES = 65536

BAND_ROWS = 32
"""Even, so that every band starts from the left; few, so that a band stays in the cache."""


class Scan:
    """A picture worked from the top in bands of BAND_ROWS by one compiled loop.

    thresholds: float32, rows x columns; set them first. They repeat down the picture.
    """

    def __init__(
        self, kernel: str, serpentine: bool, columns: int, threshold_rows: int = BAND_ROWS
    ) -> None:
        """threshold_rows: a multiple of BAND_ROWS."""
        import wasmtime

        engine, module = _compiled(kernel, serpentine)
        self._store = wasmtime.Store(engine)
        exports = wasmtime.Instance(self._store, module, []).exports(self._store)
        memory, scan = exports["memory"], exports["scan"]
        assert isinstance(memory, wasmtime.Memory)
        assert isinstance(scan, wasmtime.Func)
        self._scan = scan

        self._depth, self._reach = KERNELS[kernel].depth, KERNELS[kernel].reach
        lines, width = self._depth + BAND_ROWS, columns + 2 * self._reach
        self._thresholds_at = lines * width * FLOAT_BYTES
        self._dots_at = self._thresholds_at + threshold_rows * columns * FLOAT_BYTES
        memory.grow(self._store, (self._dots_at + BAND_ROWS * columns) // _PAGE_BYTES)
        held = np.frombuffer(memoryview(memory.get_buffer_ptr(self._store)), np.uint8)
        plane = held[: self._thresholds_at].view(np.float32).reshape(lines, width)
        self._plane: NDArray[np.float32] = plane
        thresholds = held[self._thresholds_at : self._dots_at].view(np.float32)
        self.thresholds: NDArray[np.float32] = thresholds.reshape(threshold_rows, columns)
        dots = held[self._dots_at :][: BAND_ROWS * columns]
        self._dots: NDArray[np.uint8] = dots.reshape(BAND_ROWS, columns)

    def band(self, first: int, drive: NDArray[np.float32]) -> NDArray[np.uint8]:
        """Work the band that starts at row `first`: `drive`, rows x columns, 0 to 1.

        Returns its dots, 0 or 255, to be copied before the next band.
        """
        rows, columns = drive.shape
        self._plane[self._depth : self._depth + rows, self._reach : self._reach + columns] = drive
        stride = self._plane.strides[0]
        plane_at = self._depth * stride + self._reach * FLOAT_BYTES
        at = self._thresholds_at + first % len(self.thresholds) * columns * FLOAT_BYTES
        self._scan(self._store, plane_at, at, self._dots_at, rows, columns, stride)
        self._plane[: self._depth] = self._plane[rows : rows + self._depth].copy()
        return self._dots[:rows]


@functools.cache
def _compiled(kernel: str, serpentine: bool) -> "tuple[wasmtime.Engine, wasmtime.Module]":
    import wasmtime

    engine = wasmtime.Engine()
    return engine, wasmtime.Module(engine, loop_text(KERNELS[kernel], serpentine))


# What is still held when Python takes its modules apart complains while it is freed.
atexit.register(_compiled.cache_clear)
