"""Dots that follow the glass, on glass of another make than the engine's, by a strip's profile."""

import numpy as np

from engine import drive, plate_bitmap, screens
from engine.viewing import eye_sigma_mm
from shared.profile import GlassProfile
from tests import strip_loop, virtual_sheet
from tests.strip_loop import PLATE_PIECE
from tests.virtual_sheet import SHEETS
from tests.virtual_strip import etched

LAGGING = SHEETS["lagging"]


def test_a_lagging_tube_spoils_less_and_the_proof_shows_what_the_glass_shows() -> None:
    profile = strip_loop.judged(LAGGING, "diffusion", 0).profile
    recipe = strip_loop.recipe_for("diffusion", (60.0, 75.0))
    done = plate_bitmap.burn(strip_loop.photo("portrait"), recipe, profile)
    look = done.look.astype(np.float32) / np.float32(65535.0)
    aim = drive.aim_of(recipe, profile)
    asked = drive.drive_of_frost(drive.frost_asked(look, aim, 0.1), aim)
    even = screens.screen(asked, recipe.screen, pitch_mm=0.1)
    left, before = (
        strip_loop.error_left(LAGGING, look, dots, recipe.plate, profile.setting)
        for dots in (done.dots, even)
    )
    assert left <= 1.05
    assert left < 0.9 * before
    assert proof_off(done, profile) < 0.8


def proof_off(done: plate_bitmap.Burn, profile: GlassProfile) -> float:
    """Mean difference in L*, as seen, of the simulated glass and another piece that is burnt, each
    between its own bare and fullest frost."""
    glass = virtual_sheet.another_piece(LAGGING, PLATE_PIECE)
    solid = np.zeros((80, 80), np.uint8)
    lit, full = (
        etched(glass, pixels, profile.setting).at_pitch() for pixels in (done.bitmap.pixels, solid)
    )
    fullest = float(full[20:-20, 20:-20].mean()) - LAGGING.bare_y
    frost = done.frost(profile)
    shown = LAGGING.bare_y + fullest * frost / float(frost.max())
    rim_mm = done.recipe.plate.margin_mm + 2.0 * eye_sigma_mm()
    return strip_loop.apart_as_seen(shown, lit, rim_mm)
