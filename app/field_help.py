"""The fields of a recipe as text for a terminal: names, ranges, units, defaults, help."""

import textwrap

from shared.fields import Info
from shared.recipe import all_fields, default_of

WIDTH = 79
_NAME_WIDTH = 24


def fields_text() -> str:
    """Every field with what it takes and what it is for, in working order."""
    intro = (
        "Fields for --set, each with what it takes and, in brackets, what it is unless set. "
        "Write --set tone.lift=0.4 or --set tone.lift=40%."
    )
    parts = [textwrap.fill(intro, WIDTH)]
    group = ""
    for key, info in all_fields():
        if key.partition(".")[0] != group:
            group = key.partition(".")[0]
            parts.append("")
        parts += _entry(key, info)
    return "\n".join(parts) + "\n"


def takes(info: Info) -> str:
    """What a field accepts, in words."""
    match info.kind:
        case "number":
            if info.unit == "%":
                low, high = info.low * info.factor, info.high * info.factor
                return f"{info.low:g} to {info.high:g}, or {low:g}% to {high:g}%"
            return f"{info.low:g} to {info.high:g} {info.unit}".rstrip()
        case "choice":
            values = [option.value for option in info.options]
            return f"{', '.join(values[:-1])} or {values[-1]}"
        case "flag":
            return "true or false"
        case "curve":
            return "points like 0:0 0.5:0.6 1:1"
        case "region":
            return "left,top,right,bottom from 0 to 1, or none"
        case "colour":
            return "a colour like #ffffff"


def _entry(key: str, info: Info) -> list[str]:
    head = f"  {key:<{_NAME_WIDTH}} {takes(info)} [{_written(default_of(key))}]"
    return [
        *_wrapped(head, "", " " * (_NAME_WIDTH + 3)),
        *_wrapped(f"{info.label}: {info.help}", " " * 6, " " * 6),
    ]


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    """Lines of at most the width; a percent sign stays with its number."""
    kept = text.replace(" %", "\N{NO-BREAK SPACE}%")
    lines = textwrap.wrap(
        kept, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def _written(value: object) -> str:
    """A value as --set takes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return " ".join(f"{x:g}:{y:g}" for x, y in value)
    return "none" if value is None else str(value)
