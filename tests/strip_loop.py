"""The closed loop without files: make a strip, burn it on a virtual sheet, photograph, read, fit,
burn a portrait with the profile and look at it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray
from skimage import data

from engine import plate_bitmap, screens
from engine.flow import Prepared, prepare
from engine.photo import open_photo, photo_from_array
from engine.strip.fit_values import measured_of
from engine.strip.judge import Judgement, judge
from engine.strip.make import Made, Plan, make_strip
from engine.strip.read import read_photo
from shared.plate import Plate
from shared.profile import GENERIC, GlassProfile, Machine, Setting
from shared.recipe import Recipe
from shared.strip import Strip
from tests import virtual_camera, virtual_sheet
from tests.virtual_sheet import Sheet
from tests.virtual_strip import PITCH_MM, etched

STRIP_PIECE, PLATE_PIECE = 3, 4
DEMO = Path(__file__).parents[1] / "resources" / "demo" / "portrait.jpg"

GRIDS: dict[str, tuple[tuple[tuple[float, float], ...], tuple[float, ...]]] = {
    "continuous": (((60.0, 15.0), (52.0, 11.5), (36.0, 11.0)), (350.0, 450.0)),
    "mixed": (((60.0, 18.0), (52.0, 16.0), (36.0, 14.0)), (350.0, 450.0)),
    "diffusion": (((60.0, 18.0), (52.0, 16.0), (36.0, 14.0)), (350.0, 450.0)),
}


@dataclass(frozen=True)
class Shot:
    """How the strip is photographed."""

    px_per_mm: float
    tilt_deg: tuple[float, float]
    turn_deg: float
    falloff: float
    light_from_deg: float
    noise: float = 1.0
    quality: int = 85


SHOTS = (
    Shot(8.0, (7.0, -6.0), 2.0, 0.4, 30.0),
    Shot(6.5, (-12.0, 8.0), -5.0, 0.4, 140.0, 1.5),
    Shot(11.0, (3.0, 13.0), 92.0, 0.3, 250.0),
)


@lru_cache(maxsize=4)
def photo(name: str) -> Prepared:
    """A portrait that ships with the project or with scikit-image."""
    if name == "portrait":
        return prepare(open_photo(DEMO))
    return prepare(photo_from_array(getattr(data, name)(), name))


def planned(sheet: Sheet) -> GlassProfile:
    """What the user knows: the tube's nominal watts and its floor; the rest is a guess."""
    machine = Machine(rated_w=sheet.rated_w, firing_floor_pct=max(sheet.firing_floor_pct, 10.0))
    return attrs.evolve(GENERIC, machine=machine)


@lru_cache(maxsize=16)
def made(sheet: Sheet, screen: str, name: str = "portrait") -> Made:
    """A strip for the sheet's machine."""
    pairs, speeds = GRIDS[screen]
    recipe = Recipe().changed(screen__kind=screen, plate__pitch_mm=PITCH_MM)
    plan = Plan(pairs=pairs, speeds=speeds, screens=("diffusion", "mixed"), pitch_mm=PITCH_MM)
    return make_strip(photo(name), recipe, planned(sheet), plan)


def piece(plan: Plan, sheet: Sheet) -> tuple[Strip, virtual_sheet.Burnt]:
    """A strip of the portrait by another plan, and the glass it was burnt on."""
    found = make_strip(photo("portrait"), Recipe(), planned(sheet), plan)
    return found.strip, burnt_of(found, sheet)


@lru_cache(maxsize=2)
def burnt(sheet: Sheet, screen: str, name: str = "portrait") -> virtual_sheet.Burnt:
    """The strip on one piece of glass."""
    return burnt_of(made(sheet, screen, name), virtual_sheet.another_piece(sheet, STRIP_PIECE))


def burnt_of(found: Made, glass: Sheet) -> virtual_sheet.Burnt:
    """All runs of a strip on a piece of glass."""
    pieces = [
        (etched(glass, bitmap.pixels, run), run.origin_mm)
        for run, bitmap in zip(found.strip.runs, found.bitmaps, strict=True)
    ]
    return virtual_sheet.assemble(glass, found.strip.size_mm, pieces)


def photographed(
    sheet: Sheet, screen: str, number: int, name: str = "portrait"
) -> NDArray[np.uint8]:
    """One of three photographs of the strip."""
    return virtual_camera.photograph(burnt(sheet, screen, name), **vars(SHOTS[number]), seed=number)


def judged(sheet: Sheet, screen: str, shot: int, name: str = "portrait", **words: Any) -> Judgement:
    """The photograph of a portrait's strip read and judged."""
    found = made(sheet, screen, name)
    reading = read_photo(photographed(sheet, screen, shot, name), found.strip)
    measured = measured_of(reading, found.strip)
    return judge(found.strip, measured, found.cell_look, reading, **words)


def recipe_for(screen: str, size_mm: tuple[float, float]) -> Recipe:
    """The usual recipe."""
    return Recipe().changed(
        plate__width_mm=size_mm[0],
        plate__height_mm=size_mm[1],
        plate__margin_mm=6.0,
        plate__pitch_mm=PITCH_MM,
        screen__kind=screen,
    )


def plate_error(
    sheet: Sheet,
    profile: GlassProfile,
    screen: str,
    name: str = "portrait",
    size_mm: tuple[float, float] = (60.0, 75.0),
    *,
    plain: bool = False,
) -> float:
    """Mean lightness error in L* at 450 mm of a portrait burnt on a fresh piece of the sheet.

    The intended lightness is linear in the look between the sheet's own bare and full frost.
    With `plain` the look goes to the screen as it is.
    """
    recipe = recipe_for(screen, size_mm)
    found = plate_bitmap.burn(photo(name), recipe, profile)
    look = found.look.astype(np.float32) / np.float32(65535.0)
    dots = screens.screen(look, recipe.screen, pitch_mm=PITCH_MM) if plain else found.dots
    return error_left(sheet, look, dots, recipe.plate, profile.setting)


def error_left(
    sheet: Sheet,
    look: NDArray[np.float32],
    dots: NDArray[np.uint8],
    plate: Plate,
    setting: Setting,
) -> float:
    """The same of any dots for a look."""
    piece = virtual_sheet.another_piece(sheet, PLATE_PIECE)
    lit = etched(piece, plate_bitmap.for_machine(dots, plate), setting).at_pitch()
    low, high = virtual_sheet.lightness(np.array([sheet.bare_y, sheet.frost_y]))
    lightness = low + (high - low) * look
    wanted = np.where(lightness > 8.0, ((lightness + 16.0) / 116.0) ** 3, lightness * 27.0 / 24389)
    return apart_as_seen(lit, wanted, plate.margin_mm)


def apart_as_seen(one: NDArray[Any], other: NDArray[Any], rim_mm: float) -> float:
    """Mean difference in L* of two pictures in luminance, as seen, but for a rim."""
    seen = [
        virtual_sheet.lightness(virtual_sheet.seen(np.asarray(y, np.float32), PITCH_MM))
        for y in (one, other)
    ]
    rim = round(rim_mm / PITCH_MM)
    return float(np.abs(seen[0] - seen[1])[rim:-rim, rim:-rim].mean())


NAMES = ("portrait", "astronaut", "chelsea")


def table(sheets: tuple[str, ...], kinds: tuple[str, ...] = tuple(GRIDS)) -> None:
    """Print what the loop leaves: for each sheet and screen, one photograph of each portrait's own
    strip; the recommended setting's place in the grid by the error that was really left."""
    print("sheet      screen      photo      error  without  times  place of the recommended one")
    for sheet_name in sheets:
        sheet = virtual_sheet.SHEETS[sheet_name]
        for screen in kinds:
            for number, name in enumerate(NAMES):
                verdicts = judged(sheet, screen, number, name).verdicts
                profiles = [verdict.fit.profile for verdict in verdicts]
                errors = [plate_error(sheet, profile, screen, name) for profile in profiles]
                plain = plate_error(sheet, profiles[0], screen, name, plain=True)
                place = 1 + sum(error < errors[0] for error in errors)
                print(
                    f"{sheet_name:10} {screen:11} {name:10} {errors[0]:5.2f} {plain:8.2f} "
                    f"{plain / errors[0]:6.1f}  {place} of {len(errors)}, best {min(errors):.2f}",
                    flush=True,
                )


if __name__ == "__main__":
    import sys

    table(tuple(sys.argv[1:]) or tuple(virtual_sheet.SHEETS))
