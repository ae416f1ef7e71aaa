"""Renders the panes away from the window's thread: a queue of one, numbered requests.

1. The window asks; a request that waits is replaced by a newer one.
2. The worker answers a request with tones and, where pixels show, a quick screen.
3. Unless a newer request waits, it then computes the whole plate and answers with its very dots.
4. An answer carries its number; the window drops what belongs to another photo.
"""

import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

import attrs
from PySide6.QtCore import QObject, QThread, Signal

from app.failures import sentence_of
from shared.errors import Cancelled
from shared.profile import GENERIC, GlassProfile
from shared.recipe import Output, Recipe

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from engine.flow import Flow, Prepared
    from engine.grid import Grid
    from engine.view import Picture

_KEPT_PLATES = 2


@attrs.frozen(eq=False)
class PaneWish:
    """What one pane wants to show."""

    recipe: Recipe
    stage: str
    grid: "Grid"


@attrs.frozen(eq=False)
class Request:
    """What the window wants to show. `compare` names two panes to hold against each other."""

    number: int
    prepared: "Prepared"
    panes: dict[int, PaneWish]
    difference: bool = False
    profile: GlassProfile = GENERIC
    report: Recipe | None = None
    """A take of which the glass's report is wanted as well."""


@attrs.frozen(eq=False)
class Answer:
    """The pictures of a request."""

    request: Request
    pictures: "dict[int, Picture]"
    difference: "NDArray[np.uint8] | None"
    final: bool


class Renderer(QObject):
    """Owns the worker thread. `ask` from the window's thread; listen to `answered`."""

    answered = Signal(object)
    reported = Signal(object)
    """A GlassReport, once the panes have what they want."""
    failed = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._worker = _Worker(self)
        self._worker.start()

    def ask(self, request: Request) -> None:
        """Replace whatever waits by this request."""
        self._worker.put(request)

    def stop(self) -> None:
        """End the worker; returns when it has ended."""
        self._worker.put(None)
        self._worker.wait()


class _Worker(QThread):
    def __init__(self, renderer: Renderer) -> None:
        super().__init__(renderer)
        self.setObjectName("renderer")
        self._renderer = renderer
        self._changed = threading.Condition()
        self._waiting: Request | None = None
        self._ended = False
        self._flow: Flow | None = None
        self._plates: OrderedDict[Recipe, NDArray[np.uint8]] = OrderedDict()

    def put(self, request: Request | None) -> None:
        with self._changed:
            self._waiting = request
            self._ended = self._ended or request is None
            self._changed.notify()

    def run(self) -> None:
        while (request := self._take()) is not None:
            try:
                self._serve(request)
            except Cancelled:
                continue
            except Exception as error:  # a worker must never die silently: the window tells
                self._renderer.failed.emit(sentence_of(error))

    def _take(self) -> Request | None:
        with self._changed:
            while self._waiting is None and not self._ended:
                self._changed.wait()
            request, self._waiting = self._waiting, None
            return None if self._ended else request

    def _serve(self, request: Request) -> None:
        flow = self._flow_of(request.prepared, request.profile)
        self._touch_plates(request)
        pending = [w for w in request.panes.values() if self._needs_plate(w)]
        self._answer(request, flow, final=not pending)
        if pending:
            for wish in pending:
                self._burn(flow, wish.recipe)
            self._answer(request, flow, final=True)
        self._report(request, flow)

    def _report(self, request: Request, flow: "Flow") -> None:
        self._stop_when_asked(1.0)
        if request.report is not None:
            from engine.glass_report import glass_report

            self._renderer.reported.emit(glass_report(flow, request.report))

    def _flow_of(self, prepared: "Prepared", profile: GlassProfile) -> "Flow":
        from engine.flow import Flow

        if self._flow is None or self._flow.prepared is not prepared:
            self._flow = Flow(prepared, profile)
            self._plates.clear()
        if self._flow.profile != profile:
            self._flow.profile = profile
            self._plates.clear()
        return self._flow

    def _touch_plates(self, request: Request) -> None:
        """Those of the request are the last to be dropped."""
        for wish in request.panes.values():
            if (key := _plate_key(wish.recipe)) in self._plates:
                self._plates.move_to_end(key)

    def _needs_plate(self, wish: PaneWish) -> bool:
        from engine.screens import fits_windows

        pixels_show = wish.grid.pitch_mm == wish.recipe.plate.pitch_mm
        return (
            pixels_show
            and wish.stage in ("plate", "proof")
            and not fits_windows(wish.recipe.screen)
            and _plate_key(wish.recipe) not in self._plates
        )

    def _burn(self, flow: "Flow", recipe: Recipe) -> None:
        key = _plate_key(recipe)
        if key in self._plates:
            return
        from engine.plate_bitmap import burn

        self._plates[key] = burn(
            flow.prepared, recipe, flow.profile, progress=self._stop_when_asked
        ).dots
        while len(self._plates) > _KEPT_PLATES:
            self._plates.popitem(last=False)

    def _stop_when_asked(self, _: float) -> None:
        if self._waiting is not None or self._ended:
            raise Cancelled

    def _answer(self, request: Request, flow: "Flow", final: bool) -> None:
        from engine import view

        pictures = {}
        for pane, wish in sorted(request.panes.items(), key=_goes_later):
            dots = self._plates.get(_plate_key(wish.recipe))
            pictures[pane] = view.show(flow, wish.recipe, wish.stage, wish.grid, dots)
        held = view.difference(pictures[0].look, pictures[1].look) if request.difference else None
        self._renderer.answered.emit(Answer(request, pictures, held, final))


def _goes_later(pane: tuple[int, PaneWish]) -> bool:
    """The look can be cut out of the larger look that plate and proof need, not the reverse."""
    return pane[1].stage in ("photo", "look")


def _plate_key(recipe: Recipe) -> Recipe:
    """The recipe without what does not change the dots."""
    return attrs.evolve(recipe, output=Output())
