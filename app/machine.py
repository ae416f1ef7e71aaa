"""Whether this machine has all that Rimetype needs; the answer of `rimetype check`."""

import importlib
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable

import attrs

from app.folders import config_folder, data_folder
from shared.paths import RESOURCES

OLDEST_PYTHON = (3, 11)
_NEEDED_FILES = ("demo/portrait.jpg", "cautions.md", "bluenoise/mask_256.png", "icons", "recipes")
_QT_PROBE = """
from PySide6 import QtWidgets, __version__
from PySide6.QtGui import QFont, QGuiApplication, QRawFont
application = QGuiApplication(["rimetype"])
print(__version__, QGuiApplication.platformName(), QRawFont.fromFont(QFont()).familyName())
"""
_LONGEST_S = 60
_MEND = "run packaging/start.py, which mends the installation or says how."


@attrs.frozen
class Finding:
    """One thing that was looked at."""

    name: str
    good: bool
    sentence: str
    optional: bool = False

    @property
    def mark(self) -> str:
        """A word for the margin."""
        if self.good:
            return "ok"
        return "optional" if self.optional else "missing"


def look_around() -> list[Finding]:
    """Try everything for real: imports, a Qt application, written files."""
    return [
        _python(),
        _tried("NumPy", lambda: _version("numpy")),
        _tried("SciPy", lambda: _version("scipy")),
        _tried("OpenCV", lambda: _version("cv2")),
        _tried("Pillow", lambda: _version("PIL")),
        _window(),
        _heic(),
        _resources(),
        _writing(),
    ]


def _python() -> Finding:
    version = sys.version.split()[0]
    if sys.version_info >= OLDEST_PYTHON:
        return Finding("Python", True, version)
    return Finding("Python", False, f"{version} is too old; install Python 3.11 or newer.")


def _tried(name: str, attempt: Callable[[], str]) -> Finding:
    try:
        return Finding(name, True, attempt())
    except Exception as error:  # any failure is the finding
        return Finding(name, False, f"{error}; {_MEND}")


def _version(module: str) -> str:
    return str(importlib.import_module(module).__version__)


def _window() -> Finding:
    """In a process of its own, since Qt ends the process in which it cannot start."""
    variables = dict(os.environ)
    display = variables.get("DISPLAY") or variables.get("WAYLAND_DISPLAY")
    shown = bool(display) or not sys.platform.startswith("linux")
    if not shown:
        variables.setdefault("QT_QPA_PLATFORM", "offscreen")
    try:
        done = subprocess.run(
            [sys.executable, "-c", _QT_PROBE],
            env=variables,
            capture_output=True,
            text=True,
            timeout=_LONGEST_S,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return Finding("Window", False, f"Qt does not answer ({error}); {_MEND}")
    if done.returncode != 0:
        return Finding("Window", False, f"{_reason(done.stderr)}; {_MEND}")
    version, platform, *font = done.stdout.split()
    if not font:
        return Finding("Window", False, "there is no font; install fonts-dejavu-core.")
    without = "" if shown else "; no display, so the studio cannot open"
    return Finding("Window", True, f"Qt {version} on {platform}{without}")


def _reason(complaints: str) -> str:
    """The line that says why: the last of a Python traceback, the first of Qt's own words."""
    lines = [line.strip() for line in complaints.splitlines() if line.strip()]
    if not lines:
        return "Qt cannot start"
    kind, _, reason = lines[-1].partition("Error: ")
    line = reason if reason and kind.isidentifier() else lines[0]
    return line.rstrip(".")


def _heic() -> Finding:
    try:
        return Finding("HEIC photos", True, _version("pillow_heif"), optional=True)
    except ImportError:
        sentence = "phone photos in HEIC cannot be opened; pip install pillow-heif adds them."
        return Finding("HEIC photos", False, sentence, optional=True)


def _resources() -> Finding:
    missing = [name for name in _NEEDED_FILES if not (RESOURCES / name).exists()]
    if missing:
        return Finding("Resources", False, f"{', '.join(missing)}; install Rimetype again.")
    return Finding("Resources", True, str(RESOURCES))


def _writing() -> Finding:
    for folder in (config_folder(), data_folder()):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder) as file:
                file.write(b"ice")
        except OSError as error:
            sentence = f"nothing can be kept in {folder} ({error.strerror}); allow it."
            return Finding("Writing", False, sentence)
    return Finding("Writing", True, f"preferences and unsaved work go to {data_folder()}")
