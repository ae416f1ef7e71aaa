"""What Rimetype remembers of the person from one start to the next. Not part of any session."""

import contextlib
import math
from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings

from app.folders import config_folder
from shared.limits import DEFAULT_LIMIT_MP

MOST_RECENT = 10
LEAST_LIMIT_MP = 16.0
GREATEST_LIMIT_MP = 2000.0


class Settings:
    """Typed access to the preferences file; a damaged value counts as absent."""

    def __init__(self) -> None:
        path = config_folder() / "preferences.ini"
        with contextlib.suppress(OSError):  # then nothing is remembered
            path.parent.mkdir(parents=True, exist_ok=True)
        self._store = QSettings(str(path), QSettings.Format.IniFormat)

    @property
    def inches(self) -> bool:
        """Whether sizes are shown in inches."""
        return str(self._store.value("units", "mm")) == "in"

    @inches.setter
    def inches(self, on: bool) -> None:
        self._store.setValue("units", "in" if on else "mm")

    @property
    def limit_mp(self) -> float:
        """Largest photo to open, in megapixels."""
        try:
            value = float(str(self._store.value("limit_mp", DEFAULT_LIMIT_MP)))
        except ValueError:
            return DEFAULT_LIMIT_MP
        if math.isnan(value):
            return DEFAULT_LIMIT_MP
        return min(max(value, LEAST_LIMIT_MP), GREATEST_LIMIT_MP)

    @limit_mp.setter
    def limit_mp(self, value: float) -> None:
        self._store.setValue("limit_mp", value)

    @property
    def hint_wanted(self) -> bool:
        """Whether the line that leads through the steps is shown."""
        return str(self._store.value("hint", "yes")) == "yes"

    @hint_wanted.setter
    def hint_wanted(self, on: bool) -> None:
        self._store.setValue("hint", "yes" if on else "no")

    @property
    def recent(self) -> list[Path]:
        """Photos and sessions opened last, the newest first."""
        return self._paths("recent")

    def add_recent(self, path: Path) -> None:
        """Put a file at the top of the recent list."""
        self._write_paths("recent", [path, *(p for p in self.recent if p != path)])

    def clear_recent(self, path: Path | None = None) -> None:
        """Forget one file, or all."""
        kept = [] if path is None else [p for p in self.recent if p != path]
        self._write_paths("recent", kept)

    @property
    def profiles(self) -> list[Path]:
        """Files of glass profiles that were used last, the newest first."""
        return self._paths("profiles")

    def add_profile(self, path: Path) -> None:
        """Put a file at the top of the profiles."""
        self._write_paths("profiles", [path, *(p for p in self.profiles if p != path)])

    def folder(self, purpose: str) -> str:
        """The folder used last for `photo`, `recipe`, `session` or `output`."""
        return str(self._store.value(f"folder/{purpose}", str(Path.home())))

    def set_folder(self, purpose: str, folder: Path) -> None:
        """Remember a folder."""
        self._store.setValue(f"folder/{purpose}", str(folder))

    def geometry(self) -> QByteArray | None:
        """Where the window stood when it was closed."""
        value = self._store.value("window/geometry")
        return value if isinstance(value, QByteArray) else None

    def set_geometry(self, geometry: QByteArray) -> None:
        """Remember where the window stands."""
        self._store.setValue("window/geometry", geometry)

    def sync(self) -> None:
        """Write to disk now."""
        self._store.sync()

    def _paths(self, name: str) -> list[Path]:
        count = self._store.beginReadArray(name)
        paths = []
        for index in range(count):
            self._store.setArrayIndex(index)
            paths.append(Path(str(self._store.value("path", ""))))
        self._store.endArray()
        return paths[:MOST_RECENT]

    def _write_paths(self, name: str, paths: list[Path]) -> None:
        paths = paths[:MOST_RECENT]
        self._store.remove(name)
        self._store.beginWriteArray(name, len(paths))
        for index, path in enumerate(paths):
            self._store.setArrayIndex(index)
            self._store.setValue("path", str(path))
        self._store.endArray()
