"""The plate bitmap: the whole plate at the etch pitch, ready for the machine."""

import math
from collections.abc import Callable
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine import burning, glass, screens
from engine.flow import Flow, Prepared
from engine.grid import Grid, whole_plate
from engine.measure import Shares, end_shares_of_look
from engine.output import Bitmap
from shared.plate import Plate
from shared.profile import GENERIC, GlassProfile
from shared.recipe import Recipe

_BAND_PIXELS = 3_000_000
_FROST_ROWS = 256
_LOOK_SHARE = 0.6
"""Share of the progress bar that the look takes; the screen takes the rest."""

Progress = Callable[[float], None]


@attrs.frozen(eq=False)
class Burn:
    """A plate, computed. `look` and `dots` are as seen from the front, uint16 and uint8."""

    recipe: Recipe
    look: NDArray[np.uint16]
    """0 is the darkest end, 65535 the lightest."""
    dots: NDArray[np.uint8]
    """What the laser does: 0 nothing, 255 full power."""
    shares: Shares
    """How much of the picture ends at the two ends of the look; every pixel counted."""

    @property
    def bitmap(self) -> Bitmap:
        """The picture for the machine: mirrored and inverted as the plate's facts ask."""
        dots_only = screens.is_dots(self.recipe.screen) and not self.recipe.output.eight_bit
        return Bitmap(
            pixels=for_machine(self.dots, self.recipe.plate),
            bits=1 if dots_only else 8,
            pitch_mm=self.recipe.plate.pitch_mm,
        )

    def frost(self, profile: GlassProfile = GENERIC) -> NDArray[np.float32]:
        """The frost that the burnt pixels leave: rows x columns, 0 to 1, in bands of rows."""
        reach = math.ceil(4.0 * burning.total_spread_mm(profile) / self.recipe.plate.pitch_mm)
        reach += reach % 2
        frost = np.empty(self.dots.shape, np.float32)
        for top in range(0, self.dots.shape[0], _FROST_ROWS):
            first, last = max(0, top - reach), top + _FROST_ROWS + reach
            burnt = burning.burn_codes(self.dots[first:last], profile, self.recipe.plate.pitch_mm)
            rows = burnt[top - first : top - first + _FROST_ROWS]
            frost[top : top + rows.shape[0]] = rows
        return frost

    def proof(self, profile: GlassProfile = GENERIC) -> NDArray[np.uint8]:
        """The simulated glass on its backing, from the front: sRGB grey codes of what is burnt."""
        plate = self.recipe.plate
        seen_ends = glass.ends(profile.light, self.recipe.glass.backing, plate.mark)
        return glass.shown_mark(self.frost(profile), seen_ends)


def burn(
    prepared: Prepared,
    recipe: Recipe,
    profile: GlassProfile = GENERIC,
    progress: Progress | None = None,
) -> Burn:
    """Compute the whole plate at the etch pitch, in bands of rows so that memory stays bounded.

    `progress` is called with a share from 0 to 1 and may raise `Cancelled`.
    """
    report = progress or _ignore
    plate = whole_plate(recipe.plate)
    look = np.empty((plate.rows, plate.columns), np.uint16)
    drive = np.empty((plate.rows, plate.columns), np.float32)
    flow = Flow(prepared, profile, most_bytes=0)
    counted: list[tuple[int, Shares]] = []
    for band in _bands(plate):
        rows = slice(band.top, band.top + band.rows)
        values = flow.look(recipe, band)
        look[rows] = np.round(values * np.float32(65535.0))
        inside = flow.cover(recipe, band).of(values)
        counted.append((inside.size, end_shares_of_look(inside)))
        drive[rows] = flow.drive(recipe, band)
        report(_LOOK_SHARE * rows.stop / plate.rows)
    del flow, values, inside
    dots = screens.screen(
        drive,
        recipe.screen,
        pitch_mm=recipe.plate.pitch_mm,
        progress=lambda share: report(_LOOK_SHARE + (1.0 - _LOOK_SHARE) * share),
    )
    report(1.0)
    return Burn(recipe, look, dots, _together(counted))


def for_machine(dots: NDArray[Any], plate: Plate) -> NDArray[np.uint8]:
    """Dots as seen from the front, turned into the file's pixels: 0 full power, 255 none.

    Mirrored left to right when the back is etched. The dots already say where the laser marks, so
    a mark that comes out light makes the file a negative of the picture by itself.
    """
    seen = dots[:, ::-1] if plate.mirrored else dots
    return np.ascontiguousarray(255 - seen)


def _bands(plate: Grid) -> list[Grid]:
    rows = max(64, _BAND_PIXELS // plate.columns)
    return [
        attrs.evolve(plate, top=top, rows=min(rows, plate.rows - top))
        for top in range(0, plate.rows, rows)
    ]


def _together(counted: list[tuple[int, Shares]]) -> Shares:
    pixels = max(1, sum(count for count, _ in counted))
    return Shares(
        bare=sum(count * shares.bare for count, shares in counted) / pixels,
        full=sum(count * shares.full for count, shares in counted) / pixels,
    )


def _ignore(_: float) -> None:
    return None
