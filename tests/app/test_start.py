"""The start: what is not needed for the first sight of the window waits until it is."""

import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]

# The real start, which says what it has come to as soon as the window is idle.
_START = """
import gc, json, os, sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

run = QApplication.exec

def tell():
    windows = QApplication.topLevelWidgets()
    shown = [window.windowTitle() for window in windows if window.isVisible()]
    found = {"modules": sorted(sys.modules), "collects": gc.isenabled(), "shown": shown}
    print(json.dumps(found), flush=True)
    os._exit(0)

def run_until_idle(*_):
    QTimer.singleShot(0, tell)
    return run()

QApplication.exec = run_until_idle
from app.__main__ import main
main()
"""
LATER = {
    "PIL",
    "cv2",
    "engine",
    "numpy",
    "app.contact_sheet",
    "app.glass.compare_dialog",
    "app.glass.glass_panel",
    "app.glass.profile_dialog",
    "app.help_pages",
    "app.output_dialog",
    "scipy",
    "wasmtime",
}


def test_the_window_is_there_before_what_only_its_dialogs_and_photos_need(tmp_path: Path) -> None:
    settings = tmp_path / "config" / "preferences.ini"
    settings.parent.mkdir()
    settings.write_text("[recent]\n1\\path=a.jpg\nsize=1\n", encoding="ascii")
    environment = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "QT_QPA_PLATFORM": "offscreen",
        "RIMETYPE_HOME": str(tmp_path),
    }
    done = subprocess.run(
        [sys.executable, "-c", _START],
        check=True,
        capture_output=True,
        text=True,
        env=environment,
        cwd=tmp_path,
        timeout=120,
    )
    found = json.loads(done.stdout)
    assert found["shown"] == ["no photo[*] \u2013 Rimetype"]
    assert found["collects"]
    assert LATER.isdisjoint(found["modules"])
