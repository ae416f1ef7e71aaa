"""The demo portrait, and the main job on it where there is no display."""

from pathlib import Path

from app.making import Targets, make_plate
from shared.errors import OutputError
from shared.paths import RESOURCES
from shared.recipe import Recipe

PORTRAIT = RESOURCES / "demo" / "portrait.jpg"


def make(folder: Path) -> list[Path]:
    """Write plate, look, proof and a picture of the studio into a folder; returns their paths.

    Files of an earlier run are replaced.
    """
    from app.studio import picture_of_studio

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        raise OutputError(f"The folder {folder} cannot be made; choose another one.") from None
    names = ("plate.png", "look.png", "proof.png")
    plate, look, proof = (folder / name for name in names)
    targets = Targets(plate, look, proof, replace=True)
    make_plate(PORTRAIT, Recipe(), targets, None, lambda _: None)
    studio = folder / "studio.png"
    picture_of_studio(PORTRAIT, studio)
    return [plate, look, proof, studio]
