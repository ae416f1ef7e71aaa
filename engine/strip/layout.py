"""The strip laid out on a scrap of glass: markers, cells, patches and labels, all on etch pixels.

    scrap - margin = usable area
    corners: fiducial markers with quiet zones; between the upper two: the title
    the rest: a lattice of places for patches, out of which blocks are cut for the cells

The ways to fill a scrap are tried from the richest on, each with the largest cells first.
"""

import math
from collections.abc import Callable, Iterator

import attrs

from engine.strip.layout_area import Area, Blocks
from engine.strip.layout_parts import Layout, Way, Wish
from engine.strip.layout_steps import FAIR, MIDDLING, POOREST, RICHEST
from shared.errors import InputError
from shared.plate import MOST_ETCH_PIXELS

LEAST_PATCH_MM = 4.0
SIDES_MM = (30.0, 1000.0)
"""Shortest and longest side of a scrap."""
_GROWTH, _GROWTHS = 1.06, 60
"""By how much, and how often at most, a scrap is taken larger until one would do."""
_MUCH_LESS = 0.75
"""Share of the glass below which one of another shape is named (starting guess)."""

_WAYS = (
    Way(RICHEST, 6.0, 26.0, 1.5),
    Way(RICHEST, 5.0, 22.0, 1.5),
    Way(RICHEST, 4.5, 18.0, 1.5),
    Way(FAIR, 5.0, 20.0, 1.5),
    Way(FAIR, 4.5, 18.0, 1.5),
    Way(MIDDLING, 5.0, 20.0, 1.5),
    Way(MIDDLING, 4.5, 18.0, 1.5),
    Way(MIDDLING, LEAST_PATCH_MM, 16.0, 1.2),
    Way(POOREST, LEAST_PATCH_MM, 15.0, 1.2),
)


def lay_out(wish: Wish) -> Layout:
    """Lay a strip out. Raises InputError that says what would fit."""
    laid = (area.filled(blocks) for area, blocks in _arrangements(wish))
    found = next((layout for layout in laid if layout is not None), None)
    if found is None:
        raise InputError(_what_would_do(wish))
    return found


def _fits(wish: Wish) -> bool:
    return any(area.room(blocks) is not None for area, blocks in _arrangements(wish))


def _arrangements(wish: Wish) -> Iterator[tuple[Area, Blocks]]:
    areas = (Area.of(wish, way) for way in _WAYS)
    return ((area, blocks) for area in areas if area is not None for blocks in area.all_blocks())


def _what_would_do(wish: Wish) -> str:
    width, height = wish.size_mm
    count = len(wish.runs)
    settings = f"{count} settings do" if count > 1 else "One setting does"
    problem = (
        f"{settings} not fit on a scrap of {width:g} x {height:g} mm "
        f"with a margin of {wish.margin_mm:g} mm"
    )
    ways = []
    if width != height and _fits(attrs.evolve(wish, size_mm=(height, width))):
        ways.append(f"turn it to {height:g} x {width:g} mm")
    large = _larger(wish)
    if large is not None:
        ways.append(f"take one of {large[0]:g} x {large[1]:g} mm")
    fewer = _most(count, lambda n: attrs.evolve(wish, runs=wish.runs[:n]))
    if fewer:
        ways.append(f"ask for {fewer} setting{'s' * (fewer > 1)}")
    screens = _most(len(wish.screens), lambda n: attrs.evolve(wish, screens=wish.screens[:n]))
    if screens:
        ways.append(f"measure {screens} screen{'s' * (screens > 1)}")
    *others, last = ways or ["ask for less"]
    return f"{problem}; {', '.join(others)}{' or ' * bool(others)}{last}."


def _most(count: int, asked: Callable[[int], Wish]) -> int:
    """The most, below `count`, with which the wish fits; 0 if there is none."""
    return next((n for n in range(count - 1, 0, -1) if _fits(asked(n))), 0)


def _larger(wish: Wish) -> tuple[float, float] | None:
    """A scrap that would do: of the same shape, unless one that is only wider or only taller takes
    much less glass; None where the largest would not do."""
    width, height = wish.size_mm
    found, least = None, MOST_ETCH_PIXELS * wish.pitch_mm**2
    for wider, taller in ((True, True), (True, False), (False, True)):
        for step in range(1, _GROWTHS):
            size = _grown(width, step * wider), _grown(height, step * taller)
            if size[0] * size[1] > least or max(size) > SIDES_MM[1]:
                break
            if _fits(attrs.evolve(wish, size_mm=size)):
                found, least = size, _MUCH_LESS * size[0] * size[1]
                break
    return found


def _grown(side_mm: float, steps: int) -> float:
    return 5.0 * math.ceil(side_mm * _GROWTH**steps / 5.0) if steps else side_mm
