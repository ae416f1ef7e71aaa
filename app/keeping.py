"""Sessions, recipes and pasted pictures on disk."""

from pathlib import Path
from typing import TYPE_CHECKING

import attrs

from app.folders import data_folder
from app.session import TAKES, Session
from shared.atomic import write_atomically, write_text
from shared.errors import OutputError, SessionError
from shared.recipe import Recipe
from shared.recipe_file import SavedSession, dump_recipe, dump_session, load_session

if TYPE_CHECKING:
    from engine.photo import Photo

SESSION_SUFFIX = ".rimetype"


def saved(session: Session) -> SavedSession:
    """The session as it goes into a file."""
    photo = session.prepared.photo if session.prepared else None
    return SavedSession(
        photo_path=str(photo.path.absolute()) if photo and photo.path else None,
        photo_fingerprint=photo.fingerprint if photo else None,
        takes={take: session.recipe(take) for take in TAKES},
        profile=session.profile,
    )


def write_session(session: Session, path: Path) -> None:
    """Save to a file, replacing an earlier save of it; never over the photo.

    Raises OutputError when the place cannot be used and WriteError when the writing failed.
    """
    photo = session.prepared.photo if session.prepared else None
    write_text(
        dump_session(saved(session)),
        path,
        overwrite=True,
        photo_path=photo.path if photo else None,
    )


def read_session(path: Path) -> SavedSession:
    """A session file; a photo path that is not absolute is meant from the file's folder."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise SessionError(f"{path.name} cannot be read; choose another session.") from None
    found = load_session(text)
    if found.photo_path is None:
        return found
    return attrs.evolve(found, photo_path=str(path.absolute().parent / found.photo_path))


def write_recipe(recipe: Recipe, path: Path, *, overwrite: bool) -> None:
    """Save a recipe under its file's name; raises as `write_session` does."""
    write_text(dump_recipe(recipe, path.stem), path, overwrite=overwrite)


def keep_pasted(photo: "Photo", data: bytes) -> "Photo":
    """Give a pasted picture, decoded from `data`, a file by which a session can find it again.

    Raises OutputError or WriteError when there is no room for it.
    """
    path = data_folder() / "pasted" / f"pasted-{photo.fingerprint[:12]}.png"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        there = path.read_bytes() if path.exists() else None
    except OSError:
        raise OutputError(
            f"The pasted picture cannot be kept in {path.parent}; save it and open the file."
        ) from None
    if there != data:
        write_atomically(path, data, overwrite=True)
    return attrs.evolve(photo, path=path, name=path.name)
