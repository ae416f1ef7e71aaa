"""What a strip measures: the steps of its wedges, its lines, and how richly each run is served."""

import attrs
import numpy as np

from engine.screens.mixed import COVERING
from shared.strip import Box, Patch, Run

NOWHERE = Box(0.0, 0.0, 0.0, 0.0)
WEDGE_SCREENS = ("mixed", "diffusion", "bluenoise", "clustered")
"""Screens with a tone curve of their own; the power wedge serves the continuous one."""

POWER_STEPS = 15
SCREEN_STEPS = 13
REPEATS = 2
LINES_PER_MM = (0.5, 1.0, 5.0 / 3.0, 2.5)
_SMALLEST_POWER = 1.0 / 12.0
"""Share of the greatest power below which the wedge does not go: no usual glass marks there, and
a step spent there is missing on the slope."""
_FOOT = 1.5
"""Exponent that crowds a screen's steps at its foot, where a little drive gives much lightness."""

_DOTS = 0.7
"""Share of the mixed screen's steps that are dots; of its powers the power wedge tells too."""


@attrs.frozen
class Richness:
    """How many patches a strip carries beside the starting run's wedges."""

    evening: int
    """Bare patches, and as many solid ones, for evening out the light."""
    powers: int
    """Steps of power of every other run."""
    drives: int
    """Steps of each screen of every other run."""
    repeats: int
    """How often each patch of the other runs appears."""


RICHEST = Richness(evening=12, powers=5, drives=6, repeats=2)
FAIR = Richness(evening=12, powers=5, drives=5, repeats=1)
MIDDLING = Richness(evening=12, powers=4, drives=0, repeats=2)
POOREST = Richness(evening=9, powers=2, drives=0, repeats=1)


def power_drives(run: Run, count: int) -> list[float]:
    """Drives of a wedge of continuous power, rising, at most `count`, each a code / 255.

    Even steps of log fluence, since frost follows log fluence and the slope is a small part of
    the range of power; from the run's least power, which fires, to its greatest.
    """
    least, most = run.power_min_pct, run.power_max_pct
    start = max(least, most * _SMALLEST_POWER)
    powers = np.geomspace(start, most, count)
    codes = np.clip(np.rint(255.0 * (powers - least) / (most - least)), 1, 255).astype(int)
    return [int(code) / 255.0 for code in np.unique(codes)]


def screen_drives(kind: str, run: Run, count: int) -> list[float]:
    """Drives of a screen's wedge, rising; the last is full.

    Crowded at the foot. The mixed screen has two feet: dots of the least power up to a drive of a
    half, and powers from there on, which follow the power wedge.
    """
    if kind != "mixed":
        steps = (np.arange(1, count + 1) / count) ** _FOOT
        return [round(float(step), 4) for step in steps]
    dots = max(2, round(_DOTS * count))
    foot = COVERING * np.arange(1, dots + 1) / dots
    powers = np.array(power_drives(run, count - dots + 1)[1:])
    rising = np.concatenate([foot, COVERING + (1.0 - COVERING) * powers])
    return [round(float(drive), 4) for drive in rising]


def line_periods(pitch_mm: float) -> list[int]:
    """Etch pixels from one burnt line to the next, even numbers, the widest first."""
    periods = {max(2, 2 * round(0.5 / (lines * pitch_mm))) for lines in LINES_PER_MM}
    return sorted(periods, reverse=True)


def wedges(run: Run, screens: tuple[str, ...]) -> list[Patch]:
    """The starting run's wedges of power and of each screen, every step once."""
    patches = [Patch("power", NOWHERE, 0, drive) for drive in power_drives(run, POWER_STEPS)]
    for kind in screens:
        drives = screen_drives(kind, run, SCREEN_STEPS)
        patches += [Patch("screen", NOWHERE, 0, drive, kind) for drive in drives]
    return patches


def lines(pitch_mm: float) -> list[Patch]:
    """The starting run's lines, upright and lying, every kind once."""
    return [
        Patch("lines", NOWHERE, 0, 0.5, "", round(1.0 / (period * pitch_mm), 6), upright)
        for period in line_periods(pitch_mm)
        for upright in (True, False)
    ]


def others(number: int, run: Run, screens: tuple[str, ...], rich: Richness) -> list[Patch]:
    """What another run than the starting one carries beside its cell."""
    patches = [Patch("solid", NOWHERE, number, 1.0)]
    patches += [Patch("power", NOWHERE, number, d) for d in power_drives(run, rich.powers + 1)[:-1]]
    if rich.drives:
        for kind in screens:
            drives = screen_drives(kind, run, rich.drives + 1)[:-1]
            patches += [Patch("screen", NOWHERE, number, drive, kind) for drive in drives]
    return patches * rich.repeats
