"""Whether readings taken by hand can be what was burnt: alike where it was alike, and lighter where
it was stronger."""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np

from engine.strip.robust import spread
from shared.errors import InputError
from shared.strip import Patch, Strip

Groups = Sequence[list[int]]

SURE = 4.0
"""Standard errors by which a reading must be beside those that were burnt alike; of a hundred right
ones hardly one is."""
GRAIN_L = 2.0
"""What patches that were burnt alike differ by on glass, L*, at most (virtual sheets)."""
MOST_APART = 0.25
"""Share of all variance that patches burnt alike may have, beyond which the readings are in another
order: in one by chance they have all of it."""
LEAST_RANGE_L = 3.0
"""From the darkest reading to the lightest, without which nothing is told of the glass (starting
guess)."""
POWERS = 4
"""Different ones, without which nobody knows whether frost grows with power."""
FEWEST_ALIKE = 6
"""Readings beyond the first of each group, without which they may disagree by chance (starting
guess)."""
PAPER_L = 96.0
"""The lightest paper; frost on black reaches 80 at most."""
_NAMED = 6
"""Patches that a sentence names at most."""

_ORDER = (
    "Patches that were burnt alike, such as {} and {}, do not read alike, here and in many other "
    "places: check that each reading stands at the number of its patch."
)
_ODD = (
    "{0} not read like others that were burnt alike: read {1} once more, and leave {1} out if that "
    "stays."
)
_DARK = "{} darker than bare glass, which nothing is: read {} and the bare patches once more."
_PAPER = (
    "{} lighter than white paper, which no frost is: check the unit of the readings, and read {} "
    "once more."
)
_FALLING = (
    "The readings grow darker where more power was burnt: check their order, and whether the unit "
    "is the one in which they were read."
)
_FLAT = (
    "The patches read much the same, whatever power was burnt, which tells nothing of the glass: "
    "check the readings, read bare glass and weak patches too, or burn another strip with more "
    "power."
)


def doubts_of(
    strip: Strip, lightness: Mapping[int, float], errors: Mapping[int, float]
) -> tuple[str, ...]:
    """Warnings of readings that cannot be right, in sentences that name their patches.

    lightness: CIE L* by patch; errors: standard errors by rounding or by eye, L*. Raises
    InputError where the readings as a whole cannot be what was burnt.
    """
    groups = _alike(strip, lightness)
    _check_order(groups, lightness)
    _check_rise(strip, lightness)
    found = []
    beside = _beside(groups, lightness)
    usual = spread(list(beside.values())) if beside else 0.0
    limit = {n: GRAIN_L + SURE * max(usual, error) for n, error in errors.items()}
    odd = sorted(n for n, apart in beside.items() if abs(apart) > limit[n])
    if odd:
        found.append(_ODD.format(patches_that(odd, "does", "do"), _them(odd)))
    bare = [value for n, value in lightness.items() if strip.patches[n].kind == "bare"]
    least = float(np.median(bare)) if bare else 0.0
    dark = sorted(
        n
        for n, value in lightness.items()
        if strip.patches[n].kind != "bare" and least - value > limit[n]
    )
    if dark:
        found.append(_DARK.format(patches_that(dark, "reads", "read"), _them(dark)))
    pale = sorted(n for n, value in lightness.items() if value > PAPER_L)
    if pale:
        found.append(_PAPER.format(patches_that(pale, "reads", "read"), _them(pale)))
    return tuple(found)


def repeated_to(strip: Strip, lightness: Mapping[int, float]) -> float:
    """The standard error of one reading, L*, as patches that were burnt alike tell it; 0 where none
    were read twice."""
    pairs = [group for group in _alike(strip, lightness) if len(group) == 2]
    apart = [lightness[one] - lightness[other] for one, other in pairs]
    return spread(apart) / math.sqrt(2.0) if apart else 0.0


def _alike(strip: Strip, lightness: Mapping[int, float]) -> Groups:
    """Patches that were burnt alike; at full drive all are solid."""
    groups = defaultdict(list)
    for number in sorted(lightness):
        groups[burnt_as(strip.patches[number])].append(number)
    return [group for group in groups.values() if len(group) > 1]


def burnt_as(patch: Patch) -> tuple[object, ...]:
    """The same for patches that were burnt alike."""
    if patch.kind == "bare":
        return ("bare",)
    if patch.drive >= 1.0:
        return ("solid", patch.run)
    return patch.kind, patch.run, patch.drive, patch.screen


def _check_order(groups: Groups, lightness: Mapping[int, float]) -> None:
    """Raise InputError where patches that were burnt alike agree no more than any two do."""
    read = [np.array([lightness[n] for n in group]) for group in groups]
    freedom = sum(each.size - 1 for each in read)
    if freedom < FEWEST_ALIKE:
        return
    within = sum(float(np.square(each - each.mean()).sum()) for each in read) / freedom
    if within > MOST_APART * np.var(list(lightness.values())) > 0.0 and within > GRAIN_L**2:
        widest = max(groups, key=lambda group: np.ptp([lightness[n] for n in group]))
        ends = sorted(widest, key=lightness.__getitem__)
        one, other = sorted((ends[0], ends[-1]))
        raise InputError(_ORDER.format(one + 1, other + 1))


def _check_rise(strip: Strip, lightness: Mapping[int, float]) -> None:
    """Raise InputError where frost does not grow with power. Where flaking takes some of it, still
    much more is left than where it begins."""
    bare, doses = [], []
    for number, value in lightness.items():
        patch = strip.patches[number]
        if patch.kind == "bare":
            bare.append(value)
        elif patch.kind in ("power", "solid"):
            doses.append((_fluence(strip, patch), value))
    if len({fluence for fluence, _ in doses}) < POWERS:
        return
    read = np.array([value for _, value in sorted(doses)])
    span = np.ptp([*read, *bare])
    if span < LEAST_RANGE_L:
        raise InputError(_FLAT)
    weak, strong = np.median(read[: read.size // 4]), np.median(read[read.size // 2 :])
    if weak - strong > 0.5 * span:
        raise InputError(_FALLING)


def _fluence(strip: Strip, patch: Patch) -> float:
    run = strip.runs[patch.run]
    return run.power_pct(patch.fired) / run.speed_mm_s


def _beside(groups: Groups, lightness: Mapping[int, float]) -> dict[int, float]:
    """By how much each reading lies beside the others of its group; both of a pair, since either
    may be wrong."""
    return {
        number: lightness[number] - float(np.median([lightness[n] for n in group]))
        for group in groups
        for number in group
    }


def patches_that(numbers: Sequence[int], one: str, several: str) -> str:
    """Patches (counted from 0) by their numbers on the strip, with what one or several do."""
    named = [str(number + 1) for number in numbers]
    if len(named) == 1:
        return f"Patch {named[0]} {one}"
    if len(named) > _NAMED:
        named = [*named[:_NAMED], f"{len(named) - _NAMED} more"]
    return f"Patches {', '.join(named[:-1])} and {named[-1]} {several}"


def _them(numbers: Sequence[int]) -> str:
    return "it" if len(numbers) == 1 else "them"
