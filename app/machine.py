"""Whether this machine has all that Rimetype needs; the answer of `rimetype check`."""

import importlib
import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import attrs

from shared.paths import RESOURCES

OLDEST_PYTHON = (3, 11)


@attrs.frozen
class Finding:
    """One thing that was looked at."""

    name: str
    good: bool
    sentence: str
    optional: bool = False


def look_around() -> list[Finding]:
    """Try everything for real: imports, a Qt application without a display, a written file."""
    return [
        _python(),
        _tried("NumPy", lambda: _version("numpy")),
        _tried("OpenCV", lambda: _version("cv2")),
        _tried("Pillow", lambda: _version("PIL")),
        _tried("Window", _qt),
        _heic(),
        _resources(),
        _tried("Writing", _writing),
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
        return Finding(name, False, f"{error}. Run packaging/start.py to mend the installation.")


def _version(module: str) -> str:
    return str(importlib.import_module(module).__version__)


def _qt() -> str:
    from PySide6 import __version__
    from PySide6.QtGui import QFontDatabase, QGuiApplication

    has_display = bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
    if sys.platform.startswith("linux") and not has_display:
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    application = QGuiApplication.instance() or QGuiApplication(["rimetype"])
    families = len(QFontDatabase.families())
    platform = QGuiApplication.platformName()
    del application
    if families == 0:
        raise RuntimeError("There is no font; install fonts-dejavu-core")
    return f"Qt {__version__} on {platform}, {families} font families"


def _heic() -> Finding:
    try:
        return Finding("HEIC photos", True, _version("pillow_heif"), optional=True)
    except ImportError:
        sentence = "phone photos in HEIC cannot be opened; pip install pillow-heif adds them."
        return Finding("HEIC photos", False, sentence, optional=True)


def _resources() -> Finding:
    wanted = ["demo/portrait.jpg", "cautions.md", "bluenoise", "icons", "recipes"]
    missing = [name for name in wanted if not (RESOURCES / name).exists()]
    if missing:
        return Finding("Resources", False, f"{', '.join(missing)} missing; install Rimetype again.")
    return Finding("Resources", True, str(RESOURCES))


def _writing() -> str:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "try").write_bytes(b"ice")
    return "files can be written"
