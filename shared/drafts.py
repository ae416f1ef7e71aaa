"""Files that are whole before they have their name, and how they get it."""

import contextlib
import errno
import os
import stat
from collections.abc import Iterator
from pathlib import Path

_NO_NAMELESS_FILES = {errno.EOPNOTSUPP, errno.EISDIR, errno.EINVAL, errno.ENOSYS}
_NO_LINKS = {errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}

_ORDINARY = 0o666
"""Permissions of a new file; the system takes away what the user's mask forbids."""


@contextlib.contextmanager
def draft_of(folder: Path, data: bytes) -> Iterator[tuple[Path, int | None]]:
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
    draft = draft_name(folder)
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


def draft_name(folder: Path) -> Path:
    """A path in the folder that nothing has."""
    return folder / f".rimetype-{os.urandom(8).hex()}.tmp"


def _write_all(descriptor: int, data: bytes) -> None:
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(descriptor, rest) :]
    os.fsync(descriptor)


def keep_permissions(draft: Path, target: Path) -> None:
    """Whoever could read the old file, and nobody else, can read the new one."""
    if target.exists():
        draft.chmod(stat.S_IMODE(target.stat().st_mode))


def _link(draft: Path, descriptor: int | None, name: Path) -> None:
    """Give the draft another name, where the disk has links."""
    if descriptor is None:
        os.link(draft, name)
    else:
        os.link(draft, name, src_dir_fd=descriptor)  # with a descriptor, links are followed


def replace(draft: Path, descriptor: int | None, target: Path) -> None:
    """Give a draft the name of a file, which it takes the place of, if there is one."""
    if descriptor is None:
        draft.replace(target)
        return
    named = draft_name(target.parent)
    _link(draft, descriptor, named)
    try:
        named.replace(target)
    except OSError:
        named.unlink()
        raise


def place_new(draft: Path, descriptor: int | None, target: Path) -> None:
    """Give a draft a name; FileExistsError when something has that name."""
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


def sync_folder(folder: Path) -> None:
    """Bring the name to the disk too, on systems and disks that have a way for it."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
