"""The closed loop on a virtual sheet: burn a step wedge, learn the glass, burn a portrait, look.

No camera: patches are measured by the mean luminance of the virtual sheet. The wedge lies on one
piece of the glass and the portrait on another, so that its grain and jitter are new.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import attrs
import numpy as np
from numpy.typing import NDArray
from skimage import data

from engine import burning, drive, glass, plate_bitmap, screens
from engine.colour import luminance_from_lightness
from engine.flow import Prepared, prepare
from engine.photo import open_photo, photo_from_array
from shared.profile import (
    Gain,
    GlassProfile,
    Knot,
    Light,
    Machine,
    Response,
    ScreenGains,
)
from shared.profile import Setting as ProfileSetting
from shared.recipe import Recipe, Screen
from tests import virtual_sheet
from tests.virtual_sheet import Setting, Sheet

Array = NDArray[np.float32]
Bitmap = NDArray[np.uint8]

SCREENS = {"continuous": "at_threshold", "mixed": "above", "diffusion": "above"}
"""The screens that are tried, each with the least power that it is meant for: continuous where
frost begins, mixed and dots well above."""
PHOTOS = ("portrait", "astronaut", "chelsea")
DEMO = Path(__file__).parents[1] / "resources" / "demo" / "portrait.jpg"

LEVELS = 24
PATCH_PX = 60
GUARD_PX = 12
GRATING_PX = 200
PERIODS_PX = (4, 5, 6, 8)
SPREADS_MM = np.linspace(0.0, 0.16, 33)
LAGS_MS = np.linspace(0.0, 0.5, 26)
WEDGE_PIECE, PLATE_PIECE, OTHER_PIECE = 1, 2, 3


@attrs.frozen
class Patch:
    """One patch of the wedge: which screen, how much drive, what it came out as."""

    screen: str
    drive: float
    luminance: float
    scatter: float


@lru_cache(maxsize=8)
def photo(name: str) -> Prepared:
    """A portrait that ships with the project or with scikit-image."""
    if name == "portrait":
        return prepare(open_photo(DEMO))
    pixels = getattr(data, name)()
    if pixels.ndim == 2:
        pixels = np.repeat(pixels[:, :, None], 3, axis=2)
    return prepare(photo_from_array(pixels, name))


def recipe_for(screen: str, size_mm: tuple[float, float], compensate: float = 1.0) -> Recipe:
    """The usual recipe for a plate of that width and height, on a backing that returns nothing."""
    return Recipe().changed(
        plate__width_mm=size_mm[0],
        plate__height_mm=size_mm[1],
        plate__margin_mm=3.0,
        glass__backing=0.0,
        glass__compensate=compensate,
        screen__kind=screen,
    )


@lru_cache(maxsize=32)
def measured_profile(sheet: Sheet, setting: Setting, kinds: tuple[str, ...]) -> GlassProfile:
    """What a wedge of the `kinds` of screen, burnt at `setting`, teaches about a sheet."""
    piece = virtual_sheet.another_piece(sheet, WEDGE_PIECE)
    patches = _burnt_patches(piece, setting, ("continuous", *kinds))
    bare = _mean_of(patches, "bare", 0.0)
    full = _mean_of(patches, "continuous", 1.0)
    span = full - bare

    def frost(patch: Patch) -> tuple[float, float]:
        share = float(np.clip((patch.luminance - bare) / span, 0.0, 1.0))
        return share, min(1.0, patch.scatter / span)

    machine = Machine(rated_w=sheet.rated_w, firing_floor_pct=sheet.firing_floor_pct, beam_mm=0.14)
    blank = GlassProfile(
        name="Virtual",
        origin="measured",
        machine=machine,
        setting=ProfileSetting(
            setting.power_max_pct,
            setting.power_min_pct,
            setting.speed_mm_s,
            setting.pitch_mm,
            setting.both_directions,
        ),
        response=Response(flaking_j_mm2=900.0),
        light=Light(frost_reflectance=full, veil_reflectance=bare),
    )
    codes = burning.fluence_codes(blank, setting.pitch_mm)
    known = attrs.evolve(
        blank,
        knots=[
            Knot(float(codes[round(patch.drive * 255.0)]), *frost(patch))
            for patch in patches
            if patch.screen == "continuous"
        ],
        gains=[
            ScreenGains(
                kind,
                [Gain(patch.drive, *frost(patch)) for patch in patches if patch.screen == kind],
            )
            for kind in kinds
            if kind != "continuous"
        ],
    )
    return _with_spread(piece, setting, known)


def drives(kind: str, setting: Setting) -> NDArray[np.float64]:
    """The wedge's drives: even in log fluence for powers, closer together in the light for dots."""
    if kind == "continuous":
        powers = np.geomspace(setting.power_min_pct, setting.power_max_pct, LEVELS)
        share = (powers - setting.power_min_pct) / (setting.power_max_pct - setting.power_min_pct)
        return np.maximum(np.round(share * 255.0), 1.0) / 255.0
    dots = np.linspace(0.0, 1.0, LEVELS + 1)[1:] ** 2.0
    if kind != "mixed":
        return dots
    return np.concatenate([0.5 * dots[1::2], 0.5 + 0.5 * drives("continuous", setting)[1::2]])


def _burnt_patches(piece: Sheet, setting: Setting, kinds: tuple[str, ...]) -> list[Patch]:
    """Every patch twice, scattered over one piece of glass."""
    asked = [("bare", 0.0)] * 2
    for kind in dict.fromkeys(kinds):
        asked += [(kind, float(level)) for level in drives(kind, setting)] * 2
    order = np.random.default_rng(5).permutation(len(asked))
    columns = int(np.ceil(np.sqrt(len(asked))))
    rows = -(-len(asked) // columns)
    bitmap = np.full((rows * PATCH_PX, columns * PATCH_PX), 255, np.uint8)
    cells = {}
    for place, number in enumerate(order):
        row, column = divmod(place, columns)
        cell = np.s_[
            row * PATCH_PX : (row + 1) * PATCH_PX, column * PATCH_PX : (column + 1) * PATCH_PX
        ]
        cells[int(number)] = cell
        bitmap[cell] = 255 - _screened(*asked[number], setting)
    found = _seen_by_machine(piece, bitmap, setting)
    patches = []
    for number, (kind, level) in enumerate(asked):
        inner = found[cells[number]][GUARD_PX:-GUARD_PX, GUARD_PX:-GUARD_PX]
        scatter = float(inner.std() / np.sqrt(inner.size))
        patches.append(Patch(kind, level, float(inner.mean()), scatter))
    return patches


def _screened(kind: str, level: float, setting: Setting) -> Bitmap:
    flat = np.full((PATCH_PX, PATCH_PX), level, np.float32)
    name = "continuous" if kind == "bare" else kind
    return screens.screen(flat, Screen(kind=name), pitch_mm=setting.pitch_mm)


def _seen_by_machine(piece: Sheet, bitmap: Bitmap, setting: Setting) -> Array:
    """The mean luminance of every etch pixel, as the machine sees it."""
    found = virtual_sheet.burn_at(piece, bitmap, setting).at_pitch()
    return found[:, ::-1] if piece.etched_back else found


def _mean_of(patches: list[Patch], screen: str, level: float) -> float:
    return float(np.mean([p.luminance for p in patches if (p.screen, p.drive) == (screen, level)]))


def _with_spread(piece: Sheet, setting: Setting, profile: GlassProfile) -> GlassProfile:
    """The profile with the spread and the lag with which the engine's own model shows line
    patches as softly as the sheet does: those down the lines know nothing of the lag."""
    span = profile.light.frost_reflectance - profile.light.veil_reflectance
    for down, candidates in ((True, SPREADS_MM), (False, LAGS_MS)):
        lines = [(_lines(period, down), period) for period in PERIODS_PX]
        burnt = [
            _swing(_seen_by_machine(piece, 255 - codes, setting), period, down) / span
            for codes, period in lines
        ]
        models = [
            attrs.evolve(profile, spread_mm=float(value))
            if down
            else attrs.evolve(profile, machine=attrs.evolve(profile.machine, lag_ms=float(value)))
            for value in candidates
        ]
        profile = min(
            models,
            key=lambda model: sum(
                (_swing(burning.burn_codes(codes, model, setting.pitch_mm), period, down) - swing)
                ** 2
                for (codes, period), swing in zip(lines, burnt, strict=True)
            ),
        )
    return profile


def _lines(period: int, down: bool) -> Bitmap:
    """Lines of full power, half the period wide; `down` the rows or along them."""
    on = (np.arange(120) % period < period // 2).astype(np.uint8) * np.uint8(255)
    return np.repeat(on[:, None], 120, axis=1) if down else np.repeat(on[None, :], 120, axis=0)


def _swing(picture: Array, period: int, down: bool) -> float:
    """Amplitude of the lines' own frequency, away from the border."""
    edge = picture.shape[0] // 10
    line = picture[edge:-edge, edge:-edge].mean(axis=1 if down else 0)
    line = line[: line.size // period * period]
    wave = np.exp(-2j * np.pi * np.arange(line.size) / period)
    return float(2.0 * np.abs((line * wave).mean()))


@attrs.frozen
class Trial:
    """Mean error, in L* at 450 mm, of a plate burnt by the profile and of one without."""

    tuned: float
    untuned: float
    grain: float
    """What the grain and the jitter of the piece alone make of the first: from two pieces."""

    @property
    def ratio(self) -> float:
        """How many times less the profile makes it."""
        return self.untuned / self.tuned


def trial(
    sheet: Sheet,
    setting: Setting,
    screen: str,
    prepared: Prepared,
    size_mm: tuple[float, float],
) -> Trial:
    """Burn a photo with and without the profile, and compare both with the look."""
    profile = measured_profile(sheet, setting, (screen,))
    recipe = recipe_for(screen, size_mm)
    found = plate_bitmap.burn(prepared, recipe, profile)
    look = found.look.astype(np.float32) / np.float32(65535.0)
    plain = screens.screen(look, recipe.screen, pitch_mm=recipe.plate.pitch_mm)
    wanted = intended(look, glass.ends(profile.light, 0.0, "light"))
    bitmaps = [plate_bitmap.for_machine(dots, recipe.plate) for dots in (found.dots, plain)]
    maps = [errors_map(sheet, setting, bitmap, wanted) for bitmap in bitmaps]
    other = errors_map(sheet, setting, bitmaps[0], wanted, OTHER_PIECE)
    grain = _mean_inside(maps[0] - other, recipe) / np.sqrt(2.0)
    return Trial(*(_mean_inside(apart, recipe) for apart in maps), grain=float(grain))


def intended(look: Array, ends: glass.Ends) -> Array:
    """The luminance that a look asks for: linear in L* between the two ends."""
    low, high = virtual_sheet.lightness(np.array([ends.low, ends.high]))
    return luminance_from_lightness(low + (high - low) * look).astype(np.float32)


def _mean_inside(apart: Array, recipe: Recipe) -> float:
    """Mean amount over the picture area."""
    edge = round(recipe.plate.margin_mm / recipe.plate.pitch_mm)
    return float(np.abs(apart[edge:-edge, edge:-edge]).mean())


def errors_map(
    sheet: Sheet, setting: Setting, bitmap: Bitmap, wanted: Array, piece_number: int = PLATE_PIECE
) -> Array:
    """Lightness as burnt less lightness as intended, both seen from 450 mm, per etch pixel."""
    piece = virtual_sheet.another_piece(sheet, piece_number)
    burnt = virtual_sheet.burn_at(piece, bitmap, setting)
    sub = burnt.sub
    fine = _enlarged(wanted, sub)
    seen = [
        virtual_sheet.lightness(
            virtual_sheet.seen(picture, burnt.pixel_mm)[sub // 2 :: sub, sub // 2 :: sub]
        )
        for picture in (burnt.luminance, fine)
    ]
    return seen[0] - seen[1]


def _enlarged(picture: Array, sub: int) -> Array:
    return np.repeat(np.repeat(picture, sub, axis=0), sub, axis=1)


def modulation(
    sheet: Sheet,
    setting: Setting,
    screen: str,
    cycles_per_mm: float,
    *,
    down: bool,
    strength: float,
) -> float:
    """How much of a grating's modulation the burnt piece shows, 1 for all of it.

    The look swings by 0.24 round 0.6, in waves down the rows or along them.
    """
    profile = measured_profile(sheet, setting, (screen,))
    aim = drive.aim_of(recipe_for(screen, (40.0, 40.0), strength), profile)
    wave = 0.6 + 0.12 * np.sin(
        2.0 * np.pi * cycles_per_mm * setting.pitch_mm * np.arange(GRATING_PX)
    )
    line = wave.astype(np.float32)
    look = (
        np.repeat(line[:, None], GRATING_PX, axis=1)
        if down
        else np.repeat(line[None, :], GRATING_PX, axis=0)
    )
    asked = drive.drive_of_frost(drive.frost_asked(look, aim, setting.pitch_mm), aim)
    dots = screens.screen(asked, aim.screen, pitch_mm=setting.pitch_mm)
    piece = virtual_sheet.another_piece(sheet, PLATE_PIECE)
    burnt = virtual_sheet.burn_at(piece, 255 - dots, setting)
    period = round(burnt.sub / (cycles_per_mm * setting.pitch_mm))
    wanted = _enlarged(intended(look, aim.ends), burnt.sub)
    return _swing(burnt.luminance, period, down) / _swing(wanted, period, down)
