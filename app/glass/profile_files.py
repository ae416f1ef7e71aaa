"""Asking for profile files, reading and writing them."""

import contextlib
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from app.settings import Settings
from shared.atomic import write_text
from shared.errors import ProfileError
from shared.profile import GlassProfile
from shared.profile_file import dump_profile, read_profile

PROFILE_FILTER = "Glass profiles (*.json)"
SUFFIX = "json"
_PURPOSE = "profile"


def ask_open(window: QWidget, settings: Settings) -> Path | None:
    """The profile file that the user chooses."""
    dialog = QFileDialog(window, "Open glass profile", settings.folder(_PURPOSE), PROFILE_FILTER)
    dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
    return _answer(dialog, settings)


def ask_save(window: QWidget, settings: Settings, name: str) -> Path | None:
    """Where to save a profile; the dialog itself asks before a file would be replaced."""
    dialog = QFileDialog(window, "Save glass profile", settings.folder(_PURPOSE), PROFILE_FILTER)
    dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
    dialog.setDefaultSuffix(SUFFIX)
    dialog.selectFile(f"{file_stem(name)}.{SUFFIX}")
    return _answer(dialog, settings)


def save_profile(profile: GlassProfile, path: Path, settings: Settings, *, overwrite: bool) -> None:
    """Write a profile, whole or not at all, and remember where. Raises OutputError, WriteError."""
    write_text(dump_profile(profile), path, overwrite=overwrite)
    settings.add_profile(path.resolve())


def open_profile(path: Path, settings: Settings) -> GlassProfile:
    """Read a profile and remember where it is. Raises ProfileError."""
    profile = read_profile(path)
    settings.add_profile(path.resolve())
    return profile


def known_profiles(settings: Settings) -> list[GlassProfile]:
    """The profiles that were used last; files that are gone or damaged are passed over."""
    found: list[GlassProfile] = []
    for path in settings.profiles:
        with contextlib.suppress(ProfileError):
            profile = read_profile(path)
            if profile not in found:
                found.append(profile)
    return found


def file_stem(name: str) -> str:
    """A file's name for a profile: what every system takes, in small letters."""
    plain = "".join(c if c.isalnum() else " " for c in name.lower())
    return "-".join(plain.split())[:60] or "glass-profile"


def _answer(dialog: QFileDialog, settings: Settings) -> Path | None:
    accepted = dialog.exec()
    chosen = Path(dialog.selectedFiles()[0]) if accepted else None
    dialog.deleteLater()
    if chosen is not None:
        settings.set_folder(_PURPOSE, chosen.parent)
    return chosen
