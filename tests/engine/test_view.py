"""What panes show: each stage's pixels and measures, and nothing computed twice."""

import numpy as np
import pytest
from skimage import data

from engine import glass, view
from engine.flow import Flow, prepare
from engine.grid import overview, window
from engine.photo import photo_from_array
from engine.plate_bitmap import burn
from shared.recipe import Recipe

PORTRAIT = prepare(photo_from_array(data.astronaut(), "portrait"))
RECIPE = Recipe().changed(plate__width_mm=60.0, plate__height_mm=80.0)
GRID = overview(RECIPE.plate, 160)


@pytest.mark.parametrize("stage", view.STAGES)
def test_every_stage_has_the_size_of_its_grid_and_a_bare_margin(stage: str) -> None:
    picture = view.show(Flow(PORTRAIT), RECIPE, stage, GRID)
    assert picture.pixels.shape[:2] == (GRID.rows, GRID.columns)
    assert picture.pixels.dtype == np.uint8
    corner = picture.pixels[:8, :8]
    assert np.ptp(corner) == 0
    assert not picture.exact
    inside = round(48.0 / GRID.pitch_mm) * round(68.0 / GRID.pitch_mm)
    assert picture.histogram.sum() == pytest.approx(inside, rel=0.03)


@pytest.mark.parametrize("kind", ["diffusion", "threshold"])
def test_the_proof_by_tone_is_the_frost_that_is_left(kind: str) -> None:
    flow, recipe = Flow(PORTRAIT), RECIPE.changed(screen__kind=kind)
    shown = view.show(flow, recipe, "proof", GRID).pixels
    left = flow.frost_left(recipe, GRID)
    np.testing.assert_array_equal(shown, glass.shown_mark(left, flow.aim(recipe).ends))


def test_an_unchanged_take_is_not_computed_again() -> None:
    flow = Flow(PORTRAIT)
    first = view.show(flow, RECIPE, "look", GRID)
    view.show(flow, RECIPE.changed(tone__lift=0.9), "look", GRID)
    again = view.show(flow, RECIPE, "look", GRID)
    assert again.pixels is first.pixels
    assert again.histogram is first.histogram


def test_a_lighter_backing_changes_the_proof_and_not_the_look() -> None:
    flow, other = Flow(PORTRAIT), RECIPE.changed(glass__backing=0.3)
    assert (
        view.show(flow, RECIPE, "look", GRID).pixels is view.show(flow, other, "look", GRID).pixels
    )
    proof, lighter = (view.show(flow, r, "proof", GRID).pixels for r in (RECIPE, other))
    assert lighter[80, :10].mean() > proof[80, :10].mean()


def test_a_window_is_measured_by_the_whole_plate() -> None:
    flow = Flow(PORTRAIT)
    part = window(RECIPE.plate, RECIPE.plate.pitch_mm, 20.0, 20.0, 24.0, 24.0)
    picture = view.show(flow, RECIPE, "proof", part)
    assert picture.pixels.shape == (40, 40)
    whole = view.show(flow, RECIPE, "look", overview(RECIPE.plate, 600))
    np.testing.assert_array_equal(picture.histogram, whole.histogram)


def test_burnt_dots_are_shown_as_they_are() -> None:
    flow, dots = Flow(PORTRAIT), burn(PORTRAIT, RECIPE).dots
    part = window(RECIPE.plate, RECIPE.plate.pitch_mm, 20.0, 20.0, 24.0, 24.0)
    picture = view.show(flow, RECIPE, "plate", part, dots)
    assert picture.exact
    np.testing.assert_array_equal(picture.pixels, 255 - dots[200:240, 200:240])


def test_a_photo_that_misses_the_plate_is_shown_as_bare_glass() -> None:
    away = RECIPE.changed(placement__centre_x=-0.5)
    for stage in view.STAGES:
        picture = view.show(Flow(PORTRAIT), away, stage, GRID)
        assert np.ptp(picture.pixels) == 0
        assert picture.histogram.sum() == 0
