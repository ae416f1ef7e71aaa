"""From a moved slider to the pictures of both panes, in the engine and in plain arithmetic."""

from collections.abc import Iterator
from typing import Any

import attrs
import numpy as np
import plain
from numpy.typing import NDArray
from table import Pairs, in_turns

from engine import view
from engine.drive import Aim
from engine.flow import Flow, Prepared
from engine.grid import Grid, window
from shared.recipe import Recipe

LAYOUTS: dict[str, tuple[tuple[str, str], ...]] = {
    "A look, A proof": (("A", "look"), ("A", "proof")),
    "A look, B look": (("A", "look"), ("B", "look")),
}


@attrs.frozen
class Slider:
    """A field, the values it is drawn through, what has to be set for it to matter, and the
    first stage of the plain arithmetic that it reaches."""

    key: str
    low: float
    high: float
    stage: str
    given: tuple[tuple[str, Any], ...] = ()

    def start(self, base: Recipe) -> Recipe:
        """The recipe before the slider moves."""
        return base.with_values(dict(self.given))

    def values(self, count: int) -> list[float]:
        """Where the slider goes: up, each value once."""
        return [float(v) for v in np.linspace(self.low, self.high, count + 1)[1:]]

    @property
    def draft(self) -> bool:
        """Whether the window asks for drafts while this is dragged."""
        return self.key.startswith(("plate", "placement"))


SLIDERS = (
    Slider("tone.lift", 0.3, 0.9, "toned"),
    Slider("tone.bare_point", 0.0, 0.2, "toned"),
    Slider("tone.local", 0.35, 0.9, "formed"),
    Slider("tone.local_radius_mm", 4.1, 8.0, "formed"),
    Slider("tone.least_frost", 0.0, 0.2, "look"),
    Slider("detail.amount", 1.3, 3.0, "sharpened"),
    Slider("detail.radius_mm", 0.41, 0.9, "sharpened"),
    Slider("grey.red", 0.41, 0.9, "grey", (("grey.method", "mix"),)),
    Slider("grey.strength", 0.51, 0.9, "grey", (("grey.method", "layered"),)),
    Slider("placement.centre_x", 0.501, 0.52, "placed", (("placement.scale", 1.2),)),
    Slider("placement.scale", 1.05, 1.5, "placed"),
    Slider("plate.margin_mm", 6.5, 12.0, "placed"),
    Slider("glass.backing", 0.02, 0.2, "proof"),
)
_STAGES = ("placed", "grey", "toned", "formed", "sharpened", "look", "proof")


class PlainPanes:
    """What a bare script would do: go again through all that lies below the slider."""

    def __init__(self, flow: Flow, grid: Grid) -> None:
        self._flow = flow
        self._grid = grid
        self._facets = plain.facets(grid)
        self._kept: dict[str, NDArray[np.float32]] = {}
        self._table: tuple[Aim, NDArray[np.uint8]] | None = None

    def move(self, recipe: Recipe, first: str, layout: str) -> list[NDArray[Any]]:
        """The pictures that change, and the histogram of the take that moved."""
        for stage in _STAGES[_STAGES.index(first) : -1]:
            self._kept[stage] = self._run(stage, recipe)
        look = self._kept["look"]
        shown: list[NDArray[Any]] = [plain.look_codes(look)]
        if layout == "A look, A proof":
            shown.append(plain.proof_codes(look, self._proof_table(recipe), self._facets))
        shown.append(plain.counts(look[plain.within_margin(recipe, self._grid)]))
        return shown

    def _run(self, stage: str, recipe: Recipe) -> NDArray[np.float32]:
        pitch, kept = self._grid.pitch_mm, self._kept
        match stage:
            case "placed":
                return plain.placed(self._flow.prepared.levels, recipe, self._grid, 1)
            case "grey":
                return plain.grey(kept["placed"], recipe)
            case "toned":
                return plain.toned(kept["grey"], recipe.tone)
            case "formed":
                return plain.formed(kept["toned"], recipe.tone, pitch)
            case "sharpened":
                return plain.sharpened(kept["formed"], recipe.detail, pitch)
        return plain.look(kept["sharpened"], recipe, self._grid)

    def _proof_table(self, recipe: Recipe) -> NDArray[np.uint8]:
        aim = self._flow.aim(recipe)
        if self._table is None or self._table[0] != aim:
            self._table = (aim, plain.proof_table(aim))
        return self._table[1]


def moves(
    prepared: Prepared, base: Recipe, pitch_mm: float, slider: Slider, layout: str, count: int
) -> Pairs:
    """Draw one slider of take A through its range, in turns by the engine and plainly."""
    flow, start = Flow(prepared), slider.start(base)
    plate = base.plate
    whole = window(plate, pitch_mm, 0.0, 0.0, plate.width_mm, plate.height_mm)
    grid = attrs.evolve(whole, draft=slider.draft)
    panes = PlainPanes(flow, grid)

    def ours(recipe: Recipe) -> list[view.Picture]:
        takes = {"A": recipe, "B": start}
        return [view.show(flow, takes[take], stage, grid) for take, stage in LAYOUTS[layout]]

    def steps() -> Iterator[Any]:
        for value in slider.values(count):
            recipe = start.with_values({slider.key: value})
            yield (
                lambda recipe=recipe: ours(recipe),
                lambda recipe=recipe: panes.move(recipe, slider.stage, layout),
            )

    ours(start)
    panes.move(start, "placed", layout)
    warm = start.with_values({slider.key: slider.low})
    ours(warm)
    panes.move(warm, slider.stage, layout)
    return in_turns(steps())
