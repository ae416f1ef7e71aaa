"""The plate bitmap: the whole plate at the etch pitch, ready for the machine."""

from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine import burnt, dots_on_glass, drive, glass, proof, scratch, screens
from engine.filters import to_codes
from engine.flow import Flow, Prepared, look_from_toned, reach_mm
from engine.grid import Grid, whole_plate
from engine.measure import Shares, end_shares_of_look
from engine.output import Bitmap
from engine.progress import Progress, part, unheard
from shared.plate import Plate
from shared.profile import GENERIC, GlassProfile
from shared.recipe import Recipe

_POINT_BAND_PIXELS = 500_000
_BAND_PIXELS = 2_000_000
_FROST_BAND_PIXELS = 400_000
_LOOKED, _SCREENED = 0.6, 1.0
"""Shares of the progress bar at which the look and the screen are done."""
_LOOKED_FIRST, _SCREENED_FIRST = 0.3, 0.4
"""The same where dots follow the glass afterwards, which takes the rest."""

_TONED_SHARE = 0.4
"""Share of the look's work that is done point by point; filters take the rest."""


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
        dots_only = self.recipe.screen.is_dots and not self.recipe.output.eight_bit
        return Bitmap(
            pixels=for_machine(self.dots, self.recipe.plate),
            bits=1 if dots_only else 8,
            pitch_mm=self.recipe.plate.pitch_mm,
        )

    def frost(
        self, profile: GlassProfile = GENERIC, progress: Progress | None = None
    ) -> NDArray[np.float32]:
        """The frost that the burnt pixels leave: rows x columns, 0 to 1, in bands of rows.

        `progress` is called with a share from 0 to 1 and may raise `Cancelled`.
        """
        report = progress or unheard
        plate = whole_plate(self.recipe.plate)
        frost = np.empty(self.dots.shape, np.float32)
        reach = burnt.reach_mm(profile, self.recipe.screen, plate.pitch_mm)
        for band in _bands(plate, _FROST_BAND_PIXELS):
            wide = band.padded(reach, self.recipe.plate)
            found = burnt.frost_of_dots(
                self.dots[wide.inside(plate)],
                profile,
                self.recipe.screen,
                plate.pitch_mm,
                mirrored=self.recipe.plate.mirrored,
            )
            frost[band.inside(plate)] = found[band.inside(wide)]
            report((band.top + band.rows) / plate.rows)
        return frost

    def proof(self, profile: GlassProfile = GENERIC) -> NDArray[np.uint8]:
        """The simulated glass on its backing, from the front: sRGB grey codes of what is burnt."""
        plate = self.recipe.plate
        seen_ends = glass.ends(profile.light, self.recipe.glass.backing, plate.mark)
        return proof.on_backing(self.frost(profile), seen_ends, whole_plate(plate))


def burn(
    prepared: Prepared,
    recipe: Recipe,
    profile: GlassProfile = GENERIC,
    progress: Progress | None = None,
) -> Burn:
    """Compute the whole plate at the etch pitch, in bands of rows so that memory stays bounded.

    `progress` is called with a share from 0 to 1 and may raise `Cancelled`.
    """
    report = progress or unheard
    aim = drive.aim_of(recipe, profile)
    looked, screened = _LOOKED, _SCREENED
    if dots_on_glass.follows(aim):
        looked, screened = _LOOKED_FIRST, _SCREENED_FIRST
    look, shares = _look(prepared, recipe, part(report, 0.0, looked))
    scratch.give_back()
    asked = _drive(look, recipe.plate, aim)
    dots = screens.screen(
        asked,
        recipe.screen,
        pitch_mm=recipe.plate.pitch_mm,
        progress=part(report, looked, screened),
    )
    dots_on_glass.follow(
        dots,
        look,
        asked,
        aim,
        mirrored=recipe.plate.mirrored,
        progress=part(report, screened, 1.0),
    )
    report(1.0)
    return Burn(recipe, look, dots, shares)


def _look(
    prepared: Prepared, recipe: Recipe, report: Progress
) -> tuple[NDArray[np.uint16], Shares]:
    """The look of the whole plate: point by point first, then what needs the surroundings."""
    plate = whole_plate(recipe.plate)
    flow = Flow(prepared, most_bytes=0)
    toned = np.empty((plate.rows, plate.columns), np.float32)
    for band in _bands(plate, _POINT_BAND_PIXELS):
        toned[band.inside(plate)] = flow.toned(recipe, band)
        report(_TONED_SHARE * (band.top + band.rows) / plate.rows)
    look = np.empty((plate.rows, plate.columns), np.uint16)
    counted: list[tuple[int, Shares]] = []
    for band in _bands(plate, _BAND_PIXELS):
        wide = band.padded(reach_mm(recipe, plate.pitch_mm), recipe.plate)
        cover = flow.cover(recipe, band)
        values = look_from_toned(toned[wide.inside(plate)], recipe, wide, band, cover)
        inside = cover.of(values)
        counted.append((inside.size, end_shares_of_look(inside)))
        to_codes(values, 65535.0, look[band.inside(plate)])
        report(_TONED_SHARE + (1.0 - _TONED_SHARE) * (band.top + band.rows) / plate.rows)
    return look, _together(counted)


def _drive(look: NDArray[np.uint16], facts: Plate, aim: drive.Aim) -> NDArray[np.float32]:
    """What is asked of the laser for the look of the whole plate, spread made up for."""
    plate = whole_plate(facts)
    asked = np.empty(look.shape, np.float32)
    for band in _bands(plate, _BAND_PIXELS):
        wide = band.padded(drive.reach_mm(aim, plate.pitch_mm), facts)
        seen = look[wide.inside(plate)] * np.float32(1.0 / 65535.0)
        frost = drive.frost_asked(seen, aim, plate.pitch_mm)[band.inside(wide)]
        asked[band.inside(plate)] = drive.drive_of_frost(frost, aim)
    return asked


def for_machine(dots: NDArray[Any], plate: Plate) -> NDArray[np.uint8]:
    """Dots as seen from the front, turned into the file's pixels: 0 full power, 255 none.

    Mirrored left to right when the back is etched. The dots already say where the laser marks, so
    a mark that comes out light makes the file a negative of the picture by itself.
    """
    seen = dots[:, ::-1] if plate.mirrored else dots
    return np.ascontiguousarray(255 - seen)


def _bands(plate: Grid, pixels: int) -> list[Grid]:
    rows = max(64, pixels // plate.columns)
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
