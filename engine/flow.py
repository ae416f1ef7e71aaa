"""The flow of one photo through a recipe, with the last results of every stage kept.

    photo -> placed -> grey -> tone -> LOOK -> drive -> screen

Each stage is a pure function of the stage above, its own group of the recipe and the grid. Its
result is kept under everything upstream, so a changed field runs again only what lies below it,
and two takes share what they have in common.
"""

import math
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from engine import detail, glass, grey, measure, placement, tone
from engine.grid import Grid
from engine.photo import Photo, reduced
from shared.operators import Grey
from shared.profile import GENERIC, GlassProfile
from shared.recipe import Recipe

_SAMPLE_SIDE = 400
_KEPT_BYTES = 320_000_000


class Kept:
    """Results by key, the oldest dropped first when they grow beyond a number of bytes."""

    def __init__(self, most_bytes: int = _KEPT_BYTES) -> None:
        self._results: OrderedDict[Hashable, Any] = OrderedDict()
        self._most_bytes = most_bytes
        self._bytes = 0

    def get(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """The kept result of `key`, made first if there is none."""
        if key in self._results:
            self._results.move_to_end(key)
            return self._results[key]
        result = make()
        self._results[key] = result
        self._bytes += _size(result)
        while self._bytes > self._most_bytes and len(self._results) > 1:
            _, dropped = self._results.popitem(last=False)
            self._bytes -= _size(dropped)
        return result


@attrs.frozen(eq=False)
class Prepared:
    """A photo with what every flow of it needs; never changed, so threads may share it."""

    photo: Photo
    levels: tuple[NDArray[Any], ...]
    sample: NDArray[np.float32]
    """The whole photo, small: rows x columns x 3, encoded sRGB, 0 to 1."""


def prepare(photo: Photo) -> Prepared:
    """Make the reduced versions of a photo that the flow reads."""
    return Prepared(photo, placement.levels(photo.pixels), reduced(photo, _SAMPLE_SIDE))


class Flow:
    """One photo, any number of recipes. Not for two threads at once; make one for each."""

    def __init__(
        self, prepared: Prepared, profile: GlassProfile = GENERIC, most_bytes: int = _KEPT_BYTES
    ) -> None:
        self.prepared = prepared
        self.profile = profile
        self._kept = Kept(most_bytes)
        self._mixes = Kept()

    def mix(self, wish: Grey) -> grey.Mix:
        """What a grey wish means for this photo."""
        return self._mixes.get(wish, lambda: grey.resolve(wish, self.prepared.sample))  # type: ignore[no-any-return]

    def placed(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The photo's colours on the plate: rows x columns x 3, encoded sRGB, 0 to 1."""
        key = ("placed", recipe.plate, recipe.placement, grid)
        return self._kept.get(  # type: ignore[no-any-return]
            key, lambda: placement.place(self.prepared.levels, recipe.plate, recipe.placement, grid)
        )

    def cover(self, recipe: Recipe, grid: Grid) -> NDArray[np.bool_]:
        """Which pixels show photo."""
        rows, columns = self.prepared.photo.pixels.shape[:2]
        key = ("cover", recipe.plate, recipe.placement, grid)
        return self._kept.get(  # type: ignore[no-any-return]
            key,
            lambda: placement.cover(rows, columns, recipe.plate, recipe.placement, grid),
        )

    def grey(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The grey picture before tone: rows x columns, 0 to 1."""
        mix = self.mix(recipe.grey)
        key = ("grey", recipe.plate, recipe.placement, mix, grid)
        return self._kept.get(key, lambda: grey.apply(mix, self.placed(recipe, grid)))  # type: ignore[no-any-return]

    def tone(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The grey picture with its tones set and its forms strengthened."""
        mix = self.mix(recipe.grey)
        key = ("tone", recipe.plate, recipe.placement, mix, recipe.tone, grid)

        def make() -> NDArray[np.float32]:
            table = tone.tone_table(recipe.tone)
            toned = tone.apply_table(self.grey(recipe, grid), table)
            return tone.local_contrast(toned, recipe.tone, grid.pitch_mm)

        return self._kept.get(key, make)  # type: ignore[no-any-return]

    def look(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The look: rows x columns, 0 (darkest end) to 1 (lightest end), as seen from the front."""
        mix = self.mix(recipe.grey)
        key = (
            "look",
            recipe.plate,
            recipe.placement,
            mix,
            recipe.tone,
            recipe.detail,
            grid,
        )

        def make() -> NDArray[np.float32]:
            wide = grid.padded(reach_mm(recipe, grid.pitch_mm), recipe.plate)
            toned = self.tone(recipe, wide)
            sharp = detail.exaggerate(toned, recipe.detail, grid.pitch_mm)[grid.inside(wide)]
            look = tone.keep_least_frost(sharp, recipe.tone)
            unmarked = np.float32(recipe.plate.unmarked_look)
            return np.where(self.cover(recipe, grid), look, unmarked)

        return self._kept.get(key, make)  # type: ignore[no-any-return]

    def ends(self, recipe: Recipe) -> glass.Ends:
        """How light the two ends are with this recipe's backing."""
        return glass.ends(self.profile, recipe.glass.backing, recipe.plate.mark)

    def drive(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """What is asked of the laser: rows x columns, 0 to 1, as seen from the front."""
        return drive_from_look(self.look(recipe, grid), recipe, self.ends(recipe))

    def shares(self, recipe: Recipe, grid: Grid) -> measure.Shares:
        """How much of the picture itself ends at the two ends of the look."""
        inside = self.look(recipe, grid)[self.cover(recipe, grid)]
        return measure.end_shares_of_look(inside[None, :])


def drive_from_look(
    look: NDArray[np.float32], recipe: Recipe, ends: glass.Ends
) -> NDArray[np.float32]:
    """The drive, 0 to 1, that gives a look on this glass; line art is cut at its own level."""
    if recipe.screen.kind == "threshold":
        light = look >= np.float32(recipe.screen.level)
        return (light if recipe.plate.mark == "light" else ~light).astype(np.float32)
    return glass.mark_from_look(look, ends)


def reach_mm(recipe: Recipe, pitch_mm: float) -> float:
    """How far beyond a window the flow has to look; a power of two, so that it seldom changes."""
    spare = (tone.LOCAL_SPARE_PX + detail.SPARE_PX) * pitch_mm
    reach = tone.local_reach_mm(recipe.tone) + detail.detail_reach_mm(recipe.detail) + spare
    return float(2.0 ** math.ceil(math.log2(max(reach, 0.25))))


def _size(result: Any) -> int:
    return int(result.nbytes) if isinstance(result, np.ndarray) else 64
