"""How settings and patches of a strip are called in the window."""

from shared.recipe import field_info
from shared.strip import Patch, Run, Strip

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
