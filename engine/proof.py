"""The proof: how the piece is seen on its backing, lit through its edges or at a window."""

import cv2
import numpy as np
from numpy.typing import NDArray

from engine import glass, lighting
from engine.filters import Floats
from engine.flow import Flow
from engine.grid import Grid, overview
from engine.sparkle import sparkling
from shared.recipe import Recipe

FLUX_SIDE = 400
AT_RISK_L = 4.0
"""Difference in CIE L* between wanted and burnt from which detail counts as at risk; starting
guess, a few times what is just visible."""
RISK_COLOUR = (224, 168, 60)


def seen(flow: Flow, recipe: Recipe, grid: Grid, frost: Floats) -> NDArray[np.uint8]:
    """Frost on a grid as the recipe's proof shows it: sRGB, rows x columns or x 3."""
    wish = recipe.glass
    if wish.view == "window":
        codes = lighting.against_window(frost, flow.profile.light.frost_see_through)
    elif wish.view == "edge":
        flux, brightest = _flux(flow, recipe)
        codes = lighting.edge_lit(frost, _part(flux, recipe, grid), brightest)
    else:
        return on_backing(frost, flow.aim(recipe).ends, grid)
    bare = lighting.bare_code(wish.view)
    return sparkling(codes, bare, grid, lighter=wish.view == "edge")


def tint(recipe: Recipe) -> NDArray[np.uint8] | None:
    """The colours, sRGB, 256 x 3, of the grey codes of the recipe's proof; None for plain greys."""
    wish, plate = recipe.glass, recipe.plate
    if wish.view != "dark" or plate.mark != "light" or plate.etched != "back":
        return None
    return lighting.seen_through(plate.thickness_mm, wish.green_cast)


def on_backing(frost: Floats, ends: glass.Ends, grid: Grid) -> NDArray[np.uint8]:
    """Frost on a grid as it is seen on its backing: sRGB grey codes, rows x columns."""
    return backed(glass.shown_mark(frost, ends), ends, grid)


def backed(codes: NDArray[np.uint8], ends: glass.Ends, grid: Grid) -> NDArray[np.uint8]:
    """Even marks on a grid, as grey codes, with the sparkle of frost."""
    return sparkling(codes, glass.bare_code(ends), grid, lighter=ends.marked > ends.unmarked)


def at_risk(wanted: Floats, left: Floats, ends: glass.Ends) -> NDArray[np.bool_]:
    """Where the glass will not show what the look wants: rows x columns."""
    apart = glass.lightness_of_mark(wanted, ends) - glass.lightness_of_mark(left, ends)
    return np.asarray(np.abs(apart) > AT_RISK_L)


def _flux(flow: Flow, recipe: Recipe) -> tuple[NDArray[np.float32], float]:
    wish = recipe.glass
    sides = lighting.sides_of(wish.lit_left, wish.lit_right, wish.lit_top, wish.lit_bottom)
    light = lighting.EdgeLight(sides, recipe.plate.thickness_mm, wish.green_cast)
    coarse = overview(recipe.plate, FLUX_SIDE)

    def make() -> tuple[NDArray[np.float32], float]:
        frost = flow.frost_left(recipe, coarse)
        flux = lighting.edge_flux(frost, coarse.pitch_mm, light)
        return flux, lighting.brightest(frost, flux)

    key = ("flux", *flow.look_key(recipe), flow.aim(recipe), light)
    found: tuple[NDArray[np.float32], float] = flow.kept(key, make)
    return found


def _part(flux: NDArray[np.float32], recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
    """The flux at a window of the plate, on the window's own pixels."""
    scale = overview(recipe.plate, FLUX_SIDE).pitch_mm
    step = grid.pitch_mm / scale
    matrix = np.array(
        [
            [step, 0.0, (grid.left_mm + grid.pitch_mm / 2.0) / scale - 0.5],
            [0.0, step, (grid.top_mm + grid.pitch_mm / 2.0) / scale - 0.5],
        ]
    )
    part = cv2.warpAffine(
        flux,
        matrix,
        (grid.columns, grid.rows),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(part, np.float32)
