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
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMainWindow
application = QApplication([])
window = QMainWindow()
window.resize(1280, 720)
window.show()
QTimer.singleShot(0, application.quit)
application.exec()
"""
_STUDIO = """
from PySide6.QtCore import QTimer
from app.launch import make_application
from app.settings import Settings
from app.studio import Studio
application = make_application()
studio = Studio(Settings())
studio.show()
QTimer.singleShot(0, application.quit)
application.exec()
studio.close()
"""


def start_rows(tiny: bool) -> Iterator[Row]:
    """Whole processes, from nothing, in turns."""
    with tempfile.TemporaryDirectory() as home:
        run(_STUDIO, home)
        run(_EMPTY, home)
        turns = [(lambda: run(_STUDIO, home), lambda: run(_EMPTY, home))] * (1 if tiny else 9)
        yield in_turns(turns).row("window usable after start", 1.5, "without a photo")


def run(code: str, home: str) -> None:
    """One process of the program, with a home folder of its own."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "QT_QPA_PLATFORM": "offscreen",
        "HOME": home,
        "XDG_CONFIG_HOME": home,
        "XDG_DATA_HOME": home,
        "XDG_STATE_HOME": home,
        "XDG_RUNTIME_DIR": home,
    }
    command = [sys.executable, "-c", code]
    subprocess.run(command, check=True, env=environment, cwd=home, timeout=120)
