"""The steps of the work in their order, the recipe groups in each, and how each sums itself up."""

from collections.abc import Callable

import attrs

from app.bench.scale import Units, scale_for
from shared.recipe import START, Recipe, all_fields, field_info

Summary = Callable[[Recipe, Units], str]


@attrs.frozen
class StepInfo:
    """One step: its name in code (also its icon's), its name on screen, its recipe groups."""

    name: str
    label: str
    groups: tuple[str, ...]
    summary: Summary

    @property
    def keys(self) -> tuple[str, ...]:
        """The fields of the step, `group.field`, in working order."""
        return tuple(key for key, _ in all_fields() if key.split(".")[0] in self.groups)

    def is_changed(self, recipe: Recipe) -> bool:
        """Whether any field differs from its default."""
        return any(getattr(recipe, group) != getattr(START, group) for group in self.groups)


def _shown(recipe: Recipe, key: str, shown_units: Units = "mm") -> str:
    return scale_for(key, shown_units).text(recipe.get(key))


def _option(recipe: Recipe, key: str) -> str:
    return field_info(key).option(recipe.get(key)).label


def _photo(_: Recipe, __: Units) -> str:
    return "none open"


def _plate(recipe: Recipe, shown_units: Units) -> str:
    scale = scale_for("plate.width_mm", shown_units)
    sides = (recipe.plate.width_mm, recipe.plate.height_mm)
    width, height = (f"{scale.to_shown(side):.5g}" for side in sides)
    return f"{width} \u00d7 {height} {scale.unit}, {_shown(recipe, 'plate.pitch_mm', shown_units)}"


def _grey(recipe: Recipe, _: Units) -> str:
    return _option(recipe, "grey.method")


def _tone(recipe: Recipe, _: Units) -> str:
    parts = [f"shadows {_shown(recipe, 'tone.lift')}", f"local {_shown(recipe, 'tone.local')}"]
    return ", ".join([*parts, "curve"] if recipe.tone.has_curve else parts)


def _detail(recipe: Recipe, _: Units) -> str:
    return f"{_shown(recipe, 'detail.amount')} at {_shown(recipe, 'detail.radius_mm')}"


def _glass(_: Recipe, __: Units) -> str:
    return "starting guess"


def _screen(recipe: Recipe, _: Units) -> str:
    label = _option(recipe, "screen.kind")
    match recipe.screen.kind:
        case "threshold":
            return f"{label} at {_shown(recipe, 'screen.level')}"
        case "clustered":
            return f"{label}, {_shown(recipe, 'screen.ruling_per_cm')}"
    return label


def _output(recipe: Recipe, _: Units) -> str:
    deep = recipe.output.eight_bit or not recipe.screen.is_dots
    return "8 bits a pixel" if deep else "1 bit a pixel"


STEPS: tuple[StepInfo, ...] = (
    StepInfo("photo", "Photo", ("photo",), _photo),
    StepInfo("plate", "Plate", ("plate", "placement"), _plate),
    StepInfo("grey", "Grey", ("grey",), _grey),
    StepInfo("tone", "Tone", ("tone",), _tone),
    StepInfo("detail", "Detail", ("detail",), _detail),
    StepInfo("glass", "Glass", ("glass",), _glass),
    StepInfo("screen", "Screen", ("screen",), _screen),
    StepInfo("output", "Output", ("output",), _output),
)


def step_of(key: str) -> str:
    """The name of the step that holds the field `group.field`."""
    return next(step.name for step in STEPS if key in step.keys)
