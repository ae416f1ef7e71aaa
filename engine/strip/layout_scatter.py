"""Which patch goes where: evening patches in a wide grid, the rest scattered by a seed."""

import zlib
from collections import defaultdict

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.strip.labels import setting_text
from engine.strip.layout_steps import NOWHERE
from shared.strip import Patch, Run

Places = NDArray[np.float64]
Indices = NDArray[np.intp]

_EVENING_GRIDS = {12: (3, 4), 9: (3, 3)}
"""Places across and down, on a scrap that stands upright."""
_APART = 0.3
"""Least distance of a step's repeats, as a share of the diagonal of all places."""
_TRIES = 200


@attrs.frozen(eq=False)
class Field:
    """The free places for patches; all centres in pixels, one unit for all."""

    places: Places
    """Number x 2: x and y of each."""
    seed: int
    """From which the scattering follows."""


def seed_of(number: int, runs: tuple[Run, ...], screens: tuple[str, ...]) -> int:
    """A seed that is another one for every number, setting and wedge, so that a photo of one strip
    does not pass for a strip that shares its number alone."""
    told = (str(number), *map(setting_text, runs), *screens)
    return zlib.crc32("; ".join(told).encode())


def scatter(
    field: Field,
    evening: int,
    first: list[Patch],
    spare: list[Patch],
    others: list[tuple[float, list[Patch]]],
) -> list[tuple[Patch, int]]:
    """Patches with the index of their place; there must be places enough.

    evening: how many bare and how many solid patches.
    first: patches of the starting run, scattered over the whole strip.
    spare: more of them, as many as there is room for.
    others: for each row of cells its middle (y) and the other runs' patches, which stay near it,
    so that a run need not travel over the whole strip.
    """
    rng = np.random.default_rng(field.seed)
    placed = _evening(field.places, evening)
    free = _without(np.arange(len(field.places)), [index for _, index in placed])
    for middle, patches in others:
        near = free[np.argsort(np.abs(field.places[free, 1] - middle), kind="stable")]
        chosen = near[: len(patches)]
        placed += _scattered(patches, field.places, chosen, rng)
        free = _without(free, chosen.tolist())
    wanted = [*first, *spare[: len(free) - len(first)]]
    chosen = rng.permutation(free)[: len(wanted)]
    return placed + _scattered(wanted, field.places, chosen, rng)


def _evening(places: Places, count: int) -> list[tuple[Patch, int]]:
    """Bare and solid patches on a grid that reaches the edges, in pairs of neighbours."""
    low, high = places.min(axis=0), places.max(axis=0)
    across, down = _EVENING_GRIDS[count]
    if high[0] - low[0] > high[1] - low[1]:
        across, down = down, across
    bare, solid = Patch("bare", NOWHERE, 0), Patch("solid", NOWHERE, 0, 1.0)
    free = np.ones(len(places), bool)
    placed = []
    for number, (x, y) in enumerate(np.ndindex(across, down)):
        target = low + (high - low) * np.array([x / (across - 1), y / (down - 1)])
        for patch in (bare, solid) if number % 2 else (solid, bare):
            away = np.where(free, np.square(places - target).sum(axis=1), np.inf)
            index = int(away.argmin())
            free[index] = False
            placed.append((patch, index))
    return placed


def _scattered(
    patches: list[Patch], places: Places, chosen: Indices, rng: np.random.Generator
) -> list[tuple[Patch, int]]:
    """The patches on the chosen places, in random order, with repeats of a step far apart."""
    if not patches:
        return []
    order = [int(index) for index in rng.permutation(chosen)]
    alike: defaultdict[Patch, list[int]] = defaultdict(list)
    for number, patch in enumerate(patches):
        alike[patch].append(number)
    least = _APART * float(np.hypot(*np.ptp(places[order], axis=0)))

    def crowded(number: int) -> bool:
        here = places[order[number]]
        mates = (mate for mate in alike[patches[number]] if mate != number)
        return any(np.hypot(*(places[order[mate]] - here)) < least for mate in mates)

    for number in range(len(patches)):
        for other in rng.integers(0, len(patches), _TRIES).tolist():
            if not crowded(number):
                break
            was_crowded = crowded(other)
            order[number], order[other] = order[other], order[number]
            if crowded(number) or (crowded(other) and not was_crowded):
                order[number], order[other] = order[other], order[number]
    return list(zip(patches, order, strict=True))


def _without(indices: Indices, taken: list[int]) -> Indices:
    return np.setdiff1d(indices, np.array(taken, np.intp))
