"""Recipe and session files: what was saved comes back; what is wrong is named."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import RecipeError, SessionError
from shared.recipe import Recipe, all_fields
from shared.recipe_file import (
    SavedSession,
    dump_recipe,
    dump_session,
    load_recipe,
    load_session,
    recipe_data,
    schema,
)


@st.composite
def recipes(draw: st.DrawFn) -> Recipe:
    values: dict[str, Any] = {}
    for key, info in all_fields():
        if key.startswith(("plate.", "grey.", "tone.bare", "tone.full")):
            continue
        if info.kind == "number":
            values[key] = draw(st.floats(info.low, info.high))
        elif info.kind == "choice":
            values[key] = draw(st.sampled_from([option.value for option in info.options]))
        elif info.kind == "flag":
            values[key] = draw(st.booleans())
    values["tone.curve"] = ((0.0, 0.0), (draw(st.floats(0.1, 0.9)), 0.5), (1.0, 1.0))
    values["grey.area"] = draw(st.sampled_from([None, (0.1, 0.2, 0.3, 0.4)]))
    return Recipe().with_values(values)


@given(recipes())
def test_a_saved_recipe_comes_back_the_same(recipe: Recipe) -> None:
    assert load_recipe(dump_recipe(recipe, "any")) == recipe


@given(recipes(), recipes())
def test_a_saved_session_comes_back_the_same(a: Recipe, b: Recipe) -> None:
    session = SavedSession("/photos/pup.jpg", "ab12", {"A": a, "B": b})
    assert load_session(dump_session(session)) == session


def test_what_a_file_leaves_out_is_taken_from_the_recipe_below() -> None:
    text = json.dumps({"rimetype": "recipe", "version": 1, "recipe": {"tone": {"lift": 0.6}}})
    onto = Recipe().changed(tone__hold=0.2, plate__width_mm=90.0)
    assert load_recipe(text, onto) == onto.changed(tone__lift=0.6)


def _file(recipe: object, version: object = 1, kind: str = "recipe") -> str:
    return json.dumps({"rimetype": kind, "version": version, "recipe": recipe})


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not a Rimetype recipe file"),
        ("[1, 2]", "not a Rimetype recipe file"),
        ("[" * 100_000, "not a Rimetype recipe file"),
        (_file({}, kind="session"), "not a Rimetype recipe file"),
        (_file({}, version=99), "newer Rimetype"),
        (_file({}, version="1"), "does not say its version"),
        (_file([]), "not a group of fields"),
        (_file({"tone": 5}), "tone is not a group"),
        (_file({"tone": {"lft": 0.5}}), "did you mean tone.lift?"),
        (_file({"tne": {}}), "did you mean tone?"),
        (_file({"tone": {"lift": 7}}), "Open shadows"),
        (_file({"tone": {"lift": "much"}}), "must be a number"),
        (_file({"tone": {"lift": 10**400}}), "larger than any figure can be"),
        (_file({"tone": {"curve": [[0, 0], [1, 10**400]]}}), "list of [in, out] pairs"),
        (_file({"grey": {"area": [0, 0, 1, 10**400]}}), "four numbers"),
        ('{"version": 1' + "0" * 5000 + "}", "not a Rimetype recipe file"),
    ],
)
def test_a_file_that_cannot_be_used_says_why(text: str, words: str) -> None:
    with pytest.raises(RecipeError) as refused:
        load_recipe(text)
    assert words in str(refused.value)


def test_all_problems_of_a_file_are_told_at_once() -> None:
    with pytest.raises(RecipeError) as refused:
        load_recipe(_file({"tone": {"lift": 7, "x": 1}, "grey": {"method": "sepia"}}))
    for word in ("Open shadows", "tone.x", "Grey from"):
        assert word in str(refused.value)


@pytest.mark.parametrize(
    "content",
    [
        {},
        {"photo": {}, "takes": {"A": {}}},
        {"photo": [], "takes": {"A": {}, "B": {}}},
        {"photo": {"path": 5}, "takes": {"A": {}, "B": {}}},
        {"photo": {}, "takes": {"A": {}, "B": {"tone": {"lift": 9}}}},
    ],
)
def test_a_session_that_cannot_be_used_says_why(content: dict[str, Any]) -> None:
    with pytest.raises(SessionError):
        load_session(json.dumps({"rimetype": "session", "version": 1, **content}))


def test_the_schema_names_every_field_with_its_range() -> None:
    groups = schema()["properties"]
    for key, info in all_fields():
        group, _, name = key.partition(".")
        described = groups[group]["properties"][name]
        assert described["title"] == info.label
        if info.kind == "number":
            assert (described["minimum"], described["maximum"]) == (info.low, info.high)
    assert set(groups) == set(recipe_data(Recipe()))
