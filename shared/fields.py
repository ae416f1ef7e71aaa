"""One description per recipe field; controls, command line, schema and help are made from it."""

import itertools
import math
from collections.abc import Callable, Mapping
from typing import Any, Literal

import attrs

from shared.errors import RecipeError

Kind = Literal["number", "choice", "flag", "curve", "region", "colour"]
Point = tuple[float, float]
Region = tuple[float, float, float, float]

IDENTITY_CURVE: tuple[Point, ...] = ((0.0, 0.0), (1.0, 1.0))
MOST_CURVE_POINTS = 16


@attrs.frozen
class Option:
    """One answer to a choice: the value in files, the label on screen, a sentence of help."""

    value: str
    label: str
    help: str = ""


@attrs.frozen
class Info:
    """What a field means to people.

    `factor` turns the stored value into the shown one (100 for percent). `when` names another
    field of the same group and the values of it for which this field has an effect.
    """

    kind: Kind
    label: str
    help: str
    low: float = 0.0
    high: float = 1.0
    step: float = 0.01
    unit: str = ""
    factor: float = 1.0
    options: tuple[Option, ...] = ()
    when: tuple[str, tuple[str, ...]] | None = None

    @property
    def decimals(self) -> int:
        """Digits after the point that show one step."""
        return max(0, -math.floor(math.log10(self.step * self.factor) + 1e-9))

    def option(self, value: str) -> Option:
        """The answer that a value of a choice stands for."""
        return next(option for option in self.options if option.value == value)

    def shown(self, value: float) -> str:
        """A number as people read it, with its unit."""
        return f"{value * self.factor:.{self.decimals}f} {self.unit}".strip()


def number(
    label: str,
    default: float,
    low: float,
    high: float,
    *,
    step: float,
    help: str,
    unit: str = "",
    when: tuple[str, tuple[str, ...]] | None = None,
) -> Any:
    """A real number from `low` to `high`; a percent is stored as a share from 0 to 1."""
    factor = 100.0 if unit == "%" else 1.0
    info = Info("number", label, help, low, high, step, unit, factor, when=when)

    def check(_: object, attribute: "attrs.Attribute[float]", value: float) -> None:
        if not math.isfinite(value) or not low <= value <= high:
            raise RecipeError(
                f"{label} ({attribute.name}) must lie between "
                f"{info.shown(low)} and {info.shown(high)}."
            )

    return attrs.field(
        default=float(default),
        converter=_to_float(label),
        validator=check,
        metadata={"info": info},
    )


def choice(
    label: str,
    default: str,
    options: tuple[Option, ...],
    *,
    help: str,
    when: tuple[str, tuple[str, ...]] | None = None,
) -> Any:
    """One of a fixed set of named options."""
    values = [option.value for option in options]

    def check(_: object, attribute: "attrs.Attribute[str]", value: str) -> None:
        if value not in values:
            raise RecipeError(f"{label} ({attribute.name}) must be one of: {', '.join(values)}.")

    return attrs.field(
        default=default,
        validator=check,
        metadata={"info": Info("choice", label, help, options=options, when=when)},
    )


def flag(
    label: str,
    default: bool,
    *,
    help: str,
    when: tuple[str, tuple[str, ...]] | None = None,
) -> Any:
    """Yes or no."""

    def check(_: object, attribute: "attrs.Attribute[bool]", value: object) -> None:
        if not isinstance(value, bool):
            raise RecipeError(f"{label} ({attribute.name}) must be true or false.")

    return attrs.field(
        default=default, validator=check, metadata={"info": Info("flag", label, help, when=when)}
    )


def curve(label: str, *, help: str) -> Any:
    """Points (in, out) from 0 to 1: inputs rise strictly from 0 to 1, outputs never fall."""

    def check(_: object, attribute: "attrs.Attribute[Any]", value: tuple[Point, ...]) -> None:
        xs = [x for x, _ in value]
        ys = [y for _, y in value]
        good = (
            2 <= len(value) <= MOST_CURVE_POINTS
            and xs[0] == 0.0
            and xs[-1] == 1.0
            and all(a < b for a, b in itertools.pairwise(xs))
            and all(a <= b for a, b in itertools.pairwise(ys))
            and all(0.0 <= y <= 1.0 for y in ys)
        )
        if not good:
            raise RecipeError(
                f"{label} ({attribute.name}) needs 2 to {MOST_CURVE_POINTS} points from 0 to 1 "
                "that go from left to right and never fall."
            )

    return attrs.field(
        default=IDENTITY_CURVE,
        converter=_to_points(label),
        validator=check,
        metadata={"info": Info("curve", label, help)},
    )


def region(label: str, *, help: str, when: tuple[str, tuple[str, ...]] | None = None) -> Any:
    """A rectangle (left, top, right, bottom) as shares of the photo, or None."""

    def check(_: object, attribute: "attrs.Attribute[Any]", value: Region | None) -> None:
        if value is None:
            return
        left, top, right, bottom = value
        if not (0.0 <= left < right <= 1.0 and 0.0 <= top < bottom <= 1.0):
            raise RecipeError(
                f"{label} ({attribute.name}) needs left, top, right, bottom "
                "as shares of the photo from 0 to 1."
            )

    return attrs.field(
        default=None,
        converter=attrs.converters.optional(_to_region(label)),
        validator=check,
        metadata={"info": Info("region", label, help, when=when)},
    )


def colour(label: str, default: str, *, help: str) -> Any:
    """An sRGB colour written `#rrggbb`."""

    def check(_: object, attribute: "attrs.Attribute[str]", value: object) -> None:
        digits = value[1:] if isinstance(value, str) and value.startswith("#") else ""
        if len(digits) != 6 or any(d not in "0123456789abcdefABCDEF" for d in digits):
            raise RecipeError(f"{label} ({attribute.name}) must be a colour such as #ffffff.")

    return attrs.field(
        default=default, validator=check, metadata={"info": Info("colour", label, help)}
    )


def infos(group: type) -> Mapping[str, Info]:
    """The description of every field of a recipe group, in the order of its definition."""
    return {a.name: a.metadata["info"] for a in attrs.fields(group)}


def _to_float(label: str) -> Callable[[Any], float]:
    def convert(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise RecipeError(f"{label} must be a number.")
        try:
            return float(value)
        except OverflowError:
            raise RecipeError(f"{label} is larger than any figure can be.") from None

    return convert


def _to_points(label: str) -> Callable[[Any], tuple[Point, ...]]:
    def convert(value: Any) -> tuple[Point, ...]:
        try:
            return tuple((float(x), float(y)) for x, y in value)
        except (TypeError, ValueError, OverflowError):
            raise RecipeError(f"{label} must be a list of [in, out] pairs.") from None

    return convert


def _to_region(label: str) -> Callable[[Any], Region]:
    def convert(value: Any) -> Region:
        try:
            left, top, right, bottom = (float(v) for v in value)
        except (TypeError, ValueError, OverflowError):
            raise RecipeError(f"{label} must be four numbers: left, top, right, bottom.") from None
        return left, top, right, bottom

    return convert
