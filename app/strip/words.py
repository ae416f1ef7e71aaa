"""How settings and patches of a strip are called in the window."""

import re

from shared.recipe import field_info
from shared.strip import Patch, Run, Strip
from shared.units import inches_from_mm

_LENGTHS = re.compile(r"(\d+(?:\.\d+)?)(?:( x | to )(\d+(?:\.\d+)?))? mm(?!/)")
SCREENS = {option.value: option.label for option in field_info("screen.kind").options}


def setting_words(run: Run) -> str:
    """One setting of the machine."""
    return f"{run.power_max_pct:g} to {run.power_min_pct:g} % at {run.speed_mm_s:g} mm/s"


def patch_words(strip: Strip, patch: Patch) -> str:
    """What a patch is, with its setting where there are several."""
    return (
        f"{kind_words(patch)}, setting {patch.run + 1}"
        if len(strip.runs) > 1
        else (kind_words(patch))
    )


def kind_words(patch: Patch) -> str:
    """What a patch is."""
    if patch.kind == "bare":
        return "Bare glass"
    if patch.kind == "solid":
        return "Solid"
    if patch.kind == "lines":
        way = "upright" if patch.upright else "lying"
        return f"Lines, {patch.lines_per_mm:.3g} per mm, {way}"
    name = "Power" if patch.kind == "power" else SCREENS.get(patch.screen, patch.screen)
    return f"{name}, {100.0 * patch.drive:.0f} % drive"


def counted(count: int, one: str, several: str) -> str:
    """So many of a thing."""
    return f"{count} {one if count == 1 else several}"


def refused_words(typed: str, heading: str, low: float, high: float) -> str:
    """What is said of something typed into a column that does not take it; the heading holds the
    column's name and its unit."""
    name, _, unit = heading.partition(", ")
    reach = f"{low:g} to {high:g} {unit}".strip()
    return f"{typed or 'Nothing'} was not taken; the column {name} takes a number from {reach}."


def in_inches(sentence: str) -> str:
    """The same with its lengths, which are in mm, in inches; speeds stay the machine's."""

    def said(found: re.Match[str]) -> str:
        first, between, second = found.groups()
        both = [inches_from_mm(float(mm)) for mm in (first, second) if mm]
        lengths = [f"{length:.3f}".rstrip("0").rstrip(".") for length in both]
        unit = "inch" if lengths[-1] == "1" else "inches"
        return f"{(between or '').join(lengths)} {unit}"

    return _LENGTHS.sub(said, sentence)
