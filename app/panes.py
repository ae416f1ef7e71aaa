"""Joins the session, the renderer and the compare: what each pane wants, and what it gets."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage

from app.compare.compare import Compare
from app.compare.frame import Frame
from app.qimage import image_from_array
from app.renderer import Answer, PaneWish, Renderer, Request
from app.session import Session
from shared import units
from shared.recipe import Recipe
from shared.units import percent

if TYPE_CHECKING:
    from engine.view import Picture, Reading

LARGE_PANE_PX = 1_600_000
"""Above this many pixels a pane is drawn at half the fineness while something is dragged."""

EMPTY = "Drop a photo here, or press Ctrl+O to open one"


class Panes(QObject):
    """Asks for pictures whenever anything changes and shows the newest that belong here."""

    shown = Signal(int, object)
    """A pane's number and its Picture."""
    settled = Signal()
    """Every pane shows the final picture of what it wants."""

    def __init__(self, session: Session, compare: Compare, renderer: Renderer) -> None:
        super().__init__(compare)
        self._session = session
        self._compare = compare
        self._renderer = renderer
        self._number = 0
        self._pictures: dict[int, Picture] = {}
        self._recipes: dict[int, Recipe] = {}
        self._shown: dict[int, tuple[str, str]] = {}
        self._oldest = {0: 0, 1: 0}
        self._inches = False
        self.report_wanted = False
        """Whether the glass's report on the active take is wanted with the pictures."""
        compare.set_empty_text(EMPTY)
        session.photo_changed.connect(self._photo_changed)
        session.takes_changed.connect(self.refresh)
        session.gesture_ended.connect(self.refresh)
        compare.request_needed.connect(self.refresh)
        compare.take_chosen.connect(self.refresh)
        compare.stage_chosen.connect(self.refresh)
        compare.active_changed.connect(self.refresh)
        compare.hovered.connect(self._hovered)
        compare.left.connect(self._left)
        renderer.answered.connect(self._answered)

    @property
    def active_take(self) -> str:
        """The take that the bench and the ticket belong to."""
        return self._compare.panes[self._compare.active].take

    def picture(self, pane: int) -> "Picture | None":
        """What a pane shows."""
        return self._pictures.get(pane)

    def show_units(self, inches: bool) -> None:
        """Read places in mm or in inches."""
        self._inches = inches

    def refresh(self) -> None:
        """Ask for what the panes want to show now."""
        if self._session.prepared is None:
            return
        plate = self._session.recipe(self.active_take).plate
        self._compare.viewport.set_plate(plate.width_mm, plate.height_mm, plate.pitch_mm)
        self._compare.set_margin_mm(plate.margin_mm)
        wishes = {pane: self._wish(pane) for pane in (0, 1)}
        difference = self._compare.mode == "difference"
        if difference:
            wishes[1] = PaneWish(wishes[1].recipe, wishes[1].stage, wishes[0].grid)
        self._number += 1
        for pane, wish in wishes.items():
            shown = (self._compare.panes[pane].take, wish.stage)
            if self._shown.get(pane) != shown:
                self._shown[pane], self._oldest[pane] = shown, self._number
            self._compare.set_waiting(pane, True)
        prepared, profile = self._session.prepared, self._session.profile
        report = self._session.recipe(self.active_take) if self.report_wanted else None
        self._renderer.ask(Request(self._number, prepared, wishes, difference, profile, report))

    def _wish(self, pane: int) -> PaneWish:
        from engine.grid import window

        shown = self._compare.panes[pane]
        recipe = self._session.recipe(shown.take)
        view = self._compare.view(pane, mirrored=_mirrored(recipe, shown.stage))
        across, down = view.visible_size
        dragged = self._session.gesture
        coarse = 2.0 if dragged and across * down > LARGE_PANE_PX else 1.0
        pitch = max(recipe.plate.pitch_mm, coarse / view.scale)
        return PaneWish(
            recipe,
            shown.stage,
            window(
                recipe.plate,
                pitch,
                *view.visible_mm,
                draft=dragged is not None and dragged.startswith(("plate", "placement")),
            ),
        )

    def _answered(self, answer: Answer) -> None:
        if answer.request.prepared is not self._session.prepared:
            return
        for pane, picture in answer.pictures.items():
            if answer.request.number >= self._oldest[pane]:
                self._show(pane, answer.request.panes[pane], picture)
        if answer.difference is not None:
            image = image_from_array(answer.difference)
            self._compare.set_difference_frame(_frame(answer.pictures[0], image, False))
        if answer.final and answer.request.number == self._number:
            for pane in answer.pictures:
                self._compare.set_waiting(pane, False)
            self.settled.emit()

    def _show(self, pane: int, wish: PaneWish, picture: "Picture") -> None:
        self._pictures[pane], self._recipes[pane] = picture, wish.recipe
        mirrored = _mirrored(wish.recipe, wish.stage)
        pixels = picture.pixels[:, ::-1] if mirrored else picture.pixels
        image = image_from_array(pixels, picture.tint)
        self._compare.set_frame(pane, _frame(picture, image, mirrored))
        points: tuple[float | None, float | None] = (None, None)
        if wish.stage == "photo":
            points = (wish.recipe.tone.bare_point, wish.recipe.tone.full_point)
        shares = picture.beyond if wish.stage == "photo" else picture.shares
        self._compare.set_histogram(
            pane, picture.histogram.tolist(), shares.bare, shares.full, *points
        )
        origin = self._session.profile.origin
        self._compare.panes[pane].set_caption(_caption(wish, picture, origin))
        self.shown.emit(pane, picture)

    def _photo_changed(self) -> None:
        self._pictures.clear()
        if self._session.prepared is None:
            for pane in (0, 1):
                self._compare.set_frame(pane, None)
                self._compare.panes[pane].histogram.clear()
                self._compare.panes[pane].set_caption("")
            self._compare.set_difference_frame(None)

    def _hovered(self, x_mm: float, y_mm: float) -> None:
        from engine import glass
        from engine.view import read

        for pane, picture in self._pictures.items():
            recipe = self._recipes[pane]
            light = self._session.profile.light
            ends = glass.ends(light, recipe.glass.backing, recipe.plate.mark)
            found = read(picture, x_mm, y_mm, ends)
            shown = self._compare.panes[pane]
            shown.set_readout(self._words(found, x_mm, y_mm) if found else "")
            shown.histogram.set_mark(found.tone if found else None)

    def _words(self, found: "Reading", x_mm: float, y_mm: float) -> str:
        place = f"{x_mm:.1f}, {y_mm:.1f} mm"
        if self._inches:
            across, down = (units.inches_from_mm(v) for v in (x_mm, y_mm))
            place = f"{across:.2f}, {down:.2f} in"
        if found.colour is not None:
            red, green, blue = found.colour
            return f"{place}   R {red} G {green} B {blue}   grey {percent(found.tone)}"
        look, frost = percent(found.look), percent(found.mark)
        return f"{place}   look {look}   L* {found.lightness:.0f}   frost {frost}"

    def _left(self) -> None:
        for pane in self._compare.panes:
            pane.set_readout("")
            pane.histogram.set_mark(None)


def _mirrored(recipe: Recipe, stage: str) -> bool:
    return stage == "plate" and recipe.plate.mirrored


def _frame(picture: "Picture", image: QImage, mirrored: bool) -> Frame:
    grid = picture.grid
    return Frame(
        image,
        grid.left_mm,
        grid.top_mm,
        grid.width_mm,
        grid.height_mm,
        mirrored,
    )


def _caption(wish: PaneWish, picture: "Picture", origin: str) -> str:
    plate = wish.recipe.plate
    if wish.stage == "plate":
        turned = [w for w, on in (("mirrored", plate.mirrored), ("inverted", plate.inverted)) if on]
        facts = ", ".join(turned) or "as from the front"
        return f"{facts}; {_dots(wish, picture)}"
    if wish.stage == "proof":
        return f"{origin}, {_dots(wish, picture)}"
    return ""


def _dots(wish: PaneWish, picture: "Picture") -> str:
    if picture.exact:
        return "dots"
    at_pitch = picture.grid.pitch_mm == wish.recipe.plate.pitch_mm
    return "dots settling" if at_pitch else "tones"
