"""Drags in the panes become placement and areas of the recipe."""

from PySide6.QtCore import QObject

from app.bench.bench import Bench
from app.compare.compare import Compare
from app.panes import Panes
from app.session import Session
from shared.plate import Placement
from shared.recipe import field_info

PLACEMENT = "placement.centre_x"


class Placing(QObject):
    """A drag moves the photo while the step Plate is open, and draws an area while one is asked."""

    def __init__(self, session: Session, compare: Compare, panes: Panes, bench: Bench) -> None:
        super().__init__(compare)
        self._session = session
        self._compare = compare
        self._panes = panes
        self._bench = bench
        self._area_key: str | None = None
        bench.step_opened.connect(self._step_opened)
        bench.region_wanted.connect(self._area_wanted)
        compare.place_began.connect(lambda: session.begin(PLACEMENT))
        compare.placed_by.connect(self._move)
        compare.scaled_by.connect(self._scale)
        compare.place_ended.connect(session.finish)
        compare.area_drawn.connect(self._area_drawn)
        compare.tool_left.connect(self._tool_left)

    def _step_opened(self, step: str) -> None:
        self._area_key = None
        self._bench.end_region()
        self._compare.set_tool("place" if step == "plate" else "pan")

    def _move(self, dx_mm: float, dy_mm: float) -> None:
        prepared = self._session.prepared
        if prepared is None:
            return
        from engine.placement import moved

        recipe = self._session.recipe(self._panes.active_take)
        photo = prepared.photo
        self._set(moved(recipe.plate, recipe.placement, photo.rows, photo.columns, dx_mm, dy_mm))

    def _scale(self, factor: float) -> None:
        info = field_info("placement.scale")
        placement = self._session.recipe(self._panes.active_take).placement
        scale = min(max(placement.scale * factor, info.low), info.high)
        self._session.edit(self._panes.active_take, {"placement.scale": scale}, "Scale the photo")

    def _set(self, placement: Placement) -> None:
        values = {
            "placement.centre_x": placement.centre_x,
            "placement.centre_y": placement.centre_y,
        }
        self._session.edit(self._panes.active_take, values, "Move the photo")

    def _area_wanted(self, key: str, on: bool) -> None:
        if on:
            self._area_key = key
            self._compare.set_tool("area")
        elif self._area_key is not None:
            self._area_key = None
            self._compare.set_tool("pan")

    def _area_drawn(self, left: float, top: float, right: float, bottom: float) -> None:
        key, prepared = self._area_key, self._session.prepared
        if key is None or prepared is None:
            return
        from engine.placement import area_on_photo

        take = self._panes.active_take
        recipe, photo = self._session.recipe(take), prepared.photo
        area = area_on_photo(
            recipe.plate,
            recipe.placement,
            photo.rows,
            photo.columns,
            (left, top, right, bottom),
        )
        if area is not None:
            self._session.edit(take, {key: area})
        self._bench.end_region()

    def _tool_left(self) -> None:
        self._area_key = None
        self._bench.end_region()
