"""Tries, with the Python of .venv, whether Qt and OpenCV find their system libraries.

    python -I probe.py [xcb] [wayland]

Prints one JSON object: `missing` is the loader's message or null, `fonts` says whether Qt has a
font to write with.
"""

import ctypes
import json
import os
import sys
from pathlib import Path

PLUGINS = {"xcb": "libqxcb.so", "wayland": "libqwayland.so"}


def probe(platforms: list[str]) -> dict[str, str | bool | None]:
    """Load what Rimetype loads, and the plugins by which Qt opens windows on `platforms`."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    try:
        import cv2  # noqa: F401
        import PySide6.QtWidgets  # noqa: F401
        from PySide6.QtCore import QLibraryInfo
        from PySide6.QtGui import QFont, QGuiApplication, QRawFont

        folder = Path(QLibraryInfo.path(QLibraryInfo.LibraryPath.PluginsPath)) / "platforms"
        for platform in platforms:
            ctypes.CDLL(str(folder / PLUGINS[platform]))
    except (ImportError, OSError) as error:
        return {"missing": str(error), "fonts": True}
    application = QGuiApplication([])
    # Qt lists families such as "Serif" even where there is no font, but then writes with a font
    # without a name, whose every letter is a box.
    family = QRawFont.fromFont(QFont()).familyName()
    del application
    return {"missing": None, "fonts": bool(family)}


if __name__ == "__main__":
    print(json.dumps(probe(sys.argv[1:])))
