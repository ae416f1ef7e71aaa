"""A small strip in a folder, burnt on a virtual sheet and photographed: what a user has on disk."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.ExifTags import IFD, Base
from PIL.TiffImagePlugin import IFDRational

from engine.flow import Prepared, prepare
from engine.photo import open_photo
from engine.strip.make import Made, Plan, make_strip
from shared.profile import GENERIC, GlassProfile
from shared.recipe import Recipe
from shared.strip import Strip, read_strip
from tests import virtual_camera, virtual_sheet
from tests.virtual_strip import etched

DEMO = Path(__file__).parents[1] / "resources" / "demo" / "portrait.jpg"
SHEET = virtual_sheet.SHEETS["fine"]
PLAN = Plan(
    pairs=((55.0, 17.0), (20.0, 12.0)),
    speeds=(350.0,),
    screens=("diffusion",),
    size_mm=(75.0, 90.0),
    margin_mm=6.0,
)
"""A good setting and one that is much too weak, on a scrap that just holds both."""
GOOD, WEAK = 0, 1


@lru_cache(maxsize=1)
def portrait() -> Prepared:
    """The demo portrait."""
    return prepare(open_photo(DEMO))


def machine_profile() -> GlassProfile:
    """A starting guess that knows the tube's watts."""
    return attrs.evolve(GENERIC, machine=attrs.evolve(GENERIC.machine, rated_w=SHEET.rated_w))


@lru_cache(maxsize=1)
def made() -> Made:
    """The strip."""
    return make_strip(portrait(), Recipe(), machine_profile(), PLAN)


def photographed(folder: Path) -> NDArray[np.uint8]:
    """The strip of a folder, burnt as its files say and photographed: rows x columns x 3, sRGB."""
    return _photographed(folder, read_strip(folder / "strip.json"), exchanged=False)


def photographed_exchanged(folder: Path) -> NDArray[np.uint8]:
    """The same, but for the settings of both runs, which were exchanged at the machine."""
    return _photographed(folder, read_strip(folder / "strip.json"), exchanged=True)


def photographed_darker(folder: Path) -> NDArray[np.uint8]:
    """A second photo of the same, with half the light."""
    strip = read_strip(folder / "strip.json")
    return _photographed(folder, strip, exchanged=False, exposure=0.5)


def _photographed(
    folder: Path, strip: Strip, *, exchanged: bool, exposure: float = 1.0
) -> NDArray[np.uint8]:
    settings = strip.runs[::-1] if exchanged else strip.runs
    pieces = []
    for run, setting in zip(strip.runs, settings, strict=True):
        codes = cv2.imread(str(folder / run.file), cv2.IMREAD_GRAYSCALE)
        burnt = etched(SHEET, np.asarray(codes, np.uint8), setting, strip.pitch_mm)
        pieces.append((burnt, run.origin_mm))
    sheet = virtual_sheet.assemble(SHEET, strip.size_mm, pieces)
    return virtual_camera.photograph(sheet, exposure=exposure)


def save_jpeg(path: Path, pixels: NDArray[np.uint8], seconds: tuple[int, int] = (1, 50)) -> Path:
    """A photo's file, which tells the exposure time."""
    exif = Image.Exif()
    told = {Base.ExposureTime: IFDRational(*seconds), Base.ISOSpeedRatings: 100}
    exif.get_ifd(IFD.Exif).update(told)
    Image.fromarray(pixels).save(path, quality=92, exif=exif)
    return path


def patches_of(strip: Strip, kind: str, run: int = GOOD) -> list[int]:
    """The numbers of a run's patches of a kind."""
    return [n for n, p in enumerate(strip.patches) if p.kind == kind and p.run == run]
