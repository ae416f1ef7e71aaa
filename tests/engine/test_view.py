"""What a pane shows: each stage is what it says, in every window, also at odd placements."""

import attrs
import numpy as np
import pytest
import skimage.data
from numpy.testing import assert_array_equal
from numpy.typing import NDArray

from engine import glass, proof, view
from engine.flow import Flow, prepare
from engine.grid import Grid, overview, whole_plate, window
from engine.photo import photo_from_array
from engine.plate_bitmap import burn
from shared.profile import GENERIC
from shared.recipe import Recipe

PORTRAIT = prepare(photo_from_array(skimage.data.astronaut(), "portrait"))
SMALL = Recipe().changed(plate__width_mm=40.0, plate__height_mm=50.0, plate__margin_mm=4.0)
WHOLE = whole_plate(SMALL.plate)
OFF = SMALL.changed(placement__centre_x=-0.5, placement__scale=2.0)
KINDS = ["continuous", "diffusion", "bluenoise", "threshold"]


@pytest.fixture
def flow() -> Flow:
    return Flow(PORTRAIT)


def codes(values: NDArray[np.float32]) -> NDArray[np.uint8]:
    return view.lightness_codes(values)


def test_the_photo_shows_its_own_colours_and_black_beyond(flow: Flow) -> None:
    picture = view.show(flow, SMALL, "photo", WHOLE)
    assert picture.pixels.shape == (500, 400, 3)
    assert picture.pixels[:40].max() == 0
    placed = np.round(flow.placed(SMALL, WHOLE)[45:455, 45:355] * 255.0)
    assert np.abs(picture.pixels[45:455, 45:355] - placed).max() <= 1
    assert not picture.exact


def test_the_look_is_shown_by_its_lightness(flow: Flow) -> None:
    picture = view.show(flow, SMALL, "look", WHOLE)
    assert_array_equal(picture.pixels, codes(flow.look(SMALL, WHOLE)))
    assert_array_equal(picture.tones, picture.look)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("mark", ["light", "dark"])
def test_the_plate_at_the_etch_pitch_is_the_dots_of_the_export(
    flow: Flow, kind: str, mark: str
) -> None:
    """Not mirrored: a pane mirrors it for show."""
    recipe = SMALL.changed(screen__kind=kind, plate__mark=mark)
    done = burn(PORTRAIT, recipe)
    grid = window(recipe.plate, 0.1, 8.0, 9.0, 25.0, 31.0)
    picture = view.show(flow, recipe, "plate", grid, done.dots)
    assert picture.exact
    assert_array_equal(picture.pixels, 255 - done.dots[grid.inside(WHOLE)])


def test_the_proof_at_the_etch_pitch_is_the_proof_of_the_export(flow: Flow) -> None:
    done = burn(PORTRAIT, SMALL)
    picture = view.show(flow, SMALL, "proof", WHOLE, done.dots)
    assert picture.exact
    assert_array_equal(picture.pixels, done.proof())


def test_a_window_that_starts_on_an_odd_line_keeps_the_direction_of_the_lines() -> None:
    slow = attrs.evolve(GENERIC, machine=attrs.evolve(GENERIC.machine, lag_ms=0.5))
    flow = Flow(PORTRAIT, slow)
    done = burn(PORTRAIT, SMALL, slow)
    for top_mm in (9.0, 9.1):
        grid = window(SMALL.plate, 0.1, 8.0, top_mm, 25.0, 21.0)
        picture = view.show(flow, SMALL, "proof", grid, done.dots)
        apart = done.proof(slow)[grid.inside(WHOLE)].astype(int) - picture.pixels
        assert np.abs(apart).max() <= 1


@pytest.mark.parametrize("mark", ["light", "dark"])
@pytest.mark.parametrize("kind", ["continuous", "diffusion", "threshold"])
def test_zoomed_out_the_proof_has_the_tone_of_the_etched_pixels(
    flow: Flow, kind: str, mark: str
) -> None:
    """Mean reflectance, since the eye blends dots in linear light."""
    recipe = SMALL.changed(screen__kind=kind, plate__mark=mark)
    ends = glass.ends(GENERIC.light, recipe.glass.backing, mark)
    coarse = view.show(flow, recipe, "proof", overview(recipe.plate, 125))
    frost = burn(PORTRAIT, recipe).frost().mean()
    reflectance = ends.unmarked + (ends.marked - ends.unmarked) * frost
    shown = np.arange(65536) / 65535.0
    shown_codes = glass.shown_mark(shown.astype(np.float32)[None, :], ends)[0]
    known = {int(code): index / 65535.0 for index, code in enumerate(shown_codes)}
    nearest = np.array(sorted(known))
    marks = np.array([known[int(nearest[np.abs(nearest - c).argmin()])] for c in range(256)])
    seen = marks[coarse.pixels].mean()
    assert ends.unmarked + (ends.marked - ends.unmarked) * seen == pytest.approx(
        reflectance, abs=0.01
    )


@pytest.mark.parametrize("stage", view.STAGES)
@pytest.mark.parametrize("pitch", [0.1, 0.25])
def test_a_window_is_that_part_of_the_whole(flow: Flow, stage: str, pitch: float) -> None:
    whole = view.show(flow, SMALL, stage, whole_plate(SMALL.plate, pitch), burnt(pitch))
    grid = window(SMALL.plate, pitch, 10.0, 12.0, 23.0, 30.0)
    part = view.show(Flow(PORTRAIT), SMALL, stage, grid, burnt(pitch))
    rows, columns = grid.inside(whole.grid)
    apart = np.abs(part.pixels.astype(int) - whole.pixels[rows, columns])
    assert np.percentile(apart, 99) <= 3
    assert part.pixels.shape[:2] == (grid.rows, grid.columns) == part.look.shape


def burnt(pitch: float) -> NDArray[np.uint8] | None:
    return burn(PORTRAIT, SMALL).dots if pitch == SMALL.plate.pitch_mm else None


@pytest.mark.parametrize("stage", view.STAGES)
def test_the_histogram_counts_the_whole_picture_whatever_the_window(flow: Flow, stage: str) -> None:
    whole = view.show(flow, SMALL, stage, overview(SMALL.plate, 600))
    part = view.show(flow, SMALL, stage, window(SMALL.plate, 0.1, 10.0, 10.0, 12.0, 12.0))
    assert_array_equal(part.histogram, whole.histogram)
    assert part.shares == whole.shares
    inside = 320 * 420 / (400 * 500) * whole.grid.rows * whole.grid.columns
    assert whole.histogram.sum() == pytest.approx(inside, rel=0.02)


def test_the_shares_of_the_photo_lie_beyond_its_two_points(flow: Flow) -> None:
    recipe = SMALL.changed(tone__bare_point=0.3, tone__full_point=0.6)
    grid = overview(recipe.plate, 400)
    picture = view.show(flow, recipe, "photo", grid)
    greys = flow.cover(recipe, grid).of(flow.grey(recipe, grid))
    assert picture.beyond.bare == pytest.approx(np.mean(greys <= 0.3), abs=0.01)
    assert picture.beyond.full == pytest.approx(np.mean(greys >= 0.6), abs=0.01)


@pytest.mark.parametrize("stage", view.STAGES)
@pytest.mark.parametrize("at_pitch", [True, False])
def test_a_photo_that_lies_off_the_plate_leaves_bare_glass(
    flow: Flow, stage: str, at_pitch: bool
) -> None:
    grid = WHOLE if at_pitch else overview(OFF.plate, 200)
    picture = view.show(flow, OFF, stage, grid)
    assert picture.histogram.sum() == 0
    assert (picture.shares.bare, picture.shares.full) == (0.0, 0.0)
    assert len(np.unique(picture.pixels)) == 1
    assert picture.look.max() == 0.0


def test_nothing_is_burnt_where_a_photo_lies_off_the_plate() -> None:
    done = burn(PORTRAIT, OFF)
    assert done.dots.max() == 0
    assert (done.shares.bare, done.shares.full) == (0.0, 0.0)


@pytest.mark.parametrize("stage", view.STAGES)
def test_a_window_beyond_the_plate_is_bare_there(flow: Flow, stage: str) -> None:
    beyond = Grid(0.1, 450, 350, 120, 130)
    for dots in (None, burn(PORTRAIT, SMALL).dots):
        picture = view.show(flow, SMALL, stage, beyond, dots)
        assert picture.pixels.shape[:2] == (120, 130)
        assert len(np.unique(picture.pixels[50:, 50:])) == 1
        assert picture.look[50:, 50:].max() == 0.0


@pytest.mark.parametrize("kind", ["diffusion", "threshold"])
def test_the_proof_by_tone_is_the_frost_that_is_left(flow: Flow, kind: str) -> None:
    recipe, grid = SMALL.changed(screen__kind=kind), overview(SMALL.plate, 160)
    shown = view.show(flow, recipe, "proof", grid).pixels
    left = flow.frost_left(recipe, grid)
    assert_array_equal(shown, proof.on_backing(left, flow.aim(recipe).ends, grid))


def test_an_unchanged_take_is_not_computed_again(flow: Flow) -> None:
    grid = overview(SMALL.plate, 160)
    first = view.show(flow, SMALL, "look", grid)
    view.show(flow, SMALL.changed(tone__lift=0.9), "look", grid)
    again = view.show(flow, SMALL, "look", grid)
    assert again.pixels is first.pixels
    assert again.histogram is first.histogram


def test_a_lighter_backing_changes_the_proof_and_not_the_look(flow: Flow) -> None:
    grid, other = overview(SMALL.plate, 160), SMALL.changed(glass__backing=0.3)
    looks = [view.show(flow, recipe, "look", grid).pixels for recipe in (SMALL, other)]
    assert looks[0] is looks[1]
    proof, lighter = (view.show(flow, r, "proof", grid).pixels for r in (SMALL, other))
    assert lighter[80, :10].mean() > proof[80, :10].mean()


def test_the_difference_of_equal_looks_is_mid_grey_and_says_which_is_lighter() -> None:
    first = np.array([[0.5, 0.6, 0.0, 1.0]], np.float32)
    second = np.array([[0.5, 0.5, 1.0, 0.0]], np.float32)
    assert view.difference(first, second).tolist() == [[127, 153, 0, 255]]


def test_a_reading_is_what_lies_under_the_pointer(flow: Flow) -> None:
    ends = flow.aim(SMALL).ends
    grid = window(SMALL.plate, 0.1, 10.0, 12.0, 23.0, 30.0)
    photo = view.show(flow, SMALL, "photo", grid)
    look = view.show(flow, SMALL, "look", grid)
    row, column = 37, 52
    x_mm, y_mm = (grid.left + column + 0.5) * 0.1, (grid.top + row + 0.5) * 0.1
    read = view.read(photo, x_mm, y_mm, ends)
    assert read is not None
    assert read.colour == tuple(photo.pixels[row, column].tolist())
    assert read.tone == pytest.approx(float(flow.grey(SMALL, grid)[row, column]))
    found = view.read(look, x_mm, y_mm, ends)
    assert found is not None
    assert found.colour is None
    assert found.look == found.tone == pytest.approx(float(look.look[row, column]))
    assert 0.0 <= found.mark <= 1.0


@pytest.mark.parametrize(("value", "mark"), [(0.0, 0.0), (1.0, 1.0)])
def test_a_reading_at_the_ends_is_bare_glass_and_full_frost(
    flow: Flow, value: float, mark: float
) -> None:
    ends = flow.aim(SMALL).ends
    shown = view.show(flow, SMALL, "look", WHOLE)
    shown.look[:] = value
    found = view.read(shown, 20.0, 20.0, ends)
    assert found is not None
    assert found.mark == pytest.approx(mark, abs=1e-6)
    wanted = 116.0 * np.cbrt(ends.high if value else ends.low) - 16.0
    assert found.lightness == pytest.approx(wanted, abs=0.01)


@pytest.mark.parametrize(
    ("x_mm", "y_mm"), [(-0.05, 20.0), (20.0, -0.05), (40.0, 20.0), (20.0, 50.0), (-9.0, -9.0)]
)
def test_beyond_the_picture_there_is_nothing_to_read(flow: Flow, x_mm: float, y_mm: float) -> None:
    picture = view.show(flow, SMALL, "look", WHOLE)
    assert view.read(picture, x_mm, y_mm, flow.aim(SMALL).ends) is None


@pytest.mark.parametrize("mark", ["light", "dark"])
@pytest.mark.parametrize("kind", ["continuous", "diffusion", "threshold"])
def test_the_toned_proof_in_one_table_is_the_proof_step_by_step(
    flow: Flow, kind: str, mark: str
) -> None:
    recipe = SMALL.changed(screen__kind=kind, plate__mark=mark)
    grid = overview(recipe.plate, 125)
    shown = view.show(flow, recipe, "proof", grid).pixels
    ends = flow.aim(recipe).ends
    by_steps = proof.on_backing(flow.frost_left(recipe, grid), ends, grid)
    assert np.abs(shown.astype(int) - by_steps).max() <= 1


def test_what_lies_beyond_the_points_follows_points_photo_and_margin(flow: Flow) -> None:
    base = SMALL.changed(tone__bare_point=0.1)
    grid = overview(base.plate, 150)

    def beyond(recipe: Recipe) -> float:
        return view.show(flow, recipe, "look", grid).beyond.bare

    start = beyond(base)
    assert beyond(base.changed(tone__bare_point=0.2)) > start
    assert beyond(base.changed(placement__scale=3.0)) != start
    assert beyond(base.changed(plate__margin_mm=15.0)) != start
    assert beyond(base.changed(grey__method="mix", grey__red=1.0)) != start
    assert beyond(base.changed(tone__least_frost=0.3)) == start
