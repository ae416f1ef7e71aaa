"""What the File menu does: photos, sessions and recipes, by dialog; nothing is lost unasked."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QMimeData, QObject, Signal
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app import keeping
from app.dropping import RECIPE_SUFFIX, openable
from app.opening import PHOTO_FILTER, Opener, local_paths
from app.session import Session
from app.settings import Settings
from shared.errors import RimetypeError
from shared.recipe import Recipe
from shared.recipe_file import SavedSession

SESSION_FILTER = f"Rimetype session (*{keeping.SESSION_SUFFIX})"
RECIPE_FILTER = f"Rimetype recipe (*{RECIPE_SUFFIX})"


class Files(QObject):
    """The session's file, if it has one, and the dialogs."""

    told = Signal(str)
    failed = Signal(str)
    asked = Signal(str, str, object)
    """A sentence, and by a button's words what could be done about it."""
    renamed = Signal()
    restored = Signal()
    """A saved session is back."""

    def __init__(
        self, session: Session, opener: Opener, settings: Settings, window: QWidget
    ) -> None:
        super().__init__(window)
        self._session = session
        self._opener = opener
        self._settings = settings
        self._window = window
        self._path: Path | None = None
        self._photo_path: Path | None = None
        session.photo_changed.connect(self.renamed)

    @property
    def path(self) -> Path | None:
        """The session's file; another photo than the one that was saved has none yet."""
        return self._path if self._photo_path == self._photo_now() else None

    def _photo_now(self) -> Path | None:
        prepared = self._session.prepared
        return prepared.photo.path if prepared else None

    def _name(self, path: Path | None) -> None:
        self._path, self._photo_path = path, self._photo_now()
        self.renamed.emit()

    def open_first(self, data: QMimeData, take: str) -> list[Path]:
        """Open the first usable one of dropped files; returns what could have been opened."""
        paths = openable(data)
        if not paths:
            return paths
        first, count = paths[0], len(local_paths(data))

        def say_which() -> None:
            if count > 1:
                self.told.emit(f"Of {count} files that were dropped, {first.name} is opened.")

        if first.suffix.lower() == RECIPE_SUFFIX:
            self.load_recipe(take, first)
            say_which()
        else:
            self.open_any(first, say_which)
        return paths

    def open_any(self, path: Path, then: Callable[[], None] | None = None) -> None:
        """Open a photo (and do `then`) or, by its suffix, a session."""
        if path.suffix.lower() == keeping.SESSION_SUFFIX:
            self.open_session(path)
        else:
            self._settings.set_folder("photo", path.parent)
            self._opener.open_path(path, then=then)

    def choose_photo(self) -> None:
        """Ask for a photo."""
        path = self._ask_open("Open photo", "photo", PHOTO_FILTER)
        if path is not None:
            self.open_any(path)

    def choose_session(self) -> None:
        """Ask for a session."""
        path = self._ask_open("Open session", "session", SESSION_FILTER)
        if path is not None:
            self.open_session(path)

    def open_session(self, path: Path) -> None:
        """Open a session, after asking about unsaved work."""
        if not self.may_leave():
            return
        try:
            saved = keeping.read_session(path)
        except RimetypeError as error:
            self.failed.emit(str(error))
            return
        self._settings.set_folder("session", path.parent)
        self._settings.add_recent(path)
        self.restore(saved, path)

    def restore(self, saved: SavedSession, path: Path | None) -> None:
        """Bring a saved session back; without a path it counts as unsaved."""
        self._session.set_profile(saved.profile, "Open session, glass")
        if saved.photo_path is None:
            for take, recipe in saved.takes.items():
                self._session.set_recipe(take, recipe, f"Open session, take {take}")
            self.restored.emit()
            return
        photo = _found(saved, path)
        if photo is not None:
            self._open_photo_of(saved, path, photo)
            return
        name = Path(saved.photo_path).name
        self.asked.emit(
            f"The session's photo {name} is not where it was; show where it is now.",
            "Find the photo...",
            lambda: self._find_photo_of(saved, path, name),
        )

    def _find_photo_of(self, saved: SavedSession, path: Path | None, name: str) -> None:
        photo = self._ask_open(f"Find {name}", "photo", PHOTO_FILTER)
        if photo is not None:
            self._open_photo_of(saved, path, photo)

    def _open_photo_of(self, saved: SavedSession, path: Path | None, photo: Path) -> None:
        self._opener.open_path(photo, saved.takes, lambda: self._restored(saved, path))

    def _restored(self, saved: SavedSession, path: Path | None) -> None:
        prepared = self._session.prepared
        assert prepared is not None
        self.restored.emit()
        if path is not None and str(prepared.photo.path) == saved.photo_path:
            self._session.mark_saved()
        self._name(path)
        if prepared.photo.fingerprint != saved.photo_fingerprint:
            self.failed.emit(
                f"{prepared.photo.name} is not the same picture as when this session was saved; "
                "look at both takes again."
            )

    def save_session(self) -> bool:
        """Save to the session's file, asking for one the first time."""
        return self.save_session_as() if self.path is None else self._save_to(self.path)

    def save_session_as(self) -> bool:
        """Save to another file."""
        path = self._ask_save("Save session", "session", SESSION_FILTER, keeping.SESSION_SUFFIX)
        return path is not None and self._save_to(path)

    def _save_to(self, path: Path) -> bool:
        try:
            keeping.write_session(self._session, path)
        except RimetypeError as error:
            self.failed.emit(str(error))
            return False
        self._settings.add_recent(path)
        self._session.mark_saved()
        self._name(path)
        self.told.emit(f"Saved {path.name}.")
        return True

    def load_recipe(self, take: str, path: Path | None = None) -> None:
        """Lay a recipe file over a take."""
        if path is None:
            path = self._ask_open("Load recipe", "recipe", RECIPE_FILTER)
        if path is None:
            return
        from app.making import read_recipe

        try:
            recipe = read_recipe(path, onto=self._session.recipe(take))
        except RimetypeError as error:
            self.failed.emit(str(error))
            return
        self._session.set_recipe(take, recipe, f"Recipe {path.stem} in {take}")

    def save_recipe(self, recipe: Recipe) -> None:
        """Ask for a file and save a recipe."""
        path = self._ask_save("Save recipe", "recipe", RECIPE_FILTER, RECIPE_SUFFIX)
        if path is None:
            return
        try:
            keeping.write_recipe(recipe, path, overwrite=True)
        except RimetypeError as error:
            self.failed.emit(str(error))
            return
        self.told.emit(f"Saved the recipe as {path.name}.")

    def may_leave(self) -> bool:
        """Ask about unsaved work; False when the user wants to stay."""
        if not self._session.unsaved or self._session.prepared is None:
            return True
        name = self.path.name if self.path else f"the work on {self._session.prepared.photo.name}"
        box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Question)
        box.setWindowTitle("Rimetype")
        box.setText(f"Save {name}?")
        box.setInformativeText("Without saving, the changes to both takes are lost.")
        save = box.addButton("Save", QMessageBox.ButtonRole.AcceptRole)
        leave = box.addButton("Don't save", QMessageBox.ButtonRole.DestructiveRole)
        cancel = box.addButton("Cancel", QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(save)
        box.setEscapeButton(cancel)
        box.exec()
        chosen = box.clickedButton()
        box.deleteLater()
        return chosen is leave or (chosen is save and self.save_session())

    def _ask_open(self, title: str, purpose: str, kinds: str) -> Path | None:
        dialog = QFileDialog(self._window, title, self._settings.folder(purpose), kinds)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        return self._answer(dialog, purpose)

    def _ask_save(self, title: str, purpose: str, kinds: str, suffix: str) -> Path | None:
        """The dialog itself asks before a file would be replaced."""
        dialog = QFileDialog(self._window, title, self._settings.folder(purpose), kinds)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(suffix)
        prepared = self._session.prepared
        dialog.selectFile((Path(prepared.photo.name).stem if prepared else "untitled") + suffix)
        return self._answer(dialog, purpose)

    def _answer(self, dialog: QFileDialog, purpose: str) -> Path | None:
        accepted = dialog.exec()
        chosen = Path(dialog.selectedFiles()[0]) if accepted else None
        dialog.deleteLater()
        if chosen is not None:
            self._settings.set_folder(purpose, chosen.parent)
        return chosen


def _found(saved: SavedSession, path: Path | None) -> Path | None:
    """The photo where it was, or beside the session's file."""
    there = Path(saved.photo_path or "")
    if there.exists() or path is None:
        return there if there.exists() else None
    beside = path.parent / there.name
    return beside if beside.exists() else None
