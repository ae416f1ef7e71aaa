"""Recipes and sessions as versioned JSON: plain data in, checked data out, every problem named."""

import json
from collections.abc import Mapping
from typing import Any

import attrs

from shared.errors import ProfileError, RecipeError, RimetypeError, SessionError
from shared.fields import Info, infos
from shared.profile import GENERIC, GlassProfile
from shared.profile_file import profile_data, profile_from_data
from shared.recipe import GROUPS, Recipe, all_fields

VERSION = 1
STYLE_GROUPS = ("grey", "tone", "detail", "screen")
"""The groups that a starting recipe carries; plate and placement belong to the job."""


@attrs.frozen
class SavedSession:
    """What a session file holds. `photo` is None before a photo was opened."""

    photo_path: str | None
    photo_fingerprint: str | None
    takes: Mapping[str, Recipe]
    profile: GlassProfile = GENERIC


def recipe_data(recipe: Recipe) -> dict[str, dict[str, Any]]:
    """A recipe as plain data: group -> field -> value."""
    return attrs.asdict(recipe)


def dump_recipe(recipe: Recipe, name: str) -> str:
    """A recipe file's text."""
    return _dump("recipe", {"name": name, "recipe": recipe_data(recipe)})


def load_recipe(text: str, onto: Recipe | None = None) -> Recipe:
    """A recipe from a file's text; groups and fields that it leaves out are taken from `onto`.

    Raises RecipeError that names every problem of the file.
    """
    document = _load(text, "recipe", RecipeError)
    return recipe_from_data(document.get("recipe"), onto or Recipe())


def recipe_from_data(data: Any, onto: Recipe) -> Recipe:
    """Plain data laid over a recipe, checked field by field."""
    if not isinstance(data, dict):
        raise RecipeError("The recipe is not a group of fields; choose a Rimetype recipe file.")
    problems: list[str] = []
    groups: dict[str, Any] = {}
    for group, fields in data.items():
        if group not in GROUPS:
            problems.append(_unknown(group, list(GROUPS)))
        elif not isinstance(fields, dict):
            problems.append(f"{group} is not a group of fields.")
        else:
            groups[group] = _group(group, fields, getattr(onto, group), problems)
    if problems:
        raise RecipeError("The recipe cannot be used: " + " ".join(problems))
    return attrs.evolve(onto, **groups)


def dump_session(session: SavedSession) -> str:
    """A session file's text."""
    return _dump(
        "session",
        {
            "photo": {"path": session.photo_path, "sha256": session.photo_fingerprint},
            "takes": {name: recipe_data(recipe) for name, recipe in session.takes.items()},
            "profile": profile_data(session.profile),
        },
    )


def load_session(text: str) -> SavedSession:
    """A session from a file's text. Raises SessionError that says what is wrong."""
    document = _load(text, "session", SessionError)
    photo, takes = document.get("photo"), document.get("takes")
    if not isinstance(photo, dict) or not isinstance(takes, dict) or set(takes) != {"A", "B"}:
        raise SessionError("This session file lacks its photo or its takes; open another one.")
    path, fingerprint = photo.get("path"), photo.get("sha256")
    if not all(value is None or isinstance(value, str) for value in (path, fingerprint)):
        raise SessionError("This session file names its photo wrongly; open another one.")
    try:
        recipes = {name: recipe_from_data(takes[name], Recipe()) for name in ("A", "B")}
    except RecipeError as error:
        raise SessionError(f"A take of this session cannot be read. {error}") from error
    return SavedSession(path, fingerprint, recipes, _profile(document))


def _profile(document: dict[str, Any]) -> GlassProfile:
    if "profile" not in document:
        return GENERIC
    try:
        return profile_from_data(document["profile"])
    except ProfileError as error:
        raise SessionError(f"The glass of this session cannot be read. {error}") from error


def schema() -> dict[str, Any]:
    """The JSON schema (draft 2020-12) of the `recipe` part of a recipe file."""
    groups: dict[str, Any] = {}
    for key, info in all_fields():
        group, _, name = key.partition(".")
        properties = groups.setdefault(
            group, {"type": "object", "additionalProperties": False, "properties": {}}
        )
        properties["properties"][name] = _field_schema(info)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Rimetype recipe",
        "type": "object",
        "additionalProperties": False,
        "properties": groups,
    }


def _group(group: str, fields: dict[str, Any], onto: Any, problems: list[str]) -> Any:
    names = infos(GROUPS[group])
    unknown = [name for name in fields if name not in names]
    problems += [_unknown(f"{group}.{name}", [f"{group}.{n}" for n in names]) for name in unknown]
    known = {name: value for name, value in fields.items() if name in names}
    try:
        return attrs.evolve(onto, **known)
    except RimetypeError as error:
        problems.append(f"{group}: {error}")
        return onto


def _unknown(name: str, known: list[str]) -> str:
    import difflib  # slow to import, and needed only here

    near = difflib.get_close_matches(name, known, n=1)
    return f"{name} is not known" + (f"; did you mean {near[0]}?" if near else ".")


def _dump(kind: str, content: dict[str, Any]) -> str:
    document = {"rimetype": kind, "version": VERSION, **content}
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def _load(text: str, kind: str, error: type[RimetypeError]) -> dict[str, Any]:
    try:
        document = json.loads(text)
    except (ValueError, RecursionError):
        raise error(f"This is not a Rimetype {kind} file; choose another one.") from None
    if not isinstance(document, dict) or document.get("rimetype") != kind:
        raise error(f"This is not a Rimetype {kind} file; choose another one.")
    version = document.get("version")
    if not isinstance(version, int) or version < 1:
        raise error(f"This {kind} file does not say its version; choose another one.")
    if version > VERSION:
        raise error(f"This {kind} was saved by a newer Rimetype; update Rimetype to open it.")
    return document


def _field_schema(info: Info) -> dict[str, Any]:
    described = {"title": info.label, "description": info.help}
    if info.kind == "number":
        return {"type": "number", "minimum": info.low, "maximum": info.high, **described}
    if info.kind == "choice":
        return {"enum": [option.value for option in info.options], **described}
    if info.kind == "flag":
        return {"type": "boolean", **described}
    if info.kind == "colour":
        return {"type": "string", "pattern": "^#[0-9a-fA-F]{6}$", **described}
    share = {"type": "number", "minimum": 0, "maximum": 1}
    if info.kind == "curve":
        pair = {"type": "array", "items": share, "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 2, **described}
    return {"type": ["array", "null"], "items": share, "minItems": 4, "maxItems": 4, **described}
