"""What held before, so that it can hold again: named states, of which one holds now."""

from typing import Generic, TypeVar

State = TypeVar("State")
_MOST_STEPS = 500


class History(Generic[State]):
    """The first state has no name; each later one is named by what led to it."""

    def __init__(self, first: State) -> None:
        self._steps = [("", first)]
        self._index = 0

    @property
    def now(self) -> State:
        """What holds."""
        return self._steps[self._index][1]

    @property
    def undo_name(self) -> str | None:
        """What undo would take back."""
        return self._steps[self._index][0] if self._index > 0 else None

    @property
    def redo_name(self) -> str | None:
        """What redo would do again."""
        ahead = self._index + 1
        return self._steps[ahead][0] if ahead < len(self._steps) else None

    def commit(self, name: str, state: State) -> None:
        """One step more; what was undone before it is forgotten."""
        del self._steps[self._index + 1 :]
        self._steps.append((name, state))
        del self._steps[: max(0, len(self._steps) - _MOST_STEPS - 1)]
        self._index = len(self._steps) - 1

    def amend(self, state: State) -> None:
        """Another state as a part of the present step."""
        self._steps[self._index] = (self._steps[self._index][0], state)

    def undo(self) -> None:
        """One step back."""
        self._index = max(0, self._index - 1)

    def redo(self) -> None:
        """One step forward."""
        self._index = min(len(self._steps) - 1, self._index + 1)
