"""The flow: live and export agree, windows agree, stages are kept and shared."""

import cv2
import numpy as np
import pytest
from skimage import data

from engine import flow as flow_module
from engine.flow import Flow, Kept, prepare
from engine.grid import overview, whole_plate, window
from engine.photo import photo_from_array
from engine.plate_bitmap import burn
from shared.recipe import Recipe

PORTRAIT = prepare(photo_from_array(data.astronaut(), "portrait"))
CAT = prepare(photo_from_array(data.chelsea(), "cat"))
SMALL = Recipe().changed(plate__width_mm=90.0, plate__height_mm=120.0)


@pytest.mark.parametrize("prepared", [PORTRAIT, CAT], ids=["portrait", "cat"])
@pytest.mark.parametrize("side", [550, 1000])
def test_the_live_look_is_the_export_reduced_to_its_size(
    prepared: flow_module.Prepared, side: int
) -> None:
    """At most 0.5 L* on average and 2 L* at the 99th percentile (the look runs over 100 L*)."""
    recipe = Recipe()
    grid = overview(recipe.plate, side)
    live = Flow(prepared).look(recipe, grid)
    full = burn(prepared, recipe).look.astype(np.float32) / 65535.0
    size = (grid.columns, grid.rows)
    reduced = cv2.resize(full, size, interpolation=cv2.INTER_AREA)
    margin = round(8.0 / grid.pitch_mm)
    apart = 100.0 * np.abs(live - reduced)[margin:-margin, margin:-margin]
    assert apart.mean() <= 0.5
    assert np.percentile(apart, 99) <= 2.0


@pytest.mark.parametrize("pitch", [0.1, 0.25])
def test_a_window_of_the_look_is_that_part_of_the_whole(pitch: float) -> None:
    flow = Flow(PORTRAIT)
    whole = flow.look(SMALL, whole_plate(SMALL.plate, pitch))
    part = window(SMALL.plate, pitch, 30.0, 25.0, 62.0, 71.0)
    rows, columns = part.inside(whole_plate(SMALL.plate, pitch))
    alone = Flow(PORTRAIT).look(SMALL, part)
    np.testing.assert_allclose(alone, whole[rows, columns], atol=0.01)
    np.testing.assert_array_equal(flow.look(SMALL, part), whole[rows, columns])


def test_a_window_is_cut_out_of_a_kept_look_and_makes_no_stage_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    flow, whole = Flow(PORTRAIT), whole_plate(SMALL.plate, 0.25)
    part = window(SMALL.plate, 0.25, 30.0, 25.0, 62.0, 71.0)
    look = flow.look(SMALL, whole)
    monkeypatch.setattr(flow_module.placement, "place", None)
    np.testing.assert_array_equal(flow.look(SMALL, part), look[part.inside(whole)])


def test_a_kept_look_does_not_serve_beyond_its_grid_nor_for_another() -> None:
    flow, whole = Flow(PORTRAIT), whole_plate(SMALL.plate, 0.25)
    part = window(SMALL.plate, 0.25, 30.0, 25.0, 62.0, 71.0)
    flow.look(SMALL, part)
    assert flow.look(SMALL, whole).shape == (whole.rows, whole.columns)
    lifted = SMALL.changed(tone__lift=0.9)
    assert flow.look(lifted, part).mean() > flow.look(SMALL, part).mean()
    coarser = window(SMALL.plate, 0.5, 30.0, 25.0, 62.0, 71.0)
    assert flow.look(SMALL, coarser).shape == (coarser.rows, coarser.columns)


def test_the_margin_is_bare_whatever_the_tone() -> None:
    recipe = SMALL.changed(tone__least_frost=0.3, tone__lift=1.0)
    look = Flow(PORTRAIT).look(recipe, whole_plate(recipe.plate))
    assert look[:59].max() == 0.0
    assert look[:, :59].max() == 0.0
    assert look[65:-65, 65:-65].min() >= 0.3 - 1e-6
    dark = recipe.changed(plate__mark="dark")
    assert Flow(PORTRAIT).look(dark, whole_plate(dark.plate))[:59].min() == 1.0


def test_a_change_runs_again_only_what_lies_below_it() -> None:
    flow = Flow(PORTRAIT)
    grid = overview(SMALL.plate, 200)
    flow.look(SMALL, grid)
    changed = SMALL.changed(detail__amount=2.0)
    flow.look(changed, grid)
    wide = grid.padded(flow_module.live_reach_mm(SMALL, grid.pitch_mm), SMALL.plate)
    assert flow.placed(SMALL, wide) is flow.placed(changed, wide)
    assert flow.tone(SMALL, wide) is flow.tone(changed, wide)
    assert flow.look(SMALL, grid) is not flow.look(changed, grid)


def test_facts_that_move_nothing_run_nothing_again() -> None:
    flow = Flow(PORTRAIT)
    grid = overview(SMALL.plate, 200)
    first = flow.look(SMALL, grid)
    assert flow.look(SMALL.changed(plate__thickness_mm=2.0, plate__etched="front"), grid) is first
    wide = grid.padded(flow_module.live_reach_mm(SMALL, grid.pitch_mm), SMALL.plate)
    least = SMALL.changed(tone__least_frost=0.2)
    assert flow.tone(least, wide) is flow.tone(SMALL, wide)
    np.testing.assert_array_equal(flow.look(least, grid), Flow(PORTRAIT).look(least, grid))


def test_takes_that_differ_in_the_glass_share_their_look() -> None:
    flow = Flow(PORTRAIT)
    grid = overview(SMALL.plate, 200)
    assert flow.look(SMALL, grid) is flow.look(SMALL.changed(glass__backing=0.2), grid)


def test_the_same_recipe_gives_the_same_bytes() -> None:
    first, second = burn(PORTRAIT, SMALL), burn(PORTRAIT, SMALL)
    np.testing.assert_array_equal(first.bitmap.pixels, second.bitmap.pixels)


def test_kept_results_are_dropped_oldest_first() -> None:
    kept = Kept(most_bytes=2000)
    made: list[str] = []

    def maker(name: str) -> object:
        return lambda: made.append(name) or np.zeros(1000, np.uint8)

    for name in ("a", "b", "a", "c", "a", "b"):
        kept.get(name, maker(name))  # type: ignore[arg-type]
    assert made == ["a", "b", "c", "b"]


def test_the_stages_below_a_slider_do_not_push_out_those_above_it() -> None:
    flow, grid = Flow(PORTRAIT), overview(SMALL.plate, 200)
    wide = grid.padded(flow_module.live_reach_mm(SMALL, grid.pitch_mm), SMALL.plate)
    flow.look(SMALL, grid)
    toned = flow.toned(SMALL, wide)
    for step in range(30):
        flow.look(SMALL.changed(detail__amount=0.1 * step), grid)
    assert flow.toned(SMALL, wide) is toned
    first = flow.look(SMALL.changed(detail__amount=2.9), grid)
    assert flow.look(SMALL.changed(detail__amount=2.9), grid) is first
