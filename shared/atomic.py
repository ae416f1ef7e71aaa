"""Files are written whole or not at all, never over a file by accident, never over the photo."""

import contextlib
import errno
import os
import stat
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path

import attrs

from shared import drafts
from shared.errors import OutputError, RimetypeError, WriteError


@attrs.frozen
class NewFile:
    """A file that is to be written."""

    path: Path
    data: bytes
    check: Callable[[Path], None] | None = None
    """Called with a path at which the new bytes can be read; what it raises ends the writing."""


def write_atomically(
    path: Path,
    data: bytes,
    *,
    overwrite: bool,
    photo_path: Path | None = None,
    check: Callable[[Path], None] | None = None,
) -> None:
    """Write a file so that at every moment the old one or the new one is there whole.

    The bytes go to a file beside the target, are brought to the disk, read back and compared;
    only then does the file take its name. Whatever fails, the old file stays as it was and
    nothing is left over. Where the system offers files without a name, even a program killed in
    the middle leaves nothing behind.

    overwrite: whether a file of that name may be replaced. If not, one that appears in the last
        moment is safe too. A symbolic link is followed and stays a link.
    photo_path: a file that is never written over, by whatever name or link it is reached.
    check: called with a path at which the new bytes can be read; what it raises ends the writing.

    Raises OutputError when the place cannot be used and WriteError when the writing failed.
    """
    with _plain_sentences(path):
        target = allowed_target(path, overwrite=overwrite, photo_path=photo_path)
        file = NewFile(path, data, check)
        with _checked_draft(file, target.parent) as (draft, descriptor):
            if overwrite:
                drafts.keep_permissions(draft, target)
                drafts.replace(draft, descriptor, target)
            else:
                drafts.place_new(draft, descriptor, target)
        drafts.sync_folder(target.parent)


def write_together(
    files: Iterable[NewFile], *, overwrite: bool, photo_path: Path | None = None
) -> None:
    """Write files of which each is worth something only with the others: all of them or none.

    As `write_atomically`, but no file takes its name before the last one is checked. Then the old
    files step aside, the last first, and the new ones take their names in order, so that where the
    last file is there, all are. If one of them fails, the old ones come back. Each file is asked
    for when the ones before it are on the disk.

    Raises OutputError when a place cannot be used and WriteError when the writing failed.
    """
    with contextlib.ExitStack() as open_drafts:
        ready = []
        for file in files:
            with _plain_sentences(file.path):
                target = allowed_target(file.path, overwrite=overwrite, photo_path=photo_path)
                draft = open_drafts.enter_context(_checked_draft(file, target.parent))
                drafts.keep_permissions(draft[0], target)
                ready.append((file.path, *draft, target))
        with contextlib.ExitStack() as undo:
            old = _step_aside(ready, undo) if overwrite else []
            for path, draft_path, descriptor, target in ready:
                with _plain_sentences(path):
                    drafts.place_new(draft_path, descriptor, target)
                    undo.callback(target.unlink)
            undo.pop_all()
        for aside in old:
            with contextlib.suppress(OSError):
                aside.unlink()
        for folder in {target.parent for *_, target in ready}:
            drafts.sync_folder(folder)


def write_text(
    text: str, path: Path, *, overwrite: bool = False, photo_path: Path | None = None
) -> None:
    """Write text in UTF-8, whole or not at all.

    Raises OutputError when the place cannot be used and WriteError when the writing failed.
    """
    write_atomically(path, text.encode(), overwrite=overwrite, photo_path=photo_path)


def allowed_target(path: Path, *, overwrite: bool, photo_path: Path | None = None) -> Path:
    """The file that writing to `path` would make or replace; OutputError when it must not be."""
    with _plain_sentences(path):
        real = Path(os.path.realpath(path))
        if photo_path is not None:
            spare(path, photo_path, "is the photo itself")
        try:
            old = path.lstat() if not overwrite else real.lstat()
        except FileNotFoundError:
            real.parent.stat()
            return real
        if stat.S_ISDIR(old.st_mode):
            raise OutputError(f"{path} is a folder; add a file name.")
        if not overwrite:
            raise FileExistsError(path)
        if not stat.S_ISREG(old.st_mode):
            raise OutputError(f"{path} is not an ordinary file; choose another name.")
        if not old.st_mode & 0o222:
            raise OutputError(f"{path.name} is protected from writing; choose another name.")
        return real


def spare(path: Path, source: Path, what: str) -> None:
    """Raise OutputError when `path` is the source, by whatever name or link.

    what: says so of the path, as in "is the photo itself".
    """
    with _plain_sentences(path):
        if _same_file(path, source):
            raise OutputError(f"{path.name} {what} and is never written over; choose another name.")


def read_back_differently(path: Path) -> WriteError:
    """The error for a file whose bytes on the disk are not those that were written."""
    return WriteError(
        f"{path.name} came back from the disk changed, so it was not kept; "
        "write to another disk and have this one examined."
    )


def _same_file(a: Path, b: Path) -> bool:
    try:
        return a.samefile(b)
    except (FileNotFoundError, NotADirectoryError):
        return False


def _step_aside(
    ready: Sequence[tuple[Path, Path, int | None, Path]], undo: contextlib.ExitStack
) -> list[Path]:
    """Give the files that are to be replaced other names, the last first; returns these."""
    old = []
    for path, _, _, target in reversed(ready):
        with _plain_sentences(path):
            if allowed_target(path, overwrite=True).exists():
                aside = drafts.draft_name(target.parent)
                target.replace(aside)
                undo.callback(aside.replace, target)
                old.append(aside)
    return old


@contextlib.contextmanager
def _checked_draft(file: NewFile, folder: Path) -> Iterator[tuple[Path, int | None]]:
    """As `drafts.draft_of`, read back and compared."""
    with drafts.draft_of(folder, file.data) as (draft, descriptor):
        if draft.read_bytes() != file.data:
            raise read_back_differently(file.path)
        if file.check is not None:
            file.check(draft)
        yield draft, descriptor


@contextlib.contextmanager
def _plain_sentences(path: Path) -> Iterator[None]:
    """Turn what the system says into a sentence for the user."""
    try:
        yield
    except OSError as error:
        raise _sentence(path, error) from error


def _sentence(path: Path, error: OSError) -> RimetypeError:
    name = path.name if len(path.name) <= 60 else f"{path.name[:57]}..."
    match error.errno:
        case errno.ENOENT | errno.ENOTDIR:
            return OutputError(f"There is no folder {path.parent}; make it or choose another.")
        case errno.EACCES | errno.EPERM | errno.EROFS:
            return OutputError(f"Nothing may be written in {path.parent}; choose another folder.")
        case errno.ENAMETOOLONG:
            return OutputError(f"The name {name} is too long for this disk; choose a shorter one.")
        case errno.ELOOP:
            return OutputError(f"{name} is a link that leads in a circle; choose another name.")
        case errno.ENOSPC | errno.EDQUOT | errno.EFBIG:
            return WriteError(
                f"There is no room left for {name}; make room on the disk or choose another one."
            )
        case _:
            if isinstance(error, FileExistsError):
                return OutputError(
                    f"{name} exists already; choose another name or allow it to be replaced."
                )
            return WriteError(f"{name} could not be written: {error.strerror or error}.")
