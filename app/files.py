"""What the File menu does: photos, sessions and recipes, by dialog; nothing is lost unasked."""

from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app import keeping
from app.making import read_recipe
from app.opening import PHOTO_FILTER, Opener
from app.session import Session
from app.settings import Settings
from shared.errors import RimetypeError
from shared.recipe import Recipe
from shared.recipe_file import SavedSession

SESSION_FILTER = f"Rimetype session (*{keeping.SESSION_SUFFIX})"
RECIPE_FILTER = "Rimetype recipe (*.json)"


class Files(QObject):
    """The session's file, if it has one, and the dialogs."""

    told = Signal(str)
    failed = Signal(str)
    renamed = Signal()

    def __init__(
        self, session: Session, opener: Opener, settings: Settings, window: QWidget
    ) -> None:
        super().__init__(window)
        self._session = session
        self._opener = opener
        self._settings = settings
        self._window = window
        self.path: Path | None = None

    def open_any(self, path: Path) -> None:
        """Open a photo or, by its suffix, a session."""
        if path.suffix == keeping.SESSION_SUFFIX:
            self.open_session(path)
        else:
            self._settings.set_folder("photo", path.parent)
            self._opener.open_path(path)

    def choose_photo(self) -> None:
        """Ask for a photo."""
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Open photo", self._settings.folder("photo"), PHOTO_FILTER
        )
        if name:
            self.open_any(Path(name))

    def choose_session(self) -> None:
        """Ask for a session."""
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Open session", self._settings.folder("session"), SESSION_FILTER
        )
        if name:
            self.open_session(Path(name))

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
        photo = _found(saved, path)
        if photo is None:
            self.failed.emit(
                f"The session's photo {saved.photo_path or ''} is not there any more; "
                "open it from where it is now, and the recipes will be kept."
            )
            for take, recipe in saved.takes.items():
                self._session.set_recipe(take, recipe, "Open session")
            return

        self._opener.open_path(photo, saved.takes, lambda: self._restored(saved, path))

    def _restored(self, saved: SavedSession, path: Path | None) -> None:
        self.path = path
        if path is not None:
            self._session.mark_saved()
        prepared = self._session.prepared
        if prepared is not None and prepared.photo.fingerprint != saved.photo_fingerprint:
            self.failed.emit("The photo has changed since this session was saved.")
        self.renamed.emit()

    def save_session(self) -> bool:
        """Save to the session's file, asking for one the first time."""
        return self.save_session_as() if self.path is None else self._save_to(self.path)

    def save_session_as(self) -> bool:
        """Save to another file."""
        name, _ = QFileDialog.getSaveFileName(
            self._window,
            "Save session",
            str(Path(self._settings.folder("session")) / self._proposed(keeping.SESSION_SUFFIX)),
            SESSION_FILTER,
        )
        return bool(name) and self._save_to(_with_suffix(name, keeping.SESSION_SUFFIX))

    def _save_to(self, path: Path) -> bool:
        try:
            keeping.write_session(self._session, path)
        except RimetypeError as error:
            self.failed.emit(str(error))
            return False
        self.path = path
        self._settings.set_folder("session", path.parent)
        self._settings.add_recent(path)
        self._session.mark_saved()
        self.renamed.emit()
        self.told.emit(f"Saved {path.name}.")
        return True

    def load_recipe(self, take: str, path: Path | None = None) -> None:
        """Lay a recipe file over a take."""
        if path is None:
            name, _ = QFileDialog.getOpenFileName(
                self._window, "Load recipe", self._settings.folder("recipe"), RECIPE_FILTER
            )
            if not name:
                return
            path = Path(name)
            self._settings.set_folder("recipe", path.parent)
        try:
            recipe = read_recipe(path, onto=self._session.recipe(take))
        except RimetypeError as error:
            self.failed.emit(str(error))
            return
        self._session.set_recipe(take, recipe, f"Recipe {path.stem} in {take}")

    def save_recipe(self, recipe: Recipe) -> None:
        """Ask for a file and save a recipe."""
        name, _ = QFileDialog.getSaveFileName(
            self._window,
            "Save recipe",
            str(Path(self._settings.folder("recipe")) / self._proposed(".json")),
            RECIPE_FILTER,
        )
        if not name:
            return
        path = _with_suffix(name, ".json")
        try:
            keeping.write_recipe(recipe, path, overwrite=True)
        except RimetypeError as error:
            self.failed.emit(str(error))
            return
        self._settings.set_folder("recipe", path.parent)
        self.told.emit(f"Saved the recipe as {path.name}.")

    def may_leave(self) -> bool:
        """Ask about unsaved work; False when the user wants to stay."""
        if not self._session.unsaved or self._session.prepared is None:
            return True
        name = self.path.name if self.path else self._session.prepared.photo.name
        box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Question)
        box.setWindowTitle("Rimetype")
        box.setText(f"Save the changes to {name}?")
        box.setInformativeText("Without saving, both takes are lost.")
        save = box.addButton("Save", QMessageBox.ButtonRole.AcceptRole)
        leave = box.addButton("Don't save", QMessageBox.ButtonRole.DestructiveRole)
        cancel = box.addButton("Cancel", QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(save)
        box.setEscapeButton(cancel)
        box.exec()
        chosen = box.clickedButton()
        box.deleteLater()
        return chosen is leave or (chosen is save and self.save_session())

    def _proposed(self, suffix: str) -> str:
        prepared = self._session.prepared
        stem = Path(prepared.photo.name).stem if prepared else "untitled"
        return stem + suffix


def _found(saved: SavedSession, path: Path | None) -> Path | None:
    """The photo where it was, or beside the session's file."""
    if saved.photo_path is None:
        return None
    there = Path(saved.photo_path)
    if there.exists() or path is None:
        return there if there.exists() else None
    beside = path.parent / there.name
    return beside if beside.exists() else None


def _with_suffix(name: str, suffix: str) -> Path:
    return Path(name if name.endswith(suffix) else name + suffix)
