"""The demo portrait, and the main job on it where there is no display."""

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from shared.errors import OutputError
from shared.paths import RESOURCES
from shared.recipe import Recipe

PORTRAIT = RESOURCES / "demo" / "portrait.jpg"


def make(folder: Path, portrait: Path = PORTRAIT) -> list[Path]:
    """Write plate, look, proof and a picture of the studio into a folder; returns their paths.

    Files of an earlier run are replaced. No window appears, and what the person set or left
    unsaved in the studio is neither used nor changed.
    """
    from app.making import Targets, make_plate

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        raise OutputError(f"The folder {folder} cannot be made; choose another one.") from None
    names = ("plate.png", "look.png", "proof.png")
    plate, look, proof = (folder / name for name in names)
    targets = Targets(plate, look, proof, replace=True)
    make_plate(portrait, Recipe(), targets, None, lambda _: None)
    studio = folder / "studio.png"
    with _apart():
        from app.launch import picture_of_studio

        picture_of_studio(portrait, studio)
    return [plate, look, proof, studio]


@contextlib.contextmanager
def _apart() -> Iterator[None]:
    """Qt without a display, and a home that is thrown away."""
    before = {name: os.environ.get(name) for name in ("QT_QPA_PLATFORM", "RIMETYPE_HOME")}
    with tempfile.TemporaryDirectory() as home:
        os.environ.update({"QT_QPA_PLATFORM": "offscreen", "RIMETYPE_HOME": home})
        try:
            yield
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value
