"""The session: the photo, the two takes and their history. The only mutable state."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import attrs
from PySide6.QtCore import QObject, Signal

from shared.errors import RecipeError
from shared.profile import GENERIC, GlassProfile
from shared.recipe import GROUPS, Recipe, default_of, field_info

if TYPE_CHECKING:
    from engine.flow import Prepared

TAKES = ("A", "B")
_MOST_STEPS = 500
_MOST_PHOTOS = 3
"""Photos that the history keeps in memory; a large one takes hundreds of megabytes."""

PhotoKey = tuple[str | None, str]
"""Where a photo lies, and its fingerprint."""


@attrs.frozen(eq=False)
class State:
    """One moment of the session."""

    prepared: "Prepared | None"
    takes: Mapping[str, Recipe]
    profile: GlassProfile = GENERIC


@attrs.frozen(eq=False)
class Step:
    """A moment and what led to it."""

    name: str
    state: State


@attrs.define
class _Gesture:
    """A drag or a held key on one field, and what its edits have done to the history."""

    key: str
    step: Step | None = None
    """The step that its edits are gathered in, once there is one."""
    ahead: tuple[Step, ...] = ()
    """The steps that could be done again before it."""


class Session(QObject):
    """Every change goes through `_commit`, so every change can be undone."""

    photo_changed = Signal()
    takes_changed = Signal()
    history_changed = Signal()
    gesture_ended = Signal()
    refused = Signal(str, str)
    """A field and the sentence why its value is not acceptable."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._steps = [Step("Start", State(None, {name: Recipe() for name in TAKES}))]
        self._index = 0
        self._saved_photo: PhotoKey | None = None
        self._saved_takes = dict(self.takes)
        self._saved_profile = self.profile
        self._gesture: _Gesture | None = None

    @property
    def prepared(self) -> "Prepared | None":
        """The photo, ready for a flow."""
        return self._state.prepared

    def recipe(self, take: str) -> Recipe:
        """The recipe of take A or B."""
        return self._state.takes[take]

    @property
    def takes(self) -> Mapping[str, Recipe]:
        """Both recipes."""
        return self._state.takes

    @property
    def profile(self) -> GlassProfile:
        """The glass that both takes are made for."""
        return self._state.profile

    @property
    def unsaved(self) -> bool:
        """Whether there is work that is in no file.

        Opening a photo is no work in itself; in a session that was saved it is a change.
        """
        other_photo = self._saved_photo is not None and self._saved_photo != _key(self.prepared)
        other_glass = self._saved_profile != self.profile
        return other_photo or other_glass or self._saved_takes != self.takes

    def mark_saved(self) -> None:
        """Take the present moment as saved; a gesture that goes on makes a step of its own."""
        self._saved_photo, self._saved_takes = _key(self.prepared), dict(self.takes)
        self._saved_profile = self.profile
        if self._gesture is not None:
            self._gesture = _Gesture(self._gesture.key)
        self.history_changed.emit()

    def open_photo(
        self,
        prepared: "Prepared",
        takes: Mapping[str, Recipe] | None = None,
        profile: GlassProfile | None = None,
    ) -> None:
        """A new photo. Without `takes`, style and plate stay and the placement starts afresh."""
        kept = {
            name: attrs.evolve(recipe, placement=Recipe().placement).changed(grey__area=None)
            for name, recipe in self._state.takes.items()
        }
        name = f"Open {prepared.photo.name}"
        state = State(prepared, dict(takes or kept), profile or self.profile)
        self._commit(name, state)

    def reread(self, prepared: "Prepared", takes: Mapping[str, Recipe]) -> None:
        """The same photo read in another way, as a part of the step that asked for it."""
        before = self._state
        state = attrs.evolve(before, prepared=prepared, takes=dict(takes))
        self._steps[self._index] = Step(self._steps[self._index].name, state)
        self._forget_photos()
        self._announce(before)

    def begin(self, key: str) -> None:
        """A gesture starts: until `finish`, all edits are one step."""
        self._gesture = _Gesture(key)

    def finish(self) -> None:
        """The gesture ends; one that ends where it began leaves no step."""
        gesture, self._gesture = self._gesture, None
        if gesture is not None and gesture.step is self._steps[self._index]:
            self._drop_if_empty(gesture)
        self.gesture_ended.emit()

    @property
    def gesture(self) -> str | None:
        """The field that is being dragged or held now."""
        return self._gesture.key if self._gesture else None

    def edit(self, take: str, values: Mapping[str, Any], name: str = "") -> None:
        """Change fields (`group.field`) of a take; emits `refused` when a value does not fit."""
        key = next(iter(values))
        try:
            recipe = self.recipe(take).with_values(dict(values))
        except RecipeError as error:
            self.refused.emit(key, str(error))
            return
        self.set_recipe(take, recipe, name or f"{field_info(key).label} in {take}")

    def set_recipe(self, take: str, recipe: Recipe, name: str) -> None:
        """Give a take another recipe."""
        if recipe == self.recipe(take):
            return
        state = attrs.evolve(self._state, takes={**self._state.takes, take: recipe})
        gesture = self._gesture
        if gesture is not None and gesture.step is self._steps[self._index]:
            before = self._state
            gesture.step = self._steps[self._index] = Step(name, state)
            self._announce(before)
            return
        ahead = tuple(self._steps[self._index + 1 :])
        self._commit(name, state)
        if gesture is not None:
            gesture.step, gesture.ahead = self._steps[self._index], ahead

    def copy_take(self, source: str, target: str) -> None:
        """Make a take the same as the other."""
        self.set_recipe(target, self.recipe(source), f"Copy {source} to {target}")

    def swap_takes(self) -> None:
        """Let the takes change places."""
        takes = {"A": self.recipe("B"), "B": self.recipe("A")}
        if takes["A"] != takes["B"]:
            self._commit("Swap A and B", attrs.evolve(self._state, takes=takes))

    def set_profile(self, profile: GlassProfile, name: str = "") -> None:
        """Work for another glass, or for what was learnt of it."""
        if profile != self.profile:
            name = name or f"Glass profile {profile.name}"
            self._commit(name, attrs.evolve(self._state, profile=profile))

    def reset(self, take: str, groups: Iterable[str], name: str) -> None:
        """Bring groups of fields back to their defaults."""
        fresh = attrs.evolve(self.recipe(take), **{group: GROUPS[group]() for group in groups})
        self.set_recipe(take, fresh, f"Reset {name} in {take}")

    def reset_field(self, take: str, key: str) -> None:
        """Bring one field back to its default."""
        self.edit(take, {key: default_of(key)}, f"Reset {field_info(key).label} in {take}")

    @property
    def undo_name(self) -> str | None:
        """What undo would take back."""
        return self._steps[self._index].name if self._index > 0 else None

    @property
    def redo_name(self) -> str | None:
        """What redo would do again."""
        ahead = self._index + 1
        return self._steps[ahead].name if ahead < len(self._steps) else None

    def undo(self) -> None:
        """One step back."""
        if self._index > 0:
            self._go(self._index - 1)

    def redo(self) -> None:
        """One step forward."""
        if self._index + 1 < len(self._steps):
            self._go(self._index + 1)

    @property
    def _state(self) -> State:
        return self._steps[self._index].state

    def _commit(self, name: str, state: State) -> None:
        before = self._state
        del self._steps[self._index + 1 :]
        self._steps.append(Step(name, state))
        del self._steps[: max(0, len(self._steps) - _MOST_STEPS - 1)]
        self._index = len(self._steps) - 1
        self._forget_photos()
        self._announce(before)

    def _drop_if_empty(self, gesture: _Gesture) -> None:
        if self._index == 0 or self.takes != self._steps[self._index - 1].state.takes:
            return
        before = self._state
        self._index -= 1
        self._steps[self._index + 1 :] = gesture.ahead
        self._announce(before)

    def _forget_photos(self) -> None:
        """Forget the steps before the last few photos."""
        photos: set[int] = set()
        for index in range(self._index, -1, -1):
            prepared = self._steps[index].state.prepared
            if prepared is not None:
                photos.add(id(prepared))
            if len(photos) > _MOST_PHOTOS:
                del self._steps[: index + 1]
                self._index -= index + 1
                return

    def _go(self, index: int) -> None:
        before = self._state
        self._index = index
        self._announce(before)

    def _announce(self, before: State) -> None:
        if before.prepared is not self._state.prepared:
            self.photo_changed.emit()
        self.takes_changed.emit()
        self.history_changed.emit()


def _key(prepared: "Prepared | None") -> PhotoKey | None:
    if prepared is None:
        return None
    photo = prepared.photo
    return (str(photo.path) if photo.path else None, photo.fingerprint)
