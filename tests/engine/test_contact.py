"""The contact sheet: every grey once, before tone, with the facts that belong to it."""

import numpy as np
import pytest
import skimage.data
from numpy.testing import assert_array_equal

from engine import grey
from engine.contact import contact_sheet
from engine.flow import Flow, prepare
from engine.photo import photo_from_array
from shared.recipe import Recipe, field_info

CAT = prepare(photo_from_array(skimage.data.chelsea(), "cat"))
METHODS = [option.value for option in field_info("grey.method").options]


def flat(code: int) -> Flow:
    return Flow(prepare(photo_from_array(np.full((250, 200, 3), code, np.uint8), "flat")))


def test_every_method_is_there_once_under_its_label() -> None:
    smalls = list(contact_sheet(Flow(CAT), Recipe(), 120))
    assert [small.wish.method for small in smalls] == METHODS
    labels = [option.label for option in field_info("grey.method").options]
    assert [small.label for small in smalls] == labels
    pictures = {small.pixels.tobytes() for small in smalls}
    assert len(pictures) == len(smalls), "no two ways give the same picture of a coloured photo"


def test_a_picture_is_the_area_inside_the_margin_at_about_the_size_asked_for() -> None:
    recipe = Recipe()
    plate = recipe.plate
    for small in contact_sheet(Flow(CAT), recipe, 120):
        rows, columns = small.pixels.shape
        assert small.pixels.dtype == np.uint8
        assert rows == pytest.approx(120 * plate.picture_height_mm / plate.height_mm, abs=2)
        assert columns / rows == pytest.approx(
            plate.picture_width_mm / plate.picture_height_mm, rel=0.03
        )


def test_tone_and_detail_do_not_show() -> None:
    strong = Recipe().changed(tone__lift=1.0, tone__local=2.0, detail__amount=6.0)
    plain = contact_sheet(Flow(CAT), Recipe(), 100)
    for one, other in zip(plain, contact_sheet(Flow(CAT), strong, 100), strict=True):
        assert_array_equal(one.pixels, other.pixels)


@pytest.mark.parametrize("code", [0, 60, 119, 200, 255])
def test_lightness_of_a_neutral_photo_is_shown_as_the_photo_is(code: int) -> None:
    small = next(contact_sheet(flat(code), Recipe(), 100))
    assert small.wish.method == "lightness"
    assert np.unique(small.pixels).tolist() == [code]


def test_the_facts_are_measured_on_the_picture() -> None:
    black, white, grey_one = (next(contact_sheet(flat(c), Recipe(), 100)) for c in (0, 255, 119))
    assert (black.facts.clipped_dark, black.facts.clipped_light) == (1.0, 0.0)
    assert (white.facts.clipped_dark, white.facts.clipped_light) == (0.0, 1.0)
    assert grey_one.facts == grey.GreyFacts(
        contrast=pytest.approx(0.0, abs=1e-3),
        detail=pytest.approx(0.0, abs=1e-3),
        clipped_dark=0.0,
        clipped_light=0.0,
    )


def test_the_other_fields_of_the_recipes_grey_are_kept() -> None:
    recipe = Recipe().changed(grey__method="red", grey__record="blue", grey__strength=0.9)
    layered = {s.wish.method: s for s in contact_sheet(Flow(CAT), recipe, 80)}["layered"]
    assert layered.wish.record == "blue"
    assert layered.wish.strength == 0.9


def test_a_free_mix_without_weights_is_left_out() -> None:
    recipe = Recipe().changed(grey__red=-0.5, grey__green=0.0, grey__blue=0.1)
    shown = [small.wish.method for small in contact_sheet(Flow(CAT), recipe, 80)]
    assert shown == [method for method in METHODS if method != "mix"]


def test_a_photo_off_the_plate_gives_an_empty_sheet() -> None:
    recipe = Recipe().changed(placement__centre_x=-0.5, placement__scale=2.0)
    assert list(contact_sheet(Flow(CAT), recipe, 80)) == []
