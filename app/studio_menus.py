"""The studio's menus."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QMenu

from app.actions import LINE, Command, Menus, native, shown
from app.bench.steps import STEPS
from app.bench_parts import starting_recipes

if TYPE_CHECKING:
    from app.studio import Studio

STANDARD = QKeySequence.StandardKey


class StudioMenus(QObject):
    """Builds the menus and keeps undo, redo and the recent list true."""

    def __init__(self, studio: "Studio") -> None:
        super().__init__(studio)
        self._studio = studio
        self._menus = Menus(studio)
        self._recent: QMenu | None = None
        self._file()
        self._edit()
        self._takes()
        self._glass()
        self._steps()
        self._help()
        QShortcut("F10", studio).activated.connect(self._open_first)

    def _open_first(self) -> None:
        """The usual key for the menus, by which all others are reached."""
        bar = self._studio.menuBar()
        bar.setActiveAction(bar.actions()[0])

    def bound_keys(self) -> list[tuple[str, str]]:
        """Every key of the menus and of the rows above the panes, with what it does."""
        rows = [
            (native(shortcut.key()), button.text())
            for button in self._studio.compare.tool_row.shortcut_buttons
            for shortcut in button.findChildren(QShortcut)
        ]
        return [*self._menus.bound_keys(), ("F10", "Menus"), *rows]

    def show_history(self) -> None:
        """Name what undo and redo would do."""
        session = self._studio.session
        for action, name in (("&Undo", session.undo_name), ("&Redo", session.redo_name)):
            entry = self._menus.actions[action]
            entry.setEnabled(name is not None)
            entry.setText(f"{action}: {shown(name)}" if name else action)

    def _file(self) -> None:
        studio, files = self._studio, self._studio.files
        menu = self._menus.add(
            "&File",
            [
                Command("&Open photo...", STANDARD.Open, files.choose_photo),
                Command("&Paste photo", STANDARD.Paste, studio.paste),
                Command("Open the &demo portrait", None, studio.open_demo),
                LINE,
                Command("Open &session...", "Ctrl+Shift+O", files.choose_session),
                Command("&Save session", STANDARD.Save, files.save_session),
                Command("Save session &as...", "Ctrl+Shift+S", files.save_session_as),
                LINE,
                Command("Out&put plate...", "Ctrl+E", studio.dialogs.output),
                LINE,
                Command("P&references...", "Ctrl+,", studio.dialogs.preferences),
                Command("&Quit", "Ctrl+Q", studio.close),
            ],
        )
        self._recent = QMenu("Open &recent", studio)
        self._recent.aboutToShow.connect(self._fill_recent)
        menu.insertMenu(self._menus.actions["&Paste photo"], self._recent)

    def _fill_recent(self) -> None:
        assert self._recent is not None
        self._recent.clear()
        for path in self._studio.settings.recent:
            action = self._recent.addAction(shown(f"{path.name}  ({path.parent})"))
            if path.exists():
                action.triggered.connect(self._opening(path))
            else:
                action.setText(shown(f"{path.name}  (not there any more: click to forget)"))
                action.triggered.connect(self._forgetting(path))
        self._recent.addSeparator()
        clear = self._recent.addAction("Clear list")
        clear.setEnabled(bool(self._studio.settings.recent))
        clear.triggered.connect(lambda _: self._studio.settings.clear_recent())

    def _opening(self, path: Path) -> Callable[[], None]:
        return lambda: self._studio.files.open_any(path)

    def _forgetting(self, path: Path) -> Callable[[], None]:
        return lambda: self._studio.settings.clear_recent(path)

    def _edit(self) -> None:
        studio, session = self._studio, self._studio.session
        self._menus.add(
            "&Edit",
            [
                Command("&Undo", STANDARD.Undo, session.undo),
                Command("&Redo", STANDARD.Redo, session.redo),
                LINE,
                Command(
                    "Reset the open &step",
                    "Ctrl+Shift+R",
                    lambda: studio.bench.reset_step_wanted.emit(studio.bench.open_name),
                ),
            ],
        )

    def _takes(self) -> None:
        studio = self._studio
        menu = self._menus.add(
            "&Takes",
            [
                Command("&Copy this take to the other", "Ctrl+Shift+C", self._copy),
                Command("S&wap A and B", "Ctrl+Shift+X", studio.session.swap_takes),
                LINE,
                Command("&Load recipe...", "Ctrl+L", lambda: studio.files.load_recipe(studio.take)),
                Command(
                    "&Save recipe...",
                    "Ctrl+Shift+L",
                    lambda: studio.files.save_recipe(studio.recipe),
                ),
            ],
        )
        starts = menu.addMenu("S&tart from")
        found = starting_recipes().items()
        self._menus.fill(starts, [Command(name, None, self._starting(p)) for name, p in found])

    def _copy(self) -> None:
        take = self._studio.take
        self._studio.session.copy_take(take, "B" if take == "A" else "A")

    def _starting(self, path: Path) -> Callable[[], None]:
        return lambda: self._studio.files.load_recipe(self._studio.take, path)

    def _glass(self) -> None:
        studio = self._studio
        self._menus.add(
            "&Glass",
            [
                Command("&Test strip...", "Ctrl+T", studio.open_strip),
                Command("&Check a finished piece...", None, studio.check_piece),
                LINE,
                Command("&Open glass profile...", None, studio.glass.open),
                Command("&Edit glass profile...", None, studio.glass.edit),
                Command("Co&mpare glass profiles...", None, studio.glass.compare),
                Command("&Save glass profile as...", None, studio.glass.save),
                LINE,
                Command("&Fitted now...", None, studio.dialogs.fitted),
            ],
        )

    def _steps(self) -> None:
        commands = [
            Command(step.label, f"Alt+{number}", self._opens(step.name))
            for number, step in enumerate(STEPS, start=1)
        ]
        other = Command("Work in the other &pane", "F4", self._other_pane)
        self._menus.add("&Steps", [*commands, LINE, other])

    def _opens(self, name: str) -> Callable[[], None]:
        return lambda: self._studio.go_to_step(name)

    def _other_pane(self) -> None:
        compare = self._studio.compare
        compare.set_active(1 - compare.active)

    def _help(self) -> None:
        studio = self._studio
        self._menus.add(
            "&Help",
            [
                Command("&Keys", STANDARD.HelpContents, studio.dialogs.keys),
                Command("What the &fields do", None, studio.dialogs.fields),
                Command("&Before you etch", None, studio.dialogs.cautions),
                LINE,
                Command("Show the &hint line", None, studio.show_hint),
            ],
        )
