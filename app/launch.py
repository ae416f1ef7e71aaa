"""Starts the studio, or takes a picture of it where nobody looks on."""

import gc
import importlib
import os
import sys
import threading
from pathlib import Path

from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtWidgets import QApplication

from app import demo, theme
from app.qimage import array_from_image
from app.settings import Settings
from app.studio import Studio
from shared.errors import PhotoError

SCREEN_PITCH_MM = 25.4 / 96.0
READ_AHEAD_MS = 100
"""How long the shown window has the processor to itself before the engine is imported."""


def make_application() -> QApplication:
    """The Qt application in its style; one for each process."""
    existing = QApplication.instance()
    if isinstance(existing, QApplication):
        return existing
    application = QApplication(sys.argv[:1])
    application.setApplicationName("Rimetype")
    application.setDesktopFileName("io.rimetype.studio")
    application.setWindowIcon(theme.icon("rimetype"))
    theme.apply(application)
    return application


def open_studio(photo: Path | None) -> int:
    """Open the window and stay until it is closed; the first start shows the demo portrait."""
    application = make_application()
    studio = Studio(Settings())
    studio.show()
    QTimer.singleShot(0, studio, lambda: _go_on(studio, photo))
    status = application.exec()
    if not studio.ended:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)  # a decoder cannot be called off, and holds nothing that could be lost
    return status


def _go_on(studio: Studio, photo: Path | None) -> None:
    """The window is shown: what was imported for it need not be looked through for garbage."""
    gc.freeze()
    gc.enable()
    studio.panes.settled.connect(_read_strip_ahead, Qt.ConnectionType.SingleShotConnection)
    begin(studio, photo)
    QTimer.singleShot(READ_AHEAD_MS, studio, _read_engine_ahead)


def _read_engine_ahead() -> None:
    """So that the first photo need not wait for it."""
    _read_ahead("engine.view")


def _read_strip_ahead() -> None:
    """So that the page of the test strip need not wait for it; the first picture comes first."""
    _read_ahead("engine.strip.judge")


def _read_ahead(module: str) -> None:
    threading.Thread(target=importlib.import_module, args=(module,)).start()


def begin(studio: Studio, photo: Path | None) -> None:
    """What a start does: offer unsaved work, and open what was asked for."""
    left = studio.journal.left_over()
    if left is not None:
        studio.offer_unsaved_work(left)
    if photo == demo.PORTRAIT or (photo is None and left is None and not studio.settings.recent):
        studio.open_demo()
    elif photo is not None:
        studio.files.open_any(photo)


def picture_of_studio(photo: Path, target: Path) -> None:
    """Open the window on a photo, save a picture of it as PNG and close it again.

    Raises PhotoError when the photo cannot be opened.
    """
    from engine.output import write_rgb8

    application = make_application()
    studio = Studio(Settings())
    loop = QEventLoop()
    failures: list[str] = []
    studio.panes.settled.connect(loop.quit)
    studio.opener.failed.connect(failures.append)
    studio.opener.failed.connect(loop.quit)
    studio.show()
    studio.opener.open_path(photo)
    loop.exec()
    if failures:
        studio.close()
        raise PhotoError(failures[0])
    application.processEvents()
    pixels = array_from_image(studio.grab().toImage())[:, :, :3]
    write_rgb8(pixels, target, SCREEN_PITCH_MM, overwrite=True)
    studio.close()
