"""Recipes are frozen, checked data; every field can be named, described and written as text."""

import math

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import RecipeError
from shared.recipe import Recipe, all_fields, default_of, field_info, parse_value

NUMBERS = [key for key, info in all_fields() if info.kind == "number"]


def test_a_recipe_cannot_be_changed_in_place() -> None:
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        Recipe().tone.lift = 0.3  # type: ignore[misc]


def test_a_change_makes_a_new_recipe_and_leaves_the_old() -> None:
    old = Recipe()
    new = old.changed(tone__lift=0.4, grey__method="red")
    assert (new.tone.lift, new.grey.method) == (0.4, "red")
    assert old == Recipe()
    assert hash(new) != hash(old)


@pytest.mark.parametrize("key", NUMBERS)
def test_every_number_refuses_what_lies_outside_its_range(key: str) -> None:
    info = field_info(key)
    for value in (info.low - 1.0, info.high + 1.0, math.nan, math.inf):
        with pytest.raises(RecipeError, match=info.label):
            Recipe().with_values({key: value})


@pytest.mark.parametrize("key", [key for key, _ in all_fields()])
def test_every_field_has_words_for_people(key: str) -> None:
    info = field_info(key)
    assert info.label
    assert info.help.endswith(".")
    assert key == key.lower()


@pytest.mark.parametrize("key", NUMBERS)
def test_every_default_lies_on_a_step_of_its_slider(key: str) -> None:
    info = field_info(key)
    steps = (default_of(key) - info.low) / info.step
    assert steps == pytest.approx(round(steps), abs=1e-6)


@pytest.mark.parametrize("key", ["grey.red", "tone.lift", "plate.width_mm"])
@pytest.mark.parametrize("value", [True, "0.5", None, [1]])
def test_a_number_takes_nothing_but_numbers(key: str, value: object) -> None:
    with pytest.raises(RecipeError):
        Recipe().with_values({key: value})


def test_an_unknown_name_is_answered_with_the_nearest() -> None:
    with pytest.raises(RecipeError, match=r"tone\.lift\?"):
        Recipe().with_values({"tone.lit": 0.3})
    with pytest.raises(RecipeError, match="no recipe field named nonsense"):
        parse_value("nonsense", "1")


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("tone.lift", "0.4", 0.4),
        ("tone.lift", "40%", 0.4),
        ("plate.width_mm", "90", 90.0),
        ("grey.method", "blue", "blue"),
        ("output.eight_bit", "yes", True),
        ("output.eight_bit", "false", False),
        ("tone.curve", "0:0 0.5:0.6 1:1", ((0.0, 0.0), (0.5, 0.6), (1.0, 1.0))),
        ("grey.area", "0.1,0.2,0.5,0.6", (0.1, 0.2, 0.5, 0.6)),
        ("grey.area", "none", None),
        ("photo.matte", "#102030", "#102030"),
    ],
)
def test_text_becomes_a_value(key: str, text: str, value: object) -> None:
    assert parse_value(key, text) == value
    assert Recipe().with_values({key: value}).get(key) == value


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("tone.lift", "a lot"),
        ("tone.curve", "0:0:0 1:1"),
        ("grey.area", "0.1,x,0.5,0.6"),
        ("output.eight_bit", "perhaps"),
    ],
)
def test_text_that_does_not_fit_is_refused_by_name(key: str, text: str) -> None:
    with pytest.raises(RecipeError, match=field_info(key).label):
        Recipe().with_values({key: parse_value(key, text)})


@pytest.mark.parametrize(
    "points",
    [
        ((0.0, 0.0),),
        ((0.1, 0.0), (1.0, 1.0)),
        ((0.0, 0.0), (0.5, 0.8), (0.5, 0.9), (1.0, 1.0)),
        ((0.0, 0.5), (1.0, 0.4)),
        ((0.0, -0.1), (1.0, 1.0)),
        ((0.0, 0.0), (1.0, math.nan)),
    ],
)
def test_a_curve_that_falls_or_leaves_its_box_is_refused(points: object) -> None:
    with pytest.raises(RecipeError, match="Curve"):
        Recipe().with_values({"tone.curve": points})


@pytest.mark.parametrize("area", [(0.5, 0.1, 0.4, 0.9), (0.0, 0.0, 1.2, 1.0), (0.0, 0.0, 1.0)])
def test_an_area_outside_the_photo_is_refused(area: object) -> None:
    with pytest.raises(RecipeError, match="Area"):
        Recipe().with_values({"grey.area": area})


@pytest.mark.parametrize("colour", ["white", "#fff", "#12345g", 7, "112233"])
def test_a_colour_is_six_hexadecimal_digits(colour: object) -> None:
    with pytest.raises(RecipeError, match="colour"):
        Recipe().with_values({"photo.matte": colour})


def test_weights_of_a_free_mix_must_add_up() -> None:
    values = {"grey.method": "mix", "grey.red": -0.5, "grey.green": 0.3, "grey.blue": 0.2}
    with pytest.raises(RecipeError, match="add up"):
        Recipe().with_values(values)


def test_the_two_points_keep_their_distance() -> None:
    with pytest.raises(RecipeError, match="at least 10 %"):
        Recipe().changed(tone__bare_point=0.55, tone__full_point=0.6)


@given(st.floats(-1.0, 2.0), st.floats(-1.0, 2.0), st.floats(-1.0, 2.0))
def test_a_free_mix_that_is_accepted_can_be_normalised(r: float, g: float, b: float) -> None:
    values = {"grey.method": "mix", "grey.red": r, "grey.green": g, "grey.blue": b}
    try:
        recipe = Recipe().with_values(values)
    except RecipeError:
        assert r + g + b < 0.1
    else:
        assert recipe.grey.red + recipe.grey.green + recipe.grey.blue >= 0.1
