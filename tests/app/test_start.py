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
# The same, which ends when what the page of the test strip waits for longest is there.
_READ_AHEAD = """
import os, sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

run = QApplication.exec
timer = QTimer(interval=20)

def look():
    judge = sys.modules.get("engine.strip.judge")
    if judge is not None and hasattr(judge, "judge"):
        print("app.strip.strip_page" in sys.modules, flush=True)
        os._exit(0)

def run_until_read(*_):
    timer.timeout.connect(look)
    timer.start()
    return run()

QApplication.exec = run_until_read
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


def _started(script: str, home: Path, *words: str) -> str:
    """What a script prints that starts the studio with these words."""
    platform = {"QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(
        [sys.executable, "-c", script, *words],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, **platform, "PYTHONPATH": str(ROOT), "RIMETYPE_HOME": str(home)},
        cwd=home,
        timeout=120,
    )
    return done.stdout


def test_the_test_strip_is_read_ahead_once_the_photo_is_shown(tmp_path: Path) -> None:
    portrait = ROOT / "resources" / "demo" / "portrait.jpg"
    assert _started(_READ_AHEAD, tmp_path, str(portrait)) == "False\n"


def test_the_window_is_there_before_what_only_its_dialogs_and_photos_need(tmp_path: Path) -> None:
    settings = tmp_path / "config" / "preferences.ini"
    settings.parent.mkdir()
    settings.write_text("[recent]\n1\\path=a.jpg\nsize=1\n", encoding="ascii")
    found = json.loads(_started(_START, tmp_path))
    assert found["shown"] == ["no photo[*] \u2013 Rimetype"]
    assert found["collects"]
    assert LATER.isdisjoint(found["modules"])
