"""From starting Python to a window that can be used, against an empty window."""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from table import Row, in_turns

ROOT = Path(__file__).parents[2]

# Both end when the first window was painted and the event loop is idle.
_EMPTY = """
import cv2
import os
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMainWindow
application = QApplication([])
window = QMainWindow()
window.resize(1280, 720)
window.show()
QTimer.singleShot(0, lambda: os._exit(0))
application.exec()
"""
_STUDIO = """
import os
from app.__main__ import main
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
run = QApplication.exec
def run_until_idle(*_):
    QTimer.singleShot(0, lambda: os._exit(0))
    return run()
QApplication.exec = run_until_idle
main()
"""
_SETTINGS = "[recent]\n1\\path=a.jpg\nsize=1\n"
"""Somebody who opened a photo before: the demo portrait is not opened."""


def start_rows(tiny: bool) -> Iterator[Row]:
    """Whole processes, from nothing, in turns."""
    with tempfile.TemporaryDirectory() as home:
        settings = Path(home) / "config" / "preferences.ini"
        settings.parent.mkdir()
        settings.write_text(_SETTINGS, encoding="ascii")
        run(_STUDIO, home)
        run(_EMPTY, home)
        turns = [(lambda: run(_STUDIO, home), lambda: run(_EMPTY, home))] * (1 if tiny else 9)
        yield in_turns(turns).row("window usable after start", 1.5, "without a photo")


def run(code: str, home: str) -> None:
    """One process, with a home folder of its own, where Python keeps what it has compiled, as it
    does for whoever starts the program a second time."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "PYTHONPYCACHEPREFIX": home,
        "QT_QPA_PLATFORM": "offscreen",
        "HOME": home,
        "RIMETYPE_HOME": home,
        "XDG_RUNTIME_DIR": home,
    }
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    command = [sys.executable, "-c", code]
    subprocess.run(command, check=True, env=environment, cwd=home, timeout=120)
