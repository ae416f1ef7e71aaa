"""Makes the README's pictures from the real window, without a display.

.venv/bin/python packaging/pictures.py
"""

import os
import sys
import tempfile
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["RIMETYPE_HOME"] = tempfile.mkdtemp()
ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from PySide6.QtCore import QEventLoop, QTimer  # noqa: E402 - after the environment is set

from app.demo import PORTRAIT  # noqa: E402
from app.launch import make_application  # noqa: E402
from app.settings import Settings  # noqa: E402
from app.studio import Studio  # noqa: E402

TARGET = ROOT / "resources" / "pictures"
SIZE = (1280, 720)
LONGEST_MS = 60_000
FACE_MM = (100.0, 95.0)


def main() -> None:
    """Open the demo, set each scene, and save what the window shows."""
    application = make_application()
    TARGET.mkdir(exist_ok=True)
    studio = Studio(Settings())
    studio.resize(*SIZE)
    studio.show()
    studio.opener.open_path(PORTRAIT)
    settle(studio)
    studio.bench.open_step("tone")
    application.processEvents()
    save(studio, "studio")
    studio.files.load_recipe("B", ROOT / "resources" / "recipes" / "pet.json")
    studio.compare.set_take(1, "B")
    studio.compare.set_stage(0, "plate")
    studio.bench.open_step("screen")
    studio.compare.viewport.zoom_one_to_one(FACE_MM)
    settle(studio)
    save(studio, "dots")
    studio.session.mark_saved()
    studio.close()


def settle(studio: Studio) -> None:
    """Wait until every pane shows its final picture."""
    loop = QEventLoop()
    studio.panes.settled.connect(loop.quit)
    QTimer.singleShot(LONGEST_MS, loop.quit)
    studio.panes.refresh()
    loop.exec()


def save(studio: Studio, name: str) -> None:
    """Write one picture."""
    studio.grab().save(str(TARGET / f"{name}.png"))


if __name__ == "__main__":
    main()
