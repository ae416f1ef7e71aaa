"""The contact sheet: every way to make grey, side by side, as small pictures with their facts."""

from collections.abc import Iterator

import attrs
import numpy as np
from numpy.typing import NDArray

from engine import grey
from engine.flow import Flow
from engine.grid import overview
from engine.view import lightness_codes
from shared.errors import RecipeError
from shared.operators import Grey
from shared.recipe import Recipe, field_info


@attrs.frozen(eq=False)
class Small:
    """One way to make grey."""

    wish: Grey
    label: str
    pixels: NDArray[np.uint8]
    """Grey codes of the picture area, before tone: rows x columns."""
    facts: grey.GreyFacts


def contact_sheet(flow: Flow, recipe: Recipe, side: int) -> Iterator[Small]:
    """All methods with the other fields of the recipe's grey, the longer side about `side` pixels.

    A free mix whose weights do not add up is left out.
    """
    grid = overview(recipe.plate, side)
    inside = flow.cover(recipe, grid)
    if inside.empty:
        return
    for option in field_info("grey.method").options:
        try:
            wish = attrs.evolve(recipe.grey, method=option.value)
        except RecipeError:
            continue
        values = flow.grey(attrs.evolve(recipe, grey=wish), grid)[inside.rows, inside.columns]
        yield Small(wish, option.label, lightness_codes(values), grey.facts(values))
