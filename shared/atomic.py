"""Files are written whole or not at all, never over a file by accident, never over the photo."""

import contextlib
import errno
import os
import stat
from collections.abc import Callable, Iterator
from pathlib import Path

from shared.errors import OutputError, RimetypeError, WriteError

_NO_NAMELESS_FILES = {errno.EOPNOTSUPP, errno.EISDIR, errno.EINVAL, errno.ENOSYS}
_NO_LINKS = {errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}

_ORDINARY = 0o666
"""Permissions of a new file; the system takes away what the user's mask forbids."""


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
        with _draft(target.parent, data) as (draft, descriptor):
            if draft.read_bytes() != data:
                raise read_back_differently(path)
            if check is not None:
                check(draft)
            if overwrite:
                _keep_permissions(draft, target)
                _replace(draft, descriptor, target)
            else:
                _place_new(draft, descriptor, target)
        _sync_folder(target.parent)


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


@contextlib.contextmanager
def _draft(folder: Path, data: bytes) -> Iterator[tuple[Path, int | None]]:
    """A file in the folder that holds the data and is gone at the end.

    Comes as the path to read it by, and for a file without a name its descriptor.
    """
    descriptor = _open_nameless(folder)
    if descriptor is not None:
        try:
            _write_all(descriptor, data)
            yield _by_descriptor(descriptor), descriptor
        finally:
            os.close(descriptor)
        return
    draft = _draft_name(folder)
    flags = os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0)
    descriptor = os.open(draft, flags, _ORDINARY)
    try:
        try:
            _write_all(descriptor, data)
        finally:
            os.close(descriptor)
        yield draft, None
    finally:
        draft.unlink(missing_ok=True)


def _open_nameless(folder: Path) -> int | None:
    """A file without a name, which the system itself removes, or None where there is no such."""
    if not hasattr(os, "O_TMPFILE"):
        return None
    try:
        descriptor = os.open(folder, os.O_TMPFILE | os.O_RDWR, _ORDINARY)
    except OSError as error:
        if error.errno in _NO_NAMELESS_FILES:
            return None
        raise
    if _by_descriptor(descriptor).exists():
        return descriptor
    os.close(descriptor)
    return None


def _by_descriptor(descriptor: int) -> Path:
    return Path(f"/proc/self/fd/{descriptor}")


def _draft_name(folder: Path) -> Path:
    return folder / f".rimetype-{os.urandom(8).hex()}.tmp"


def _write_all(descriptor: int, data: bytes) -> None:
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(descriptor, rest) :]
    os.fsync(descriptor)


def _keep_permissions(draft: Path, target: Path) -> None:
    """Whoever could read the old file, and nobody else, can read the new one."""
    if target.exists():
        draft.chmod(stat.S_IMODE(target.stat().st_mode))


def _link(draft: Path, descriptor: int | None, name: Path) -> None:
    """Give the draft another name; FileExistsError when something has that name."""
    if descriptor is None:
        os.link(draft, name)
    else:
        os.link(draft, name, src_dir_fd=descriptor)  # with a descriptor, links are followed


def _replace(draft: Path, descriptor: int | None, target: Path) -> None:
    if descriptor is None:
        draft.replace(target)
        return
    named = _draft_name(target.parent)
    _link(draft, descriptor, named)
    try:
        named.replace(target)
    except OSError:
        named.unlink()
        raise


def _place_new(draft: Path, descriptor: int | None, target: Path) -> None:
    try:
        _link(draft, descriptor, target)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        # A disk without links, such as a memory card: claim the name first.
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        try:
            draft.replace(target)
        except OSError:
            target.unlink()
            raise


def _sync_folder(folder: Path) -> None:
    """Bring the name to the disk too, on systems and disks that have a way for it."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


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
