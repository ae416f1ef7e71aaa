"""A strip made: one bitmap for each machine setting, the look of a cell, and the description."""

import json
import zlib

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.flow import Flow, Prepared
from engine.grid import overview
from engine.output import Bitmap
from engine.photo import Photo
from engine.plate_bitmap import burn
from engine.progress import Progress, unheard
from engine.strip.judge_tones import EVEN_TONES
from engine.strip.layout import SIDES_MM, lay_out
from engine.strip.layout_parts import Layout, Wish
from engine.strip.layout_steps import WEDGE_SCREENS
from engine.strip.make_crop import cell_recipe, checked_crop, crop_aspect, default_crop
from engine.strip.make_dots import Dots, for_machine, run_dots
from engine.strip.make_settings import Pair, checked_runs, profile_of_run, starting_at
from shared.errors import InputError
from shared.fields import Region
from shared.plate import MOST_ETCH_PIXELS
from shared.profile import GlassProfile
from shared.profile_file import profile_data
from shared.recipe import Recipe
from shared.strip import Strip

CELL_LOOK = "cell-look.png"
DEFAULT_SIZE_MM = (150.0, 200.0)
MOST_NUMBER = 9999
_OVERVIEW_SIDE = 400
_WIDEST_MARGIN_MM = 200.0


@attrs.frozen
class Plan:
    """What the user asks of a strip."""

    pairs: tuple[Pair, ...]
    speeds: tuple[float, ...]
    screens: tuple[str, ...]
    """Whose dot gain is to be measured; the wedge of power serves the continuous one."""
    size_mm: tuple[float, float] = DEFAULT_SIZE_MM
    margin_mm: float | None = None
    """Twice the thickness of the scrap unless given."""
    pitch_mm: float = 0.1
    crop: Region | None = None
    """Left, top, right, bottom as shares of the photo; found unless given."""
    number: int | None = None
    """1 to 9999; follows from all the rest unless given."""


@attrs.frozen(eq=False)
class Planned:
    """Where everything will lie."""

    strip: Strip
    layout: Layout
    crop: Region


@attrs.frozen(eq=False)
class Made:
    """A strip, ready to be written."""

    strip: Strip
    bitmaps: tuple[Bitmap, ...]
    """One for each run."""
    cell_look: NDArray[np.uint16]
    """Rows x columns, from the front."""
    crop: Region


def default_screens(recipe: Recipe) -> tuple[str, ...]:
    """Screens worth measuring: the two that suit most glass, and the recipe's own."""
    own = [recipe.screen.kind] if recipe.screen.kind in WEDGE_SCREENS else []
    return tuple(dict.fromkeys(["diffusion", "mixed", *own]))


def plan_strip(prepared: Prepared, recipe: Recipe, profile: GlassProfile, plan: Plan) -> Planned:
    """Lay out a strip without computing its bitmaps; arguments and errors as in `make_strip`."""
    margin = _checked_margin(plan, recipe)
    runs = checked_runs(plan.pairs, plan.speeds, starting_at(profile, plan.pitch_mm))
    photo = prepared.photo
    crop = checked_crop(plan.crop) if plan.crop else default_crop(prepared.sample)
    number = plan.number if plan.number is not None else _number_of(plan, recipe, profile, photo)
    wish = Wish(
        runs=runs,
        screens=_checked_screens(plan.screens),
        number=number,
        size_mm=_checked_size(plan),
        margin_mm=margin,
        pitch_mm=plan.pitch_mm,
        aspect=crop_aspect(crop, photo.rows, photo.columns),
    )
    layout = lay_out(wish)
    return Planned(_described(wish, layout, recipe, profile), layout, crop)


def make_strip(
    prepared: Prepared,
    recipe: Recipe,
    profile: GlassProfile,
    plan: Plan,
    progress: Progress | None = None,
) -> Made:
    """Lay out a strip and compute its bitmaps.

    recipe: says how the cells are made and which side is etched; its plate's thickness is the
    scrap's. profile: the machine, and the setting to start from.

    Raises InputError that says what does not fit and what would.
    """
    report = progress or unheard
    planned = plan_strip(prepared, recipe, profile, plan)
    layout, crop = planned.layout, planned.crop
    strip = attrs.evolve(planned.strip, tones=_tones(prepared, recipe.changed(plate__mark="light")))
    photo, runs = prepared.photo, strip.runs
    box = layout.cells[0].box
    cell = cell_recipe(
        recipe, crop, photo.rows, photo.columns, (box.width_mm, box.height_mm), strip.pitch_mm
    )
    looks, cells = [], []
    for done, run in enumerate(runs):
        burnt = burn(prepared, cell, profile_of_run(profile, run, strip.pitch_mm))
        looks.append(burnt.look)
        cells.append(burnt.dots)
        report(0.7 * (done + 1) / len(runs))
    if not any(dots.any() for dots in cells):
        cells.append(burn(prepared, cell, starting_at(profile, strip.pitch_mm)).dots)
    shown, bitmaps = _none_bare(cells)[: len(runs)], []
    for done in range(len(runs)):
        dots: Dots = run_dots(strip, layout, done, shown, recipe.screen)
        bitmaps.append(for_machine(dots, strip))
        report(0.7 + 0.3 * (done + 1) / len(runs))
    return Made(strip, tuple(bitmaps), looks[0], crop)


def _none_bare(cells: list[Dots]) -> tuple[Dots, ...]:
    """The cells' dots; where the profile expects a setting to mark nothing, those of the weakest
    setting that marks, which needs most dots: the profile may be wrong, and the strip is made to
    see."""
    weakest = max(cells, key=np.count_nonzero)
    return tuple(dots if dots.any() else weakest for dots in cells)


def _described(wish: Wish, layout: Layout, recipe: Recipe, profile: GlassProfile) -> Strip:
    sheet = attrs.evolve(profile.sheet, thickness_mm=recipe.plate.thickness_mm)
    planned = attrs.evolve(profile_of_run(profile, wish.runs[0], wish.pitch_mm), sheet=sheet)
    return Strip(
        number=wish.number,
        size_mm=wish.size_mm,
        pitch_mm=wish.pitch_mm,
        screen=attrs.asdict(recipe.screen),
        etched=recipe.plate.etched,
        runs=wish.runs,
        markers=layout.markers,
        patches=layout.patches,
        cells=layout.cells,
        cell_look=CELL_LOOK,
        profile=json.loads(json.dumps(profile_data(planned))),
    )


def _tones(prepared: Prepared, recipe: Recipe) -> tuple[float, ...]:
    grid = overview(recipe.plate, _OVERVIEW_SIDE)
    flow = Flow(prepared)
    looks = flow.cover(recipe, grid).of(flow.look(recipe, grid))
    counts, _ = np.histogram(looks[looks > 0.0], EVEN_TONES, (0.0, 1.0))
    return tuple((counts / max(1, looks.size)).round(5).tolist())


def _number_of(plan: Plan, recipe: Recipe, profile: GlassProfile, photo: Photo) -> int:
    """A number from 1000 on that follows from all that the strip is made of."""
    everything = repr((plan, recipe, profile, photo.fingerprint)).encode()
    return 1000 + zlib.crc32(everything) % (MOST_NUMBER - 999)


def _checked_screens(screens: tuple[str, ...]) -> tuple[str, ...]:
    for name in screens:
        if name not in (*WEDGE_SCREENS, "continuous"):
            raise InputError(
                f"There is no dot gain of {name} to measure; choose among "
                f"continuous, {', '.join(WEDGE_SCREENS)}."
            )
    return tuple(dict.fromkeys(name for name in screens if name in WEDGE_SCREENS))


def _checked_size(plan: Plan) -> tuple[float, float]:
    if not 0.02 <= plan.pitch_mm <= 0.5:
        raise InputError("The pitch of a strip lies between 0.02 and 0.5 mm.")
    low, high = SIDES_MM
    if not all(low <= side <= high for side in plan.size_mm):
        raise InputError(f"The scrap's sides must be {low:g} to {high:g} mm long.")
    if plan.size_mm[0] * plan.size_mm[1] / plan.pitch_mm**2 > MOST_ETCH_PIXELS:
        raise InputError("This scrap has too many etch pixels; use a smaller one for the strip.")
    if plan.number is not None and not 1 <= plan.number <= MOST_NUMBER:
        raise InputError(f"A strip's number lies between 1 and {MOST_NUMBER}.")
    return plan.size_mm


def _checked_margin(plan: Plan, recipe: Recipe) -> float:
    least = recipe.plate.least_margin_mm
    if plan.margin_mm is None:
        return least
    if not least <= plan.margin_mm <= _WIDEST_MARGIN_MM:
        raise InputError(
            f"Glass of {recipe.plate.thickness_mm:g} mm needs a margin of {least:g} to "
            f"{_WIDEST_MARGIN_MM:g} mm, since fractures that meet the edge break the sheet."
        )
    return plan.margin_mm
