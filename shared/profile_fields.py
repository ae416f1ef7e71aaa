"""One description per figure of a glass profile; the form and the comparison are made from it."""

import math
from collections.abc import Mapping
from typing import Any, Literal

import attrs

from shared.errors import ProfileError

Kind = Literal["number", "text", "flag"]
MOST_LETTERS = 200


@attrs.frozen
class Figure:
    """What a field of a profile means to people; `factor` turns stored into shown values."""

    kind: Kind
    label: str
    help: str = ""
    unit: str = ""
    low: float = 0.0
    high: float = 0.0

    @property
    def factor(self) -> float:
        """100 where a share is shown in percent."""
        return 100.0 if self.is_share else 1.0

    @property
    def is_share(self) -> bool:
        """Whether a percentage is stored as a share from 0 to 1."""
        return self.unit == "%" and self.high <= 1.0

    def shown(self, value: Any) -> str:
        """A value as people read it, with its unit."""
        if self.kind == "flag":
            return "yes" if value else "no"
        if self.kind == "text":
            return str(value)
        return f"{self.digits(value)} {self.unit}".strip()

    def digits(self, value: float) -> str:
        """A number as people type it, without its unit; six digits that count."""
        shown = float(f"{value * self.factor:.6g}")
        return f"{shown:.10f}".rstrip("0").rstrip(".")

    @property
    def reach(self) -> str:
        """From where to where a number may lie, in words."""
        return f"{self.digits(self.low)} to {self.shown(self.high)}"


def number(
    low: float,
    high: float,
    default: Any = attrs.NOTHING,
    *,
    label: str,
    unit: str = "",
    help: str = "",
) -> Any:
    """A finite number from `low` to `high`; with the unit % and at most 1 it is a share."""
    figure = Figure("number", label, help, unit, low, high)

    def check(_: object, attribute: "attrs.Attribute[float]", value: float) -> None:
        if not math.isfinite(value) or not low <= value <= high:
            raise ProfileError(
                f"{label} ({attribute.name}) must lie between "
                f"{figure.digits(low)} and {figure.shown(high)}."
            )

    return attrs.field(
        default=default, converter=_to_float, validator=check, metadata={"figure": figure}
    )


def text(default: str = "", *, label: str, help: str = "") -> Any:
    """A line of words, at most 200 characters."""

    def check(_: object, attribute: "attrs.Attribute[str]", value: object) -> None:
        if not isinstance(value, str) or len(value) > MOST_LETTERS:
            raise ProfileError(
                f"{label} ({attribute.name}) must be at most {MOST_LETTERS} characters of text."
            )

    return attrs.field(
        default=default, validator=check, metadata={"figure": Figure("text", label, help)}
    )


def flag(default: bool, *, label: str, help: str = "") -> Any:
    """Yes or no."""

    def check(_: object, attribute: "attrs.Attribute[bool]", value: object) -> None:
        if not isinstance(value, bool):
            raise ProfileError(f"{label} ({attribute.name}) must be true or false.")

    return attrs.field(
        default=default, validator=check, metadata={"figure": Figure("flag", label, help)}
    )


def figures(group: type) -> Mapping[str, Figure]:
    """The described fields of a part of the profile, in the order of their definition."""
    return {a.name: a.metadata["figure"] for a in attrs.fields(group) if "figure" in a.metadata}


def _to_float(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ProfileError(f"A figure of the profile must be a number, not {value!r}.")
    try:
        return float(value)
    except OverflowError:
        raise ProfileError("A figure of the profile is larger than any figure can be.") from None
