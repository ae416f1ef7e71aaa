"""The menus and their keys, as one readable list."""

from collections.abc import Callable

import attrs
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

Keys = QKeySequence.StandardKey | str | None
_REDO = ("Ctrl+Shift+Z", "Ctrl+Y")
"""Both are usual; systems name one or the other."""


@attrs.frozen
class Command:
    """One entry of a menu; an empty name is a line."""

    name: str = ""
    keys: Keys = None
    run: Callable[[], object] | None = None


LINE = Command()


class Menus:
    """Builds the menu bar and keeps the actions by name."""

    def __init__(self, window: QMainWindow) -> None:
        self._window = window
        self.actions: dict[str, QAction] = {}

    def add(self, title: str, commands: list[Command]) -> QMenu:
        """One menu."""
        menu = self._window.menuBar().addMenu(title)
        self.fill(menu, commands)
        return menu

    def fill(self, menu: QMenu, commands: list[Command]) -> None:
        """Put commands into a menu."""
        for command in commands:
            if not command.name:
                menu.addSeparator()
                continue
            action = QAction(command.name, self._window)
            action.setShortcuts(_sequences(command.keys))
            if command.run is not None:
                action.triggered.connect(lambda _=False, run=command.run: run())
            menu.addAction(action)
            self.actions[command.name] = action

    def bound_keys(self) -> list[tuple[str, str]]:
        """Every key that a menu binds, with what it does."""
        return [
            (" or ".join(native(keys) for keys in action.shortcuts()), plain(name))
            for name, action in self.actions.items()
            if action.shortcuts()
        ]


def _sequences(keys: Keys) -> list[QKeySequence]:
    if keys is None:
        return []
    if keys is QKeySequence.StandardKey.Redo:
        return [QKeySequence(text) for text in _REDO]
    return [QKeySequence(keys)]


def native(keys: QKeySequence) -> str:
    """A key as it is written on this system's keyboards."""
    return keys.toString(QKeySequence.SequenceFormat.NativeText)


def plain(name: str) -> str:
    """A menu text without its access key and dots."""
    return name.replace("&", "").removesuffix("...")


def shown(text: str) -> str:
    """A text of people's own, such as a file's name, as a menu shows it unchanged."""
    return text.replace("&", "&&")
