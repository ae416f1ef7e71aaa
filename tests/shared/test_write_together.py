"""Files of which each is worth something only with the others: all are written or none."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from shared.atomic import NewFile, write_together
from shared.errors import Cancelled, OutputError, WriteError

pytestmark = pytest.mark.skipif(os.name != "posix", reason="modes and names of POSIX")

LETTERS = "abc"


def set_of(folder: Path, data: bytes, check: Callable[[Path], None] | None = None) -> list[NewFile]:
    """Three files; the check is the last one's."""
    return [
        NewFile(folder / name, data + name.encode(), check if name == "c" else None)
        for name in LETTERS
    ]


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.mark.usefixtures("drafting")
def test_files_that_belong_together_are_written_and_replaced(tmp_path: Path) -> None:
    write_together(set_of(tmp_path, b"old"), overwrite=False)
    assert contents(tmp_path) == {name: b"old" + name.encode() for name in LETTERS}
    with pytest.raises(OutputError, match="exists already"):
        write_together(set_of(tmp_path, b"new"), overwrite=False)
    (tmp_path / "a").chmod(0o640)
    (tmp_path / "b").unlink()
    write_together(set_of(tmp_path, b"new"), overwrite=True)
    assert contents(tmp_path) == {name: b"new" + name.encode() for name in LETTERS}
    assert (tmp_path / "a").stat().st_mode & 0o777 == 0o640


@pytest.mark.usefixtures("drafting")
@pytest.mark.parametrize("problem", [Cancelled(), WriteError("Not what it was."), MemoryError()])
@pytest.mark.parametrize("there", ["", "abc", "ac"])
def test_of_files_that_belong_together_the_last_one_s_failure_costs_nothing(
    tmp_path: Path, problem: Exception, there: str
) -> None:
    for name in there:
        (tmp_path / name).write_bytes(b"old")

    def check(_: Path) -> None:
        raise problem

    with pytest.raises(type(problem)):
        write_together(set_of(tmp_path, b"new", check), overwrite=True)
    assert contents(tmp_path) == dict.fromkeys(there, b"old")


@pytest.mark.usefixtures("drafting")
def test_a_folder_in_the_last_moment_in_a_file_s_place_costs_nothing(tmp_path: Path) -> None:
    write_together(set_of(tmp_path, b"old"), overwrite=False)
    (tmp_path / "a").unlink()

    def intrude(_: Path) -> None:
        (tmp_path / "a").mkdir()

    with pytest.raises(OutputError, match="is a folder"):
        write_together(set_of(tmp_path, b"new", intrude), overwrite=True)
    assert contents(tmp_path) == {"b": b"oldb", "c": b"oldc"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a", "b", "c"]


@pytest.mark.usefixtures("drafting")
def test_of_new_files_that_belong_together_none_stays_when_one_s_name_is_taken(
    tmp_path: Path,
) -> None:
    def intrude(_: Path) -> None:
        (tmp_path / "b").write_bytes(b"theirs")

    with pytest.raises(OutputError, match="b exists already"):
        write_together(set_of(tmp_path, b"new", intrude), overwrite=False)
    assert contents(tmp_path) == {"b": b"theirs"}


@pytest.mark.usefixtures("drafting")
def test_an_old_file_that_cannot_be_taken_away_does_no_harm(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_together(set_of(tmp_path, b"old"), overwrite=False)
    unlink = Path.unlink

    def locked(path: Path, missing_ok: bool = False) -> None:
        if path.exists() and path.read_bytes().startswith(b"old"):
            raise PermissionError(13, "locked")
        unlink(path, missing_ok=missing_ok)

    monkeypatch.setattr(Path, "unlink", locked)
    write_together(set_of(tmp_path, b"new"), overwrite=True)
    found = contents(tmp_path)
    assert {name: found[name] for name in LETTERS} == {n: b"new" + n.encode() for n in LETTERS}
