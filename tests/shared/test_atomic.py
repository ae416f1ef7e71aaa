"""Files are whole or absent: refusals, full disks, kills, both ways of drafting."""

import errno
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from shared.atomic import write_atomically
from shared.errors import Cancelled, OutputError, WriteError

ROOT = Path(__file__).resolve().parents[2]
KILLS = 20

pytestmark = pytest.mark.skipif(os.name != "posix", reason="links, modes and signals of POSIX")


@pytest.fixture
def one_megabyte(tmp_path: Path) -> Iterator[Path]:
    """A disk of 1 MB."""
    if os.geteuid() != 0:
        pytest.skip("only root can mount a small disk")
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(folder)]
    if subprocess.run(mount, capture_output=True, check=False).returncode != 0:
        pytest.skip("this machine lets nobody mount a small disk")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def intruder(path: Path) -> Callable[[Path], None]:
    """Somebody else, who makes a file of the same name while ours is being checked."""

    def intrude(_: Path) -> None:
        path.write_bytes(b"theirs")

    return intrude


@pytest.mark.usefixtures("drafting")
def test_a_new_file_holds_the_bytes_and_nothing_else_appears(tmp_path: Path) -> None:
    for number, data in enumerate((b"", b"x", bytes(range(256)) * 5000)):
        path = tmp_path / f"file{number}"
        write_atomically(path, data, overwrite=False)
        assert path.read_bytes() == data
    assert names(tmp_path) == ["file0", "file1", "file2"]


@pytest.mark.usefixtures("drafting")
def test_a_new_file_has_ordinary_permissions(tmp_path: Path) -> None:
    ordinary = tmp_path / "ordinary"
    ordinary.write_bytes(b"")
    write_atomically(tmp_path / "ours", b"x", overwrite=False)
    assert (tmp_path / "ours").stat().st_mode == ordinary.stat().st_mode


@pytest.mark.usefixtures("drafting")
def test_replacing_must_be_allowed_and_keeps_permissions(tmp_path: Path) -> None:
    path = tmp_path / "plate.png"
    write_atomically(path, b"old", overwrite=False)
    path.chmod(0o640)
    with pytest.raises(OutputError, match=r"plate\.png exists already"):
        write_atomically(path, b"new", overwrite=False)
    assert path.read_bytes() == b"old"
    write_atomically(path, b"new", overwrite=True)
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o640
    assert names(tmp_path) == ["plate.png"]


@pytest.mark.usefixtures("drafting")
def test_a_file_that_appears_in_the_last_moment_is_safe(tmp_path: Path) -> None:
    path = tmp_path / "plate.png"
    with pytest.raises(OutputError, match="exists already"):
        write_atomically(path, b"ours", overwrite=False, check=intruder(path))
    assert path.read_bytes() == b"theirs"
    assert names(tmp_path) == ["plate.png"]


@pytest.mark.parametrize("overwrite", [False, True])
def test_the_photo_is_never_written_over(tmp_path: Path, overwrite: bool) -> None:
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(b"photo")
    (tmp_path / "soft.png").symlink_to("photo.jpg")
    (tmp_path / "softer.png").symlink_to("soft.png")
    (tmp_path / "hard.png").hardlink_to(photo)
    (tmp_path / "folder").symlink_to(tmp_path)
    for way in ("photo.jpg", "soft.png", "softer.png", "hard.png", "folder/photo.jpg"):
        for named in (photo, tmp_path / "softer.png"):
            with pytest.raises(OutputError, match="is the photo itself"):
                write_atomically(tmp_path / way, b"x", overwrite=overwrite, photo_path=named)
    assert photo.read_bytes() == b"photo"
    assert photo.stat().st_nlink == 2
    assert names(tmp_path) == ["folder", "hard.png", "photo.jpg", "soft.png", "softer.png"]


def test_another_file_beside_the_photo_is_written(tmp_path: Path) -> None:
    write_atomically(tmp_path / "a", b"x", overwrite=False, photo_path=tmp_path / "gone.jpg")
    write_atomically(tmp_path / "b", b"y", overwrite=False, photo_path=tmp_path / "a")
    assert names(tmp_path) == ["a", "b"]


@pytest.mark.usefixtures("drafting")
def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "shelf").mkdir()
    real, link = tmp_path / "shelf" / "real", tmp_path / "link"
    real.write_bytes(b"old")
    link.symlink_to(real)
    with pytest.raises(OutputError, match="exists already"):
        write_atomically(link, b"new", overwrite=False)
    write_atomically(link, b"new", overwrite=True)
    assert link.is_symlink()
    assert real.read_bytes() == b"new"


def test_a_link_to_nothing_counts_as_a_file(tmp_path: Path) -> None:
    link = tmp_path / "link"
    link.symlink_to(tmp_path / "nothing")
    with pytest.raises(OutputError, match="exists already"):
        write_atomically(link, b"new", overwrite=False)
    assert not (tmp_path / "nothing").exists()


@pytest.mark.usefixtures("drafting")
@pytest.mark.parametrize("overwrite", [False, True])
def test_unusable_places_are_named_in_a_sentence(tmp_path: Path, overwrite: bool) -> None:
    (tmp_path / "file").write_bytes(b"x")
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "circle").symlink_to("circle")
    for path, words in (
        (tmp_path / "none" / "a.png", "no folder"),
        (tmp_path / "file" / "a.png", "no folder"),
        (tmp_path / "circle" / "a.png", "circle"),
        (tmp_path, "is a folder"),
        (tmp_path / ("x" * 252 + ".png"), "too long"),
        (tmp_path / "pipe", "not an ordinary file" if overwrite else "exists already"),
    ):
        with pytest.raises(OutputError, match=words) as caught:
            write_atomically(path, b"x", overwrite=overwrite)
        assert str(caught.value).endswith(".")
        assert "\n" not in str(caught.value)
        assert len(str(caught.value)) < 160 + len(str(tmp_path))
    assert names(tmp_path) == ["circle", "file", "pipe"]


@pytest.mark.usefixtures("drafting")
@pytest.mark.parametrize("name", ["x" * 246 + ".png", "Müller & Søn 50%.png", "氷.png", ".png"])
def test_odd_and_long_names_serve(tmp_path: Path, name: str) -> None:
    write_atomically(tmp_path / name, b"old", overwrite=False)
    write_atomically(tmp_path / name, b"new", overwrite=True)
    assert (tmp_path / name).read_bytes() == b"new"
    assert names(tmp_path) == [name]


def test_a_protected_file_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"old")
    path.chmod(0o444)
    with pytest.raises(OutputError, match="protected"):
        write_atomically(path, b"new", overwrite=True)
    assert path.read_bytes() == b"old"


CHILD = """
import os, sys
from pathlib import Path
sys.path.insert(0, {root!r})
from shared.atomic import write_atomically
from shared.errors import RimetypeError
path = Path(sys.argv[1])
"""


def child(code: str, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
    program = CHILD.format(root=str(ROOT)) + code
    return subprocess.run(
        [sys.executable, "-c", program, *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_folder_that_may_not_be_written_in() -> None:
    become_nobody = "" if os.geteuid() else "os.setgroups([]); os.setgid(65534); os.setuid(65534)\n"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o555)
        told = child(
            become_nobody + "try:\n    write_atomically(path, b'x', overwrite=False)\n"
            "except RimetypeError as error:\n    print(type(error).__name__, error)\n",
            folder / "a.png",
        )
        assert told.stdout.startswith("OutputError Nothing may be written in"), told.stderr
        assert names(folder) == []


@pytest.mark.usefixtures("drafting")
def test_a_full_disk_costs_nothing(one_megabyte: Path) -> None:
    path = one_megabyte / "plate.png"
    write_atomically(path, b"old", overwrite=False)
    for target, overwrite in ((path, True), (one_megabyte / "new.png", False)):
        with pytest.raises(WriteError, match="no room"):
            write_atomically(target, b"x" * 3_000_000, overwrite=overwrite)
    assert path.read_bytes() == b"old"
    assert names(one_megabyte) == ["plate.png"]


def test_a_disk_that_ends_in_the_middle_costs_nothing(tmp_path: Path) -> None:
    """The same by a limit on the size of files, for machines where nobody can mount."""
    path = tmp_path / "plate.png"
    path.write_bytes(b"old")
    told = child(
        "import resource\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (500_000, 500_000))\n"
        "try:\n    write_atomically(path, b'x' * 3_000_000, overwrite=True)\n"
        "except RimetypeError as error:\n    print(type(error).__name__, error)\n",
        path,
    )
    assert told.stdout.startswith("WriteError There is no room"), told.stderr
    assert path.read_bytes() == b"old"
    assert names(tmp_path) == ["plate.png"]


@pytest.mark.usefixtures("drafting")
@pytest.mark.parametrize("problem", [Cancelled(), WriteError("Not what it was."), MemoryError()])
def test_what_the_check_raises_ends_the_writing(tmp_path: Path, problem: Exception) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"old")

    def check(draft: Path) -> None:
        assert draft.read_bytes() == b"new"
        raise problem

    with pytest.raises(type(problem)):
        write_atomically(path, b"new", overwrite=True, check=check)
    assert path.read_bytes() == b"old"
    assert names(tmp_path) == ["a"]


def test_a_disk_without_links_serves_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "O_TMPFILE", raising=False)

    def no_links(*_: object, **__: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    path = tmp_path / "a"
    write_atomically(path, b"ours", overwrite=False)
    assert path.read_bytes() == b"ours"
    with pytest.raises(OutputError, match="exists already"):
        write_atomically(path, b"again", overwrite=False)
    other = tmp_path / "b"
    with pytest.raises(OutputError, match="exists already"):
        write_atomically(other, b"ours", overwrite=False, check=intruder(other))
    assert other.read_bytes() == b"theirs"
    assert names(tmp_path) == ["a", "b"]


def test_a_disk_that_gives_other_bytes_back_is_found_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    honest = os.write
    monkeypatch.setattr(os, "write", lambda fd, data: honest(fd, bytes(data).replace(b"x", b"y")))
    with pytest.raises(WriteError, match="came back from the disk changed"):
        write_atomically(tmp_path / "a", b"xxx", overwrite=False)
    assert names(tmp_path) == []


def test_short_writes_are_continued(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    honest = os.write
    monkeypatch.setattr(os, "write", lambda fd, data: honest(fd, data[:1000]))
    data = random.Random(1).randbytes(12_345)
    write_atomically(tmp_path / "a", data, overwrite=False)
    assert (tmp_path / "a").read_bytes() == data


@pytest.mark.skipif(not hasattr(os, "O_TMPFILE"), reason="this system has no nameless files")
@pytest.mark.parametrize("overwrite", [True, False])
def test_killed_before_the_last_step_leaves_the_old_file_and_no_litter(
    tmp_path: Path, overwrite: bool
) -> None:
    path = tmp_path / "a"
    if overwrite:
        path.write_bytes(b"old")
    killed = child(
        "write_atomically(path, b'new' * 1_000_000, overwrite=bool(int(sys.argv[2])),\n"
        "                 check=lambda _: os.kill(os.getpid(), 9))\n",
        path,
        str(int(overwrite)),
    )
    assert killed.returncode == -signal.SIGKILL
    assert names(tmp_path) == (["a"] if overwrite else [])
    assert not overwrite or path.read_bytes() == b"old"


def test_killed_at_any_moment_leaves_a_whole_file(tmp_path: Path) -> None:
    path = tmp_path / "a"
    whole = [bytes([letter]) * 2_000_000 for letter in b"AB"]
    path.write_bytes(whole[0])
    program = CHILD.format(root=str(ROOT)) + (
        "print('ready', flush=True)\n"
        "while True:\n"
        "    for letter in b'AB':\n"
        "        write_atomically(path, bytes([letter]) * 2_000_000, overwrite=True)\n"
    )
    moments = random.Random(5)
    for _ in range(KILLS):
        with subprocess.Popen(
            [sys.executable, "-c", program, str(path)], stdout=subprocess.PIPE
        ) as writer:
            assert writer.stdout is not None
            writer.stdout.readline()
            time.sleep(moments.uniform(0.0, 0.03))
            writer.kill()
        assert path.read_bytes() in whole
