"""The renderer: the newest request wins, nothing kills it, and its dots are the export's."""

import threading
import time

import numpy as np
import pytest
import skimage.data

from app.renderer import PaneWish, Renderer, Request
from engine.flow import Flow, prepare
from engine.grid import overview, whole_plate, window
from engine.photo import photo_from_array
from engine.plate_bitmap import burn
from shared.recipe import Recipe

PORTRAIT = prepare(photo_from_array(skimage.data.astronaut(), "portrait"))
CAT = prepare(photo_from_array(skimage.data.chelsea(), "cat"))
SMALL = Recipe().changed(plate__width_mm=40.0, plate__height_mm=50.0)
OTHER = SMALL.changed(plate__width_mm=30.0, plate__height_mm=36.0, tone__lift=0.8)
LARGE = Recipe().changed(plate__width_mm=400.0, plate__height_mm=400.0)
LONGEST_MS = 20_000


class Ear:
    """Keeps what a renderer tells, in order."""

    def __init__(self, renderer):
        self.answers = []
        self.failures = []
        renderer.answered.connect(self.answers.append)
        renderer.failed.connect(self.failures.append)

    @property
    def finals(self):
        return [answer.request.number for answer in self.answers if answer.final]


@pytest.fixture
def renderer(qapp):
    made = Renderer()
    made.setParent(qapp)
    yield made
    made.stop()
    made.deleteLater()


@pytest.fixture
def ear(renderer):
    return Ear(renderer)


def tones(number, prepared=PORTRAIT, recipe=SMALL, stage="look"):
    grid = overview(recipe.plate, 200)
    return Request(number, prepared, {pane: PaneWish(recipe, stage, grid) for pane in (0, 1)})


def dots(number, *recipes, difference=False, stage="plate"):
    recipes = recipes or (SMALL,)
    panes = {
        pane: PaneWish(recipe, stage, window(recipe.plate, 0.1, 10.0, 12.0, 22.5, 30.0))
        for pane, recipe in enumerate(recipes)
    }
    return Request(number, PORTRAIT, panes, difference)


def wait_for(qtbot, ear, number):
    before = len(ear.failures)
    qtbot.waitUntil(lambda: number in ear.finals or len(ear.failures) > before, timeout=LONGEST_MS)
    assert ear.failures[before:] == []


def test_tones_are_final_at_once(qtbot, renderer, ear):
    renderer.ask(tones(1))
    wait_for(qtbot, ear, 1)
    assert [answer.final for answer in ear.answers] == [True]
    picture = ear.answers[0].pictures[0]
    assert picture.pixels.shape == (picture.grid.rows, picture.grid.columns)
    assert ear.answers[0].difference is None


def test_dots_come_quickly_first_and_then_as_the_export_has_them(qtbot, renderer, ear):
    renderer.ask(dots(1))
    wait_for(qtbot, ear, 1)
    first, last = ear.answers
    assert not first.final
    assert not first.pictures[0].exact
    assert last.pictures[0].exact
    whole = 255 - burn(PORTRAIT, SMALL).dots
    grid = last.pictures[0].grid
    np.testing.assert_array_equal(
        last.pictures[0].pixels, whole[grid.inside(whole_plate(SMALL.plate))]
    )
    assert first.pictures[0].pixels.shape == last.pictures[0].pixels.shape


@pytest.mark.parametrize("kind", ["bluenoise", "continuous", "threshold"])
def test_screens_that_know_each_dot_by_its_place_are_exact_at_once(qtbot, renderer, ear, kind):
    recipe = SMALL.changed(screen__kind=kind)
    renderer.ask(dots(1, recipe))
    wait_for(qtbot, ear, 1)
    assert len(ear.answers) == 1
    picture = ear.answers[0].pictures[0]
    assert picture.exact
    whole = 255 - burn(PORTRAIT, recipe).dots.astype(int)
    apart = np.abs(picture.pixels - whole[picture.grid.inside(whole_plate(recipe.plate))])
    assert np.mean(apart > 1) < 0.001, "a tone at the edge between two dots may fall either way"


def test_panning_over_a_plate_that_is_kept_is_exact_at_once(qtbot, renderer, ear):
    renderer.ask(dots(1))
    wait_for(qtbot, ear, 1)
    ear.answers.clear()
    moved = PaneWish(SMALL, "plate", window(SMALL.plate, 0.1, 1.0, 2.0, 12.0, 15.0))
    renderer.ask(Request(2, PORTRAIT, {0: moved}))
    wait_for(qtbot, ear, 2)
    assert len(ear.answers) == 1
    assert ear.answers[0].pictures[0].exact


def test_two_takes_of_different_plates_each_show_their_own_dots(qtbot, renderer, ear):
    renderer.ask(dots(1, SMALL, OTHER))
    wait_for(qtbot, ear, 1)
    for pane, recipe in enumerate((SMALL, OTHER)):
        picture = ear.answers[-1].pictures[pane]
        whole = 255 - burn(PORTRAIT, recipe).dots
        np.testing.assert_array_equal(
            picture.pixels, whole[picture.grid.inside(whole_plate(recipe.plate))]
        )


@pytest.mark.parametrize("stage", ["photo", "look", "plate", "proof"])
def test_the_difference_of_takes_of_different_plates_is_on_the_first_ones_grid(
    qtbot, renderer, ear, stage
):
    grid = whole_plate(SMALL.plate)
    panes = {0: PaneWish(SMALL, stage, grid), 1: PaneWish(OTHER, stage, grid)}
    renderer.ask(Request(1, PORTRAIT, panes, difference=True))
    wait_for(qtbot, ear, 1)
    answer = ear.answers[-1]
    assert answer.difference.shape == (grid.rows, grid.columns)
    assert answer.difference[0, 0] == 127
    for picture in answer.pictures.values():
        assert picture.pixels.shape[:2] == (grid.rows, grid.columns)
    if stage == "plate":
        beyond = answer.pictures[1].pixels[370:, 310:]
        assert (beyond == 255).all(), "beyond the smaller plate nothing burns"


def test_the_newest_request_wins(qtbot, renderer, ear):
    for number in range(1, 40):
        renderer.ask(tones(number, recipe=SMALL.changed(tone__lift=number / 40)))
    wait_for(qtbot, ear, 39)
    numbers = [answer.request.number for answer in ear.answers]
    assert numbers == sorted(set(numbers)), "in order, none twice"
    assert len(numbers) < 39, "those that waited were replaced"


def test_exact_dots_are_given_up_for_a_newer_request(qtbot, renderer, ear):
    renderer.ask(dots(1, LARGE))
    qtbot.waitUntil(lambda: bool(ear.answers), timeout=LONGEST_MS)
    renderer.ask(tones(2))
    wait_for(qtbot, ear, 2)
    assert ear.finals == [2]


def test_an_error_is_told_and_the_next_request_is_served(qtbot, renderer, ear):
    lonely = {0: PaneWish(SMALL, "look", overview(SMALL.plate, 200))}
    renderer.ask(Request(1, PORTRAIT, lonely, difference=True))
    qtbot.waitUntil(lambda: bool(ear.failures), timeout=LONGEST_MS)
    assert ear.failures[0].startswith("Something failed inside Rimetype (")
    renderer.ask(tones(2))
    wait_for(qtbot, ear, 2)


def test_another_photo_forgets_the_plates_of_the_last(qtbot, renderer, ear):
    renderer.ask(dots(1))
    wait_for(qtbot, ear, 1)
    grid = window(SMALL.plate, 0.1, 10.0, 12.0, 22.5, 30.0)
    renderer.ask(Request(2, CAT, {0: PaneWish(SMALL, "plate", grid)}))
    wait_for(qtbot, ear, 2)
    whole = 255 - burn(CAT, SMALL).dots
    np.testing.assert_array_equal(
        ear.answers[-1].pictures[0].pixels, whole[grid.inside(whole_plate(SMALL.plate))]
    )


def test_only_the_last_two_plates_are_kept_and_both_panes_stay_exact(qtbot, renderer, ear):
    for number in range(1, 6):
        changing = SMALL.changed(tone__lift=number / 10)
        renderer.ask(dots(number, changing, OTHER))
        wait_for(qtbot, ear, number)
        assert all(picture.exact for picture in ear.answers[-1].pictures.values())
        assert len(renderer._worker._plates) <= 2


def test_writing_dots_in_8_bits_needs_no_new_dots(qtbot, renderer, ear):
    renderer.ask(dots(1))
    wait_for(qtbot, ear, 1)
    ear.answers.clear()
    renderer.ask(dots(2, SMALL.changed(output__eight_bit=True)))
    wait_for(qtbot, ear, 2)
    assert len(ear.answers) == 1
    assert ear.answers[0].pictures[0].exact


@pytest.mark.parametrize("moment_s", [0.0, 0.05, 0.3, 0.8])
def test_stop_returns_soon_at_any_moment(moment_s):
    renderer = Renderer()
    renderer.ask(dots(1, LARGE))
    time.sleep(moment_s)
    worker = renderer._worker
    ender = threading.Thread(target=renderer.stop)
    ender.start()
    ender.join(2.0)
    late = ender.is_alive()
    ender.join()
    assert worker.isFinished()
    assert not late, "the window is to close within two seconds"


def test_stopped_twice_or_asked_after_the_end_does_no_harm():
    renderer = Renderer()
    renderer.stop()
    renderer.ask(tones(1))
    renderer.stop()
    assert renderer._worker.isFinished()


def test_the_look_of_the_panes_does_not_depend_on_what_was_shown_before(qtbot, renderer, ear):
    renderer.ask(tones(1, recipe=OTHER))
    wait_for(qtbot, ear, 1)
    renderer.ask(tones(2))
    wait_for(qtbot, ear, 2)
    picture = ear.answers[-1].pictures[0]
    np.testing.assert_array_equal(picture.look, Flow(PORTRAIT).look(SMALL, picture.grid))
