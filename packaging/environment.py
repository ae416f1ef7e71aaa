"""The virtual environment .venv: made once, mended when it is broken, left alone when it is right.

A stamp in .venv says what was installed and is written last. A mark says that an installation is
under way: whoever finds it with nobody at work has found a half-made environment and begins anew.
"""

import hashlib
import importlib.util
import json
import os
import re
import shutil
import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from libraries import install_on_debian
from telling import Outcome, Runner, SetUpError, run, say

STAMP = "rimetype-stamp.json"
MARK = "rimetype-unfinished"
PIP_NEWS = ("Collecting", "Downloading", "Installing")

NO_NETWORK = (
    "NewConnectionError",
    "NameResolutionError",
    "ConnectTimeoutError",
    "ReadTimeoutError",
    "ProxyError",
    "Read timed out",
    "Network is unreachable",
)


@dataclass(frozen=True)
class Stamp:
    """What was installed where, and on which of Qt's platforms it was seen to run.

    `root` is the checkout, `python` the real file behind the environment's Python (another file
    after the system's Python was replaced), `project` the digest of what pyproject.toml asks for.
    """

    root: str
    python: str
    project: str
    extras: tuple[str, ...]
    platforms: tuple[str, ...] = ()


def venv_folder(root: Path) -> Path:
    """Name the environment of the checkout `root`."""
    return root / ".venv"


def venv_python(root: Path) -> Path:
    """Name the Python inside the environment."""
    return venv_folder(root) / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def project_digest(root: Path) -> str:
    """Digest the parts of pyproject.toml that decide what is installed."""
    with (root / "pyproject.toml").open("rb") as file:
        tables = tomllib.load(file)
    parts = [tables.get("build-system"), tables.get("project")]
    parts.append(tables.get("tool", {}).get("setuptools"))
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()


def fresh_stamp(root: Path, extras: tuple[str, ...]) -> Stamp:
    """Describe the environment as it would be if it were installed now."""
    python = os.path.realpath(venv_python(root))
    return Stamp(str(root), python, project_digest(root), tuple(sorted(extras)))


def read_stamp(root: Path) -> Stamp | None:
    """Read the stamp; None where there is none that can be read."""
    try:
        fields = json.loads((venv_folder(root) / STAMP).read_text("utf-8"))
        extras, platforms = (tuple(fields.pop(name)) for name in ("extras", "platforms"))
        return Stamp(**fields, extras=extras, platforms=platforms)
    except (OSError, ValueError, TypeError, AttributeError, KeyError):
        return None


def write_stamp(root: Path, stamp: Stamp) -> None:
    """Write the stamp in one step, so that half a stamp never exists."""
    path = venv_folder(root) / STAMP
    draft = path.with_suffix(".tmp")
    draft.write_text(json.dumps(asdict(stamp), indent=2) + "\n", "utf-8")
    draft.replace(path)


def is_ready(root: Path, extras: tuple[str, ...]) -> bool:
    """Say whether the environment holds what is wanted, without starting a program."""
    stamp = read_stamp(root)
    if stamp is None or not venv_python(root).exists() or (venv_folder(root) / MARK).exists():
        return False
    now = replace(fresh_stamp(root, stamp.extras), platforms=stamp.platforms)
    return stamp == now and set(extras) <= set(stamp.extras)


def prepare(root: Path, extras: tuple[str, ...], *, runner: Runner = run) -> None:
    """Bring .venv to the state wanted; does nothing where it is there already.

    Raises SetUpError with a sentence where that is not possible.
    """
    if is_ready(root, extras):
        return
    with only_one(root):
        if is_ready(root, extras):
            return
        earlier = read_stamp(root)
        kept = earlier.extras if earlier is not None else ()
        _make_venv(root, runner)
        _install(root, tuple(sorted({*extras, *kept})), runner)


@contextmanager
def only_one(root: Path) -> Iterator[None]:
    """Hold a lock on the checkout, so that two starts at once do not build the same .venv.

    The lock is on the folder itself, leaves no file behind, and ends with this process. Windows
    has no such lock.
    """
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(root, os.O_RDONLY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("Another start is setting up the same folder; waiting for it.")
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _make_venv(root: Path, runner: Runner) -> None:
    """Keep a working .venv, or make a new one; in either case under the mark."""
    folder = venv_folder(root)
    try:
        _clear_remains(root, runner)
        is_new = not (folder / "pyvenv.cfg").exists()
        if is_new:
            _need_venv_module(runner)
        folder.mkdir(exist_ok=True)
        (folder / MARK).touch()
        (folder / STAMP).unlink(missing_ok=True)
    except OSError as error:
        raise SetUpError(
            f"{error.filename or folder} cannot be written ({error.strerror}): copy this folder "
            "to a place of your own and start again there."
        ) from error
    if not is_new:
        say("Bringing .venv up to date.")
        return
    say(f"Setting Rimetype up in {folder}; this is done once and downloads about 200 MB.")
    made = runner([sys.executable, "-m", "venv", str(folder)])
    if made.code != 0:
        say(made.said)
        raise SetUpError(
            f"{sys.executable} could not make a virtual environment: the lines above say why. "
            "Mend that and start again."
        )


def _clear_remains(root: Path, runner: Runner) -> None:
    """Remove a .venv that was left half made or whose Python has gone; refuse any other folder."""
    folder = venv_folder(root)
    if (folder / MARK).exists():
        say("The last set-up was interrupted; starting it anew.")
        shutil.rmtree(folder)
    elif (folder / "pyvenv.cfg").exists():
        if not _works(root, runner):
            say("The Python in .venv no longer works; making .venv anew.")
            shutil.rmtree(folder)
    elif folder.exists() and any(folder.iterdir()):
        raise SetUpError(f"{folder} is not a virtual environment: move it away and start again.")


def _works(root: Path, runner: Runner) -> bool:
    """Say whether the Python of .venv is new enough and has pip."""
    test = "import sys, pip; sys.exit(sys.version_info < (3, 11))"
    return runner([str(venv_python(root)), "-c", test]).code == 0


def _need_venv_module(runner: Runner) -> None:
    """Make sure that this Python can make environments with pip inside."""
    if all(importlib.util.find_spec(name) for name in ("venv", "ensurepip")):
        return
    package = f"python3.{sys.version_info.minor}-venv"
    install_on_debian(
        [package],
        runner=runner,
        otherwise="This Python lacks its modules venv and ensurepip: install them (on Debian and "
        "Ubuntu: `{command}`) and start again.",
    )
    importlib.invalidate_caches()


def _install(root: Path, extras: tuple[str, ...], runner: Runner) -> None:
    """Install Rimetype itself, in place, with what it depends on; then write the stamp."""
    installed = _pip(root, extras, runner)
    if installed.code != 0 and extras == ("heic",) and not _lacks_network(installed.said):
        plain = _pip(root, (), runner)
        if plain.code == 0:
            say(
                "HEIC photos cannot be opened, since pillow-heif could not be installed; all else "
                f"works. To try again: `{venv_python(root)} -m pip install pillow-heif`"
            )
            installed = plain
    (venv_folder(root) / MARK).unlink(missing_ok=True)
    if installed.code != 0:
        say(installed.said)
        raise SetUpError(explain_pip(installed.said))
    write_stamp(root, fresh_stamp(root, extras))


def _pip(root: Path, extras: tuple[str, ...], runner: Runner) -> Outcome:
    wanted = f".[{','.join(extras)}]" if extras else "."
    options = ["--no-input", "--disable-pip-version-check"]
    return runner(
        [str(venv_python(root)), "-m", "pip", "install", *options, "-e", wanted],
        folder=root,
        settings={"PIP_USER": "0"},
        news=PIP_NEWS,
    )


def _lacks_network(said: str) -> bool:
    return any(sign in said for sign in NO_NETWORK)


def explain_pip(said: str) -> str:
    """Turn the last lines of a failed pip into one sentence that says what to do."""
    if "No space left on device" in said:
        return "The disk is full: make about 1.5 GB free and start again."
    if "CERTIFICATE_VERIFY_FAILED" in said:
        return (
            "The certificate of the package index was refused: set the date of this machine "
            "right, or name your network's certificate in PIP_CERT, and start again."
        )
    if _lacks_network(said):
        return (
            "The package index cannot be reached: connect this machine to the network (behind a "
            "proxy, set HTTPS_PROXY) and start again."
        )
    absent = re.search(r"No matching distribution found for ([\w.-]+)", said)
    if absent:
        return (
            f"There is no {absent[1]} for this machine and Python {sys.version.split()[0]}: "
            "Rimetype needs a 64-bit Linux of 2022 or later, macOS or Windows, and a Python that "
            "is not newer than its packages."
        )
    return "pip could not install Rimetype: the lines above say why. Mend that and start again."
