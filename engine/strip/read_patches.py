"""The patches measured one by one, and the light that they and the bare glass between them show."""

import math
from collections.abc import Callable, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.strip.even import Light, Values, fit_dark, fit_gain
from engine.strip.rectify import Samples, Shot
from engine.strip.refuse import Refusal
from engine.strip.robust import medians, spread
from shared.strip import Box, Patch, Strip

RIM_MM = 0.6
BLOCK_MM = 0.9
TILE_MM = 2.5
GAP_MM = 0.35
"""Bare glass is looked for at least so far from anything burnt."""
LEAST_PIXELS = 30
GRAIN = 0.012
"""Relative standard deviation that patches burnt alike are expected to have on good glass."""
LEAST_ADDED = 0.12
"""Patches that add less than this share of what solids add say little about the light."""
EVEN = ("solid", "power")
"""Kinds of patches that are frosted all over."""
FLAKED = 1.1
"""Times as light as any solid that patches of less power are only where solids flaked."""


@attrs.frozen(eq=False)
class Field:
    """One patch's pixels and their plain mean, before the light is known."""

    samples: Samples
    kept: NDArray[np.bool_]
    """Without the blocks of pixels that stand out from the others."""
    level: float
    error: float = 0.0
    """Standard error of the level by how blocks of the patch differ; where frost flaked they do."""

    @property
    def pixels(self) -> int:
        """How many pixels count."""
        return int(self.kept.sum())


@attrs.frozen(eq=False)
class Bare:
    """Tiles of bare glass between the patches, and what they are above the dark surface."""

    x_mm: Values
    y_mm: Values
    level: Values
    over: Values


def measure(shot: Shot, patches: tuple[Patch, ...]) -> list[Field]:
    """All patches inside their rims."""
    fields = []
    for patch in patches:
        samples = shot.samples(patch.box, _rim(patch.box))
        fields.append(_whole(samples) if patch.kind == "lines" else _field(samples))
    return fields


def light_of(
    shot: Shot, strip: Strip, fields: list[Field], report: Callable[[float], None]
) -> tuple[Light, Bare, Values]:
    """The light on the strip, the bare glass it was found from, and for each patch how far it is
    off its like in the gain's logarithm (0 where it has no like). `report` is called with the share
    that is done."""
    x, y, level = bare_tiles(shot, strip, report)
    for patch, field in zip(strip.patches, fields, strict=True):
        if patch.kind == "bare" and field.pixels >= LEAST_PIXELS:
            x, y = np.append(x, middle(patch.box)[0]), np.append(y, middle(patch.box)[1])
            level = np.append(level, field.level)
    if len(level) < 12:
        raise Refusal("uneven")
    dark_terms, over = fit_dark(strip.size_mm, x, y, level)
    dark = Light(strip.size_mm, dark_terms, np.zeros(6))
    gain_terms, off = _gain(strip, fields, dark)
    gain_terms[0] += math.log(_fullest(strip, fields, attrs.evolve(dark, gain_terms=gain_terms)))
    return attrs.evolve(dark, gain_terms=gain_terms), Bare(x, y, level, over), off


def reference_run(patches: Sequence[Patch]) -> int:
    """The run with the most solid patches, which tell most of the light."""
    solids = [patch.run for patch in patches if patch.kind == "solid"]
    if not solids:
        raise Refusal("uneven")
    return max(sorted(set(solids)), key=solids.count)


def alike(patches: Sequence[Patch]) -> NDArray[np.intp]:
    """A number for each patch, the same for those burnt alike; 0 for the reference solids."""
    first = ("solid", reference_run(patches), 1.0, "", 0.0, True)
    numbers = {first: 0}
    keys = [(p.kind, p.run, p.fired, p.screen, p.lines_per_mm, p.upright) for p in patches]
    return np.array([numbers.setdefault(key, len(numbers)) for key in keys], np.intp)


def usable(added: Values, group: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which patches tell of the fall of light, by what each adds to bare glass: those that add
    enough and have a like that does, and the reference solids."""
    solid = float(np.nanmedian(added[group == 0]))
    enough = np.nan_to_num(added) > LEAST_ADDED * solid
    numbers, count = np.unique(group[enough], return_counts=True)
    return np.asarray(enough & np.isin(group, [*numbers[count > 1], 0]), bool)


def expected_error(added: Values, solid: float, own: Values) -> Values:
    """Relative standard deviation of what patches burnt alike add. own: of each patch's level."""
    return np.asarray(np.sqrt(GRAIN**2 + (0.004 * solid / added) ** 2 + (own / added) ** 2))


def bare_tiles(
    shot: Shot, strip: Strip, report: Callable[[float], None]
) -> tuple[Values, Values, Values]:
    """Middles of tiles of the strip that hold bare glass, and their levels. Labels lie on some:
    the darkest tenth of a tile stands for it, raised by what noise alone keeps that below the
    median."""
    width, height = strip.size_mm
    burnt = [patch.box for patch in strip.patches if patch.kind != "bare"]
    burnt += [_with_quiet_zone(marker.box) for marker in strip.markers]
    burnt += [cell.box for cell in strip.cells]
    sides = np.array([_sides(other) for other in burnt])
    rows, columns = (max(1, int((mm - 1.0) // TILE_MM)) for mm in (height, width))
    found = []
    for row in range(rows):
        report(row / rows)
        for column in range(columns):
            box = Box(0.5 + column * TILE_MM, 0.5 + row * TILE_MM, TILE_MM, TILE_MM)
            left, top, right, bottom = _sides(box, 0.0)
            near = (sides[:, 0] < right) & (sides[:, 2] > left)
            near &= (sides[:, 1] < bottom) & (sides[:, 3] > top)
            hidden = (sides[:, 0] <= left) & (sides[:, 2] >= right)
            hidden &= (sides[:, 1] <= top) & (sides[:, 3] >= bottom)
            if hidden.any():
                continue
            tile = shot.samples(box, 0.0)
            free = np.ones(tile.level.shape, bool)
            for other in sides[near]:
                free &= ~_within(tile, other)
            if free.sum() >= LEAST_PIXELS / 2:
                low, half = np.quantile(tile.level[free], (0.1, 0.5))
                found.append((tile.x_mm[free].mean(), tile.y_mm[free].mean(), low, half))
    x, y, low, half = np.array(found, np.float64).reshape(-1, 4).T
    noise = float(np.median(half - low)) if found else 0.0
    return x, y, low + noise


def _rim(box: Box) -> float:
    return min(RIM_MM, min(box.width_mm, box.height_mm) / 4.0)


def middle(box: Box) -> tuple[float, float]:
    """x and y in mm."""
    return box.left_mm + box.width_mm / 2.0, box.top_mm + box.height_mm / 2.0


def middles(patches: Sequence[Patch]) -> tuple[Values, Values]:
    """x and y in mm of each patch."""
    x, y = np.array([middle(patch.box) for patch in patches]).T
    return x, y


def _with_quiet_zone(box: Box) -> Box:
    """A marker has six modules; one more all around it may be burnt."""
    module = box.width_mm / 6.0
    side = box.width_mm + 2.0 * module
    return Box(box.left_mm - module, box.top_mm - module, side, side)


def _sides(box: Box, reach_mm: float = GAP_MM) -> tuple[float, float, float, float]:
    """Left, top, right and bottom in mm, widened."""
    right, bottom = box.left_mm + box.width_mm, box.top_mm + box.height_mm
    return box.left_mm - reach_mm, box.top_mm - reach_mm, right + reach_mm, bottom + reach_mm


def _within(samples: Samples, sides: Values) -> NDArray[np.bool_]:
    left, top, right, bottom = sides
    inside = (samples.x_mm > left) & (samples.x_mm < right)
    return np.asarray(inside & (samples.y_mm > top) & (samples.y_mm < bottom), bool)


def _whole(samples: Samples) -> Field:
    few = len(samples.level) < LEAST_PIXELS
    level = math.nan if few else float(samples.level.mean())
    return Field(samples, np.ones(samples.level.shape, bool), level)


def _field(samples: Samples) -> Field:
    """Blocks of about 0.9 mm are compared by their means; a dot screen's own spread is in them, so
    that leaving out what stands out does not shift the mean as trimming pixels would."""
    if len(samples.level) < LEAST_PIXELS:
        return _whole(samples)
    column = ((samples.x_mm - samples.x_mm.min()) / BLOCK_MM).astype(np.intp)
    row = ((samples.y_mm - samples.y_mm.min()) / BLOCK_MM).astype(np.intp)
    block = row * (int(column.max()) + 1) + column
    count = np.bincount(block)
    mean = np.bincount(block, samples.level) / np.maximum(count, 1)
    full = count > 0
    middle = float(np.median(mean[full]))
    odd = np.abs(mean - middle) > 6.0 * spread(mean[full] - middle) + 0.03 * max(middle, 0.02)
    kept = ~odd[block]
    if kept.mean() < 0.5:
        odd[:], kept[:] = False, True
    blocks = mean[full & ~odd]
    error = float(blocks.std()) / math.sqrt(blocks.size)
    return Field(samples, kept, float(samples.level[kept].mean()), error)


def _fullest(strip: Strip, fields: list[Field], light: Light) -> float:
    """Frost of the setting whose solid patches are lightest, by their median; of less power where
    that is lighter by far, since solids flaked."""
    told = [n for n, p in enumerate(strip.patches) if p.kind in EVEN and fields[n].pixels]
    x, y = middles([strip.patches[n] for n in told])
    frost = light.frost(x, y, np.array([fields[n].level for n in told]))
    middle = medians(frost, alike(strip.patches)[told])
    solid = np.array([strip.patches[n].kind == "solid" for n in told])
    fullest, lightest = float(middle[solid].max()), float(middle.max())
    return lightest if lightest > FLAKED * fullest else fullest


def _gain(strip: Strip, fields: list[Field], dark: Light) -> tuple[Values, Values]:
    x, y = middles(strip.patches)
    level = np.array([field.level for field in fields])
    added = level - dark.dark(x, y)
    group = alike(strip.patches)
    solid = float(np.nanmedian(added[group == 0]))
    if not solid > 0.0:
        raise Refusal("veiled")
    counts = usable(added, group)
    if (group[counts] == 0).sum() < 1:
        raise Refusal("uneven")
    order = np.unique(group[counts], return_inverse=True)[1]
    own = np.array([field.error for field in fields])
    error = expected_error(added[counts], solid, own[counts])
    terms, off = fit_gain(strip.size_mm, x[counts], y[counts], added[counts], error, order)
    all_off = np.zeros(len(fields))
    all_off[counts] = off
    return terms, all_off
