"""A grid: which part of the plate is computed, and how finely."""

import math

import attrs

from shared import units
from shared.plate import Plate

CELL = 8
"""Padded grids begin on a multiple of as many pixels, so that what is computed on pixels taken
together, up to `CELL` a way, falls on the same ones in every window. It is even, so that the lines
of a padded grid keep the direction in which the machine burns them."""


@attrs.frozen
class Grid:
    """Rows by columns of square pixels on the lattice that starts at the plate's top left corner.

    Coordinates are as seen from the front. Pixel (row, column) of the grid has its centre at
    ((left + column + 0.5) * pitch_mm, (top + row + 0.5) * pitch_mm). Two grids of the same pitch
    that overlap have the same pixels where they do.
    """

    pitch_mm: float
    top: int
    left: int
    rows: int
    columns: int
    draft: bool = False
    """Whether the photo may be read coarsely, as while it is being dragged."""

    def padded(self, reach_mm: float, plate: Plate) -> "Grid":
        """This grid grown by at least `reach_mm` on each side, but not beyond the plate."""
        whole = whole_plate(plate, self.pitch_mm)
        pad = math.ceil(reach_mm / self.pitch_mm)
        top, left = (max(0, first - pad) // CELL * CELL for first in (self.top, self.left))
        bottom = min(max(whole.rows, self.top + self.rows), self.top + self.rows + pad)
        right = min(max(whole.columns, self.left + self.columns), self.left + self.columns + pad)
        return attrs.evolve(self, top=top, left=left, rows=bottom - top, columns=right - left)

    def lies_in(self, outer: "Grid") -> bool:
        """Whether all pixels of this grid are pixels of another one of the same pitch."""
        top, left = self.top - outer.top, self.left - outer.left
        in_rows = top >= 0 and top + self.rows <= outer.rows
        return in_rows and left >= 0 and left + self.columns <= outer.columns

    def inside(self, outer: "Grid") -> tuple[slice, slice]:
        """Where this grid lies in the array of a larger grid of the same pitch."""
        top, left = self.top - outer.top, self.left - outer.left
        return slice(top, top + self.rows), slice(left, left + self.columns)

    @property
    def left_mm(self) -> float:
        """Left edge on the plate."""
        return self.left * self.pitch_mm

    @property
    def top_mm(self) -> float:
        """Top edge on the plate."""
        return self.top * self.pitch_mm

    @property
    def width_mm(self) -> float:
        """Width on the plate."""
        return self.columns * self.pitch_mm

    @property
    def height_mm(self) -> float:
        """Height on the plate."""
        return self.rows * self.pitch_mm


def whole_plate(plate: Plate, pitch_mm: float | None = None) -> Grid:
    """The grid of the whole plate, at the etch pitch or at another one."""
    pitch = plate.pitch_mm if pitch_mm is None else pitch_mm
    rows = units.pixel_count(plate.height_mm, pitch)
    columns = units.pixel_count(plate.width_mm, pitch)
    return Grid(pitch, 0, 0, rows, columns)


def overview(plate: Plate, longest: int) -> Grid:
    """The whole plate on a grid whose longer side has about `longest` pixels.

    Never finer than the etch pitch.
    """
    return whole_plate(plate, max(plate.pitch_mm, max(plate.width_mm, plate.height_mm) / longest))


def window(
    plate: Plate,
    pitch_mm: float,
    left_mm: float,
    top_mm: float,
    right_mm: float,
    bottom_mm: float,
    *,
    draft: bool = False,
) -> Grid:
    """The smallest grid that covers a rectangle of the plate, clipped to the plate."""
    whole = whole_plate(plate, pitch_mm)
    left = min(max(0, math.floor(left_mm / pitch_mm)), whole.columns - 1)
    top = min(max(0, math.floor(top_mm / pitch_mm)), whole.rows - 1)
    right = min(max(left + 1, math.ceil(right_mm / pitch_mm)), whole.columns)
    bottom = min(max(top + 1, math.ceil(bottom_mm / pitch_mm)), whole.rows)
    return Grid(pitch_mm, top, left, bottom - top, right - left, draft)
