"""Glass profiles as versioned JSON: plain data in, checked data out."""

import json
from pathlib import Path
from typing import Any

import attrs

from shared.errors import ProfileError
from shared.paths import RESOURCES
from shared.profile import (
    Doubt,
    Gain,
    GlassProfile,
    Knot,
    Light,
    Machine,
    Response,
    ScreenGains,
    Setting,
    Sheet,
)

VERSION = 3
"""2 added the standard errors (`doubt`), 3 the machine's focus, the width of flaking and
the fingerprints of readings."""
PARTS: dict[str, type] = {
    "machine": Machine,
    "sheet": Sheet,
    "setting": Setting,
    "response": Response,
    "light": Light,
    "doubt": Doubt,
}


def profile_data(profile: GlassProfile) -> dict[str, Any]:
    """A profile as plain data."""
    return attrs.asdict(profile)


def profile_from_data(data: Any) -> GlassProfile:
    """A profile from plain data; what is left out keeps its default. Raises ProfileError."""
    fields = _known(data, GlassProfile, "profile")
    for name, part in PARTS.items():
        if name in fields:
            fields[name] = _made(part, fields[name], name)
    fields["knots"] = [_made(Knot, knot, "knots") for knot in _rows(fields, "knots")]
    fields["gains"] = [
        _made(
            ScreenGains,
            {**_known(g, ScreenGains, "gains"), "points": _points(g)},
            "gains",
        )
        for g in _rows(fields, "gains")
    ]
    fields["readings"] = _rows(fields, "readings")
    return GlassProfile(**fields)


def dump_profile(profile: GlassProfile) -> str:
    """A profile file's text."""
    document = {"rimetype": "glass profile", "version": VERSION, "profile": profile_data(profile)}
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def load_profile(text: str) -> GlassProfile:
    """A profile from a file's text. Raises ProfileError that says what is wrong."""
    try:
        document = json.loads(text)
    except (ValueError, RecursionError):
        document = None
    if not isinstance(document, dict) or document.get("rimetype") != "glass profile":
        raise ProfileError("This is not a Rimetype glass profile; choose another file.")
    version = document.get("version")
    if not isinstance(version, int) or version < 1:
        raise ProfileError("This glass profile does not say its version; choose another file.")
    if version > VERSION:
        raise ProfileError("This glass profile is from a newer Rimetype; update to open it.")
    return profile_from_data(document.get("profile"))


def read_profile(path: Path) -> GlassProfile:
    """A profile file."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise ProfileError(f"The glass profile {path} cannot be read; check its name.") from None
    return load_profile(text)


def starting_guesses() -> dict[str, GlassProfile]:
    """The profiles that come with Rimetype, by name; each a starting guess."""
    found = [read_profile(path) for path in sorted((RESOURCES / "profiles").glob("*.json"))]
    return {profile.name: profile for profile in found}


def _points(gains: Any) -> list[Gain]:
    known = _known(gains, ScreenGains, "gains")
    return [_made(Gain, point, "gains") for point in _rows(known, "points")]


def _made(cls: type[Any], data: Any, where: str) -> Any:
    fields = _known(data, cls, where)
    missing = [a.name for a in attrs.fields(cls) if a.default is attrs.NOTHING]
    for name in missing:
        if name not in fields:
            raise ProfileError(f"The profile's {where} lacks a figure: {name}.")
    return cls(**fields)


def _known(data: Any, cls: type, where: str) -> dict[str, Any]:
    if not isinstance(data, dict):
        raise ProfileError(f"The profile's {where} is not a group of figures.")
    names = {a.name for a in attrs.fields(cls)}
    for name in data:
        if name not in names:
            raise ProfileError(f"The profile's {where} has an unknown figure: {name}.")
    return dict(data)


def _rows(fields: dict[str, Any], name: str) -> list[Any]:
    rows = fields.get(name, [])
    if not isinstance(rows, list | tuple):
        raise ProfileError(f"The profile's {name} is not a list.")
    return list(rows)
