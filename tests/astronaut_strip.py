"""A strip of two settings with scikit-image's astronaut in its cells, before it is written."""

from __future__ import annotations

from functools import lru_cache

import skimage.data

from engine.flow import Prepared, prepare
from engine.photo import photo_from_array
from engine.strip.make import Made, Plan, make_strip
from shared.profile import GENERIC, GlassProfile
from shared.recipe import Recipe

CROP = (0.3, 0.05, 0.6, 0.4)
PLAN = Plan(
    pairs=((60.0, 15.0), (40.0, 12.0)),
    speeds=(300.0,),
    screens=("diffusion", "mixed"),
    size_mm=(110.0, 90.0),
    crop=CROP,
)


@lru_cache(maxsize=1)
def astronaut() -> Prepared:
    """The photo."""
    return prepare(photo_from_array(skimage.data.astronaut(), "astronaut"))


def make(plan: Plan = PLAN, recipe: Recipe | None = None, profile: GlassProfile = GENERIC) -> Made:
    """A strip of the astronaut."""
    return make_strip(astronaut(), recipe or Recipe(), profile, plan)


@lru_cache(maxsize=1)
def made() -> Made:
    """The usual one."""
    return make()
