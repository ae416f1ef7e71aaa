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

from engine import detail, drive, grey, placement, tone
from engine.grid import Grid
from engine.photo import Photo, reduced
from engine.strips import in_strips
from shared.operators import Grey
from shared.profile import GENERIC, GlassProfile
from shared.recipe import Recipe

_SAMPLE_SIDE = 400
_KEPT_BYTES = 400_000_000
"""Room for all stages of two takes that share nothing, with panes of 3.4 megapixels each."""
_KEPT_EACH = 4
"""Results of one stage: two takes, each on the panes' grid and on the whole plate's."""


class Kept:
    """Results by key, those not asked for the longest dropped first.

    They are bounded in bytes, and, where the key is a tuple that begins with the name of a stage,
    in number for each stage: a slider that leaves many results of the lower stages behind does
    not push out those above them.
    """

    def __init__(self, most_bytes: int = _KEPT_BYTES) -> None:
        self._results: OrderedDict[Hashable, Any] = OrderedDict()
        self._most_bytes = most_bytes
        self._bytes = 0

    def get(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """The kept result of `key`, made first if there is none."""
        result = self.find(key)
        if result is None:
            result = make()
            self.put(key, result)
        return result

    def find(self, key: Hashable) -> Any:
        """The kept result of `key`, or None."""
        if key not in self._results:
            return None
        self._results.move_to_end(key)
        return self._results[key]

    def put(self, key: Hashable, result: Any) -> None:
        """Keep a result, in place of what was kept under its key."""
        if key in self._results:
            self._drop(key)
        self._results[key] = result
        self._bytes += _size(result)
        alike = [other for other in self._results if _stage(other) == _stage(key)]
        for other in alike[:-_KEPT_EACH]:
            self._drop(other)
        while self._bytes > self._most_bytes and len(self._results) > 1:
            self._drop(next(iter(self._results)))

    def _drop(self, key: Hashable) -> None:
        self._bytes -= _size(self._results.pop(key))


@attrs.frozen(eq=False)
class _Part:
    """A stage's result on a grid."""

    grid: Grid
    pixels: NDArray[np.float32]

    @property
    def nbytes(self) -> int:
        """Bytes of the pixels."""
        return self.pixels.nbytes


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
        return self._kept.get(  # type: ignore[no-any-return]
            ("placed", self._place(recipe), grid),
            lambda: placement.place(self.prepared.levels, recipe.plate, recipe.placement, grid),
        )

    def cover(self, recipe: Recipe, grid: Grid) -> placement.Cover:
        """Which pixels show photo."""
        rows, columns = self.prepared.photo.pixels.shape[:2]
        return self._kept.get(  # type: ignore[no-any-return]
            ("cover", recipe.plate, recipe.placement, grid),
            lambda: placement.cover(rows, columns, recipe.plate, recipe.placement, grid),
        )

    def grey(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The grey picture before tone: rows x columns, 0 to 1."""
        mix = self.mix(recipe.grey)
        return self._kept.get(  # type: ignore[no-any-return]
            ("grey", self._place(recipe), mix, grid),
            lambda: in_strips(lambda part: grey.apply(mix, part), self.placed(recipe, grid), 0.0),
        )

    def toned(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The grey picture with its tones set, point by point."""
        points = attrs.evolve(recipe.tone, local=0.0, local_radius_mm=1.0, least_frost=0.0)

        def make() -> NDArray[np.float32]:
            table = tone.tone_table(points)
            return in_strips(
                lambda part: tone.apply_table(part, table), self.grey(recipe, grid), 0.0
            )

        return self._kept.get(("toned", *self._upstream(recipe), points, grid), make)  # type: ignore[no-any-return]

    def tone(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The grey picture with its tones set and its forms strengthened."""
        return self._kept.get(  # type: ignore[no-any-return]
            ("tone", *self._upstream(recipe), attrs.evolve(recipe.tone, least_frost=0.0), grid),
            lambda: _formed(self.toned(recipe, grid), recipe, grid.pitch_mm),
        )

    def look(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The look: rows x columns, 0 (darkest end) to 1 (lightest end), as seen from the front.

        Cut out of a kept look of a larger grid if there is one, such as the proof has needed.
        """
        key = ("look", *self.look_key(recipe), grid.pitch_mm, grid.draft)
        part: _Part | None = self._kept.find(key)
        if part is None or not grid.lies_in(part.grid):
            sharp = self._sharp(recipe, grid)
            part = _Part(grid, finished(sharp, recipe, self.cover(recipe, grid)))
            self._kept.put(key, part)
        return part.pixels if part.grid == grid else part.pixels[grid.inside(part.grid)]

    def look_key(self, recipe: Recipe) -> tuple[Hashable, ...]:
        """Equal for two recipes that give the same look."""
        plate = recipe.plate
        return *self.grey_key(recipe), recipe.tone, recipe.detail, plate.unmarked_look

    def grey_key(self, recipe: Recipe) -> tuple[Hashable, ...]:
        """Equal for two recipes that give the same grey and show the same part of it."""
        return *self._upstream(recipe), recipe.plate.margin_mm

    def kept(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """The kept result of something made of stages, made first if there is none."""
        return self._kept.get(key, make)

    def _sharp(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The picture with its detail exaggerated, margins and least frost not yet in it."""
        tones = attrs.evolve(recipe.tone, least_frost=0.0)

        def make() -> NDArray[np.float32]:
            wide = grid.padded(live_reach_mm(recipe, grid.pitch_mm), recipe.plate)
            return _sharpened(self.tone(recipe, wide), recipe, grid.pitch_mm)[grid.inside(wide)]

        return self._kept.get(  # type: ignore[no-any-return]
            ("sharp", *self._upstream(recipe), tones, recipe.detail, grid), make
        )

    def _upstream(self, recipe: Recipe) -> tuple[Hashable, ...]:
        """What the grey picture depends on, and the size of the plate, which bounds all windows."""
        plate = recipe.plate
        return self._place(recipe), self.mix(recipe.grey), plate.width_mm, plate.height_mm

    def _place(self, recipe: Recipe) -> Hashable:
        """Where the photo lies, however it came there."""
        rows, columns = self.prepared.photo.pixels.shape[:2]
        matrix = placement.photo_from_plate(recipe.plate, recipe.placement, rows, columns)
        return matrix.tobytes()

    def aim(self, recipe: Recipe) -> drive.Aim:
        """What the recipe asks for on this glass."""
        return drive.aim_of(recipe, self.profile)

    def frost_asked(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The frost to ask for, spread made up for: rows x columns, 0 to 1, from the front."""
        aim = self.aim(recipe)

        def make() -> NDArray[np.float32]:
            wide = grid.padded(drive.reach_mm(aim, grid.pitch_mm), recipe.plate)
            asked = in_strips(
                lambda part: drive.frost_asked(part, aim, grid.pitch_mm),
                self.look(recipe, wide),
                drive.reach_mm(aim, grid.pitch_mm) / grid.pitch_mm,
            )
            return asked[grid.inside(wide)]

        return self._kept.get(("asked", *self.look_key(recipe), aim, grid), make)  # type: ignore[no-any-return]

    def drive(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """What is asked of the laser: rows x columns, 0 to 1, as seen from the front."""
        return drive.drive_of_frost(self.frost_asked(recipe, grid), self.aim(recipe))

    def frost_left(self, recipe: Recipe, grid: Grid) -> NDArray[np.float32]:
        """The frost that will be seen, by tone: rows x columns, 0 to 1."""
        asked = self.frost_asked(recipe, grid)
        return drive.frost_left(asked, self.aim(recipe), grid.pitch_mm)


def look_from_toned(
    toned: NDArray[np.float32], recipe: Recipe, wide: Grid, grid: Grid, cover: placement.Cover
) -> NDArray[np.float32]:
    """The look on a grid from the toned picture on a wider one, as `Flow.look` makes it."""
    formed = tone.local_contrast(toned, recipe.tone, grid.pitch_mm)
    sharp = detail.exaggerate(formed, recipe.detail, grid.pitch_mm)
    return finished(sharp[grid.inside(wide)], recipe, cover)


def _formed(toned: NDArray[np.float32], recipe: Recipe, pitch_mm: float) -> NDArray[np.float32]:
    reach = tone.local_reach_px(recipe.tone, pitch_mm)
    return in_strips(lambda part: tone.local_contrast(part, recipe.tone, pitch_mm), toned, reach)


def _sharpened(formed: NDArray[np.float32], recipe: Recipe, pitch_mm: float) -> NDArray[np.float32]:
    reach = detail.detail_reach_mm(recipe.detail) / pitch_mm + detail.SPARE_PX
    return in_strips(lambda part: detail.exaggerate(part, recipe.detail, pitch_mm), formed, reach)


def finished(
    sharp: NDArray[np.float32], recipe: Recipe, cover: placement.Cover
) -> NDArray[np.float32]:
    """The look, once its detail is exaggerated: with the least frost, and glass in the margin."""
    look = tone.keep_least_frost(sharp, recipe.tone)
    cover.clear_rest(look, recipe.plate.unmarked_look)
    return look


def reach_mm(recipe: Recipe, pitch_mm: float) -> float:
    """How far beyond a window the flow has to look."""
    pixels = tone.local_reach_px(recipe.tone, pitch_mm) + detail.SPARE_PX
    return pixels * pitch_mm + detail.detail_reach_mm(recipe.detail)


def live_reach_mm(recipe: Recipe, pitch_mm: float) -> float:
    """The same or up to 1.4 times as much, in steps, so that it seldom changes with a slider."""
    half_octaves = math.ceil(2.0 * math.log2(max(reach_mm(recipe, pitch_mm), 0.25)))
    return float(2.0 ** (half_octaves / 2.0))


def _stage(key: Hashable) -> Hashable:
    return key[0] if isinstance(key, tuple) else key


def _size(result: Any) -> int:
    return int(getattr(result, "nbytes", 64))
