"""Tries, with the Python of .venv, whether Qt and OpenCV find their system libraries.

    python -I probe.py [xcb] [wayland]

Prints one JSON object: `missing` is the loader's message or null, `fonts` the number of font
families that Qt sees.
"""

import ctypes
import json
import os
import sys
from pathlib import Path

PLUGINS = {"xcb": "libqxcb.so", "wayland": "libqwayland.so"}


def probe(platforms: list[str]) -> dict[str, str | int | None]:
    """Load what Rimetype loads, and the plugins by which Qt opens windows on `platforms`."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    try:
        import cv2  # noqa: F401
        import PySide6.QtWidgets  # noqa: F401
        from PySide6.QtCore import QLibraryInfo
        from PySide6.QtGui import QFontDatabase, QGuiApplication

        folder = Path(QLibraryInfo.path(QLibraryInfo.LibraryPath.PluginsPath)) / "platforms"
        for platform in platforms:
            ctypes.CDLL(str(folder / PLUGINS[platform]))
    except (ImportError, OSError) as error:
        return {"missing": str(error), "fonts": None}
    application = QGuiApplication([])
    families = len(QFontDatabase.families())
    del application
    return {"missing": None, "fonts": families}


if __name__ == "__main__":
    print(json.dumps(probe(sys.argv[1:])))
