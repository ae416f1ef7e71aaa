"""The strip laid out on a scrap of glass: markers, cells, patches and labels, all on etch pixels.

    scrap - margin = usable area
    corners: fiducial markers with quiet zones; between the upper two: the title
    the rest: a lattice of places for patches, out of which blocks are cut for the cells

The ways to fill a scrap are tried from the richest on, each with the largest cells first.
"""

import math

import attrs

from engine.strip.layout_area import Area
from engine.strip.layout_parts import Layout, Way, Wish
from engine.strip.layout_steps import FAIR, MIDDLING, POOREST, RICHEST
from shared.errors import InputError

LEAST_PATCH_MM = 4.0

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
    found = _try(wish)
    if found is None:
        raise InputError(_what_would_do(wish))
    return found


def _try(wish: Wish) -> Layout | None:
    areas = (Area.of(wish, way) for way in _WAYS)
    tried = (a.filled(blocks) for a in areas if a is not None for blocks in a.all_blocks())
    return next((found for found in tried if found is not None), None)


def _what_would_do(wish: Wish) -> str:
    width, height = wish.size_mm
    count = len(wish.runs)
    settings = f"{count} settings do" if count > 1 else "One setting does"
    problem = (
        f"{settings} not fit on a scrap of {width:g} x {height:g} mm "
        f"with a margin of {wish.margin_mm:g} mm"
    )
    fewer = next(
        (n for n in range(count - 1, 0, -1) if _try(attrs.evolve(wish, runs=wish.runs[:n]))), 0
    )
    sizes = (
        (5.0 * math.ceil(width * 1.06**step / 5.0), 5.0 * math.ceil(height * 1.06**step / 5.0))
        for step in range(1, 60)
    )
    large = next((s for s in sizes if _try(attrs.evolve(wish, size_mm=s))), None)
    ways = []
    if large is not None:
        ways.append(f"take one of {large[0]:g} x {large[1]:g} mm")
    if fewer:
        ways.append(f"ask for {fewer} setting{'s' * (fewer > 1)}")
    return f"{problem}; {' or '.join(ways) or 'ask for less'}."
