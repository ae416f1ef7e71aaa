"""What the glass does to a take: the modulation that is left, and the frosts its tones ask for."""

import attrs
import numpy as np
from numpy.typing import NDArray

from engine import drive
from engine.compensate import Modulation, modulation_kept
from engine.flow import Flow
from engine.grid import Grid, whole_plate
from shared.recipe import Recipe

CYCLES_PER_MM = (1.0, 2.0, 3.0)
SIDE_PX = 700
RAN_OUT = 0.02
"""Frost by which the answer may miss what the capped inverse of the spread asks for."""


@attrs.frozen
class GlassReport:
    """Of the middle of the plate, at the etch pitch."""

    modulation: tuple[Modulation, ...]
    ran_out: float
    """Share of the picture on which the frost that would be needed cannot be made."""


def glass_report(flow: Flow, recipe: Recipe) -> GlassReport:
    """Measure a take where its plate is etched; frequencies that the look lacks are left out."""
    grid = _middle(recipe)
    aim = flow.aim(recipe)
    plain = attrs.evolve(aim, compensate=0.0)
    look = flow.look(recipe, grid)
    wanted = drive.frost_wanted(look, aim)
    asked = drive.frost_asked(look, aim, grid.pitch_mm)
    shown = drive.frost_left(asked, aim, grid.pitch_mm)
    without = drive.frost_left(wanted, plain, grid.pitch_mm)
    rows = []
    for cycles in CYCLES_PER_MM:
        before = modulation_kept(wanted, without, grid.pitch_mm, cycles)
        after = modulation_kept(wanted, shown, grid.pitch_mm, cycles)
        if before is not None and after is not None:
            rows.append(Modulation(cycles, before, after))
    inside = flow.cover(recipe, grid).of(np.abs(shown - wanted))
    ran_out = float(np.mean(inside > RAN_OUT)) if inside.size else 0.0
    return GlassReport(tuple(rows), ran_out)


def frost_counts(histogram: NDArray[np.int64], aim: drive.Aim) -> NDArray[np.int64]:
    """How often each frost is asked for, from how often each look comes; both over 0 to 1."""
    bins = histogram.size
    looks = np.linspace(0.0, 1.0, bins, dtype=np.float32)[None, :]
    frost = drive.frost_wanted(looks, aim)[0]
    where = np.round(frost * (bins - 1)).astype(int)
    return np.bincount(where, weights=histogram, minlength=bins).astype(np.int64)


def _middle(recipe: Recipe) -> Grid:
    plate = whole_plate(recipe.plate)
    rows, columns = min(SIDE_PX, plate.rows), min(SIDE_PX, plate.columns)
    return attrs.evolve(
        plate,
        top=(plate.rows - rows) // 2,
        left=(plate.columns - columns) // 2,
        rows=rows,
        columns=columns,
    )
