"""A small test strip laid out by hand, for tests of reading only: it does not depend on how the
engine lays strips out."""

from collections.abc import Iterator
from itertools import cycle

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.strip.read_result import Reading
from shared.profile import Setting
from shared.strip import Box, Cell, Marker, Patch, Run, Strip
from tests.virtual_sheet import SETTINGS, Burnt, Sheet, assemble, burn

PITCH_MM = 0.1
SIZE_MM = (84.0, 62.0)
MARKER_MM = 7.2
PATCH_MM = 4.5
STEP_MM = 6.0
DRIVES = tuple(round(code / 255, 6) for code in (1, 13, 26, 51, 77, 102, 128, 166, 204, 230, 255))
SCREEN = {"kind": "diffusion"}


def told(reading: Reading) -> list[str]:
    """What a photo is warned of, but for a picture style, which one alone does not show wholly."""
    return [warning for warning in reading.warnings if "picture style" not in warning]


def etched(
    glass: Sheet, pixels: NDArray[np.uint8], setting: Run | Setting, pitch_mm: float = PITCH_MM
) -> Burnt:
    """A machine's bitmap burnt at a strip's or a profile's setting."""
    return burn(
        glass,
        pixels,
        power_max_pct=setting.power_max_pct,
        power_min_pct=setting.power_min_pct,
        speed_mm_s=setting.speed_mm_s,
        pitch_mm=pitch_mm,
    )


def hand_strip(sheet_name: str = "fine", ids: tuple[int, ...] = (4, 5, 6, 7)) -> Strip:
    """Two wedges of power and one of dots, twice each, solids, bare fields, lines and a cell."""
    setting = SETTINGS[sheet_name]["at_threshold"]
    run = Run(
        "run1.png", setting.power_max_pct, setting.power_min_pct, setting.speed_mm_s, (0.0, 0.0)
    )
    return Strip(
        number=1,
        size_mm=SIZE_MM,
        pitch_mm=PITCH_MM,
        screen=SCREEN,
        etched="back",
        runs=(run,),
        markers=tuple(_markers(ids)),
        patches=tuple(_patches()),
        cells=(Cell(Box(35.0, 48.0, 14.0, 12.0), 0),),
    )


def shot_at(strip: Strip, seed: int = 5) -> NDArray[np.float32]:
    """What is burnt, 0 to 1 at each pixel of the strip from the front; power patches alone have
    other values than 0 and 1."""
    columns, rows = (round(mm / PITCH_MM) for mm in strip.size_mm)
    front = np.zeros((rows, columns), np.float32)
    rng = np.random.default_rng(seed)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    for marker in strip.markers:
        part = _part(front, marker.box)
        code = cv2.aruco.generateImageMarker(dictionary, marker.id, part.shape[0])
        part[:] = code < 128  # its dark border is the frost
    for patch in strip.patches:
        part = _part(front, patch.box)
        part[:] = _field(patch, part.shape, rng)
    for cell in strip.cells:
        part = _part(front, cell.box)
        part[:] = rng.random(part.shape) < np.linspace(0, 1, part.shape[1])
    return front


def ideal(strip: Strip, bare_y: float = 0.015, frost_y: float = 0.33, sub: int = 4) -> Burnt:
    """A sheet that follows the drive exactly (Murray-Davies), without grain or spread."""
    luminance = bare_y + (frost_y - bare_y) * shot_at(strip)
    return Burnt(np.repeat(np.repeat(luminance, sub, 0), sub, 1), sub, PITCH_MM)


def burnt_strip(strip: Strip, sheet: Sheet) -> Burnt:
    """The strip burnt on a virtual sheet with the setting of its only run."""
    drive = shot_at(strip)[:, ::-1]  # etched into the back
    codes = (255 - np.rint(255 * drive)).astype(np.uint8)
    return assemble(sheet, strip.size_mm, [(etched(sheet, codes, strip.runs[0]), (0.0, 0.0))])


def truth(burnt: Burnt, strip: Strip, rim_mm: float = 0.6) -> NDArray[np.float64]:
    """Each patch's frost by luminance, between the means of the bare and of the solid patches."""
    means = np.array([_inside(burnt, patch.box, rim_mm).mean() for patch in strip.patches])
    kinds = np.array([patch.kind for patch in strip.patches])
    bare, solid = (means[kinds == kind].mean() for kind in ("bare", "solid"))
    return (means - bare) / (solid - bare)


def _inside(burnt: Burnt, box: Box, rim_mm: float) -> NDArray[np.float32]:
    top, left = box.top_mm + rim_mm, box.left_mm + rim_mm
    bottom, right = box.top_mm + box.height_mm - rim_mm, box.left_mm + box.width_mm - rim_mm
    r0, r1, c0, c1 = (round(mm / burnt.pixel_mm) for mm in (top, bottom, left, right))
    return burnt.luminance[r0:r1, c0:c1]


def _markers(ids: tuple[int, ...]) -> Iterator[Marker]:
    right, bottom = (size - 2.0 - MARKER_MM for size in SIZE_MM)
    places = ((2.0, 2.0), (right, 2.0), (right, bottom), (2.0, bottom))
    for number, (x, y) in zip(ids, places, strict=True):
        yield Marker(number, Box(x, y, MARKER_MM, MARKER_MM))


def _patches() -> list[Patch]:
    wanted = [
        *(("power", drive, "") for drive in DRIVES * 2),
        *(("screen", drive, "diffusion") for drive in DRIVES[2:] * 2),
        *(("solid", 1.0, ""),) * 8,
        *(("bare", 0.0, ""),) * 8,
    ]
    rng = np.random.default_rng(3)
    order = list(rng.permutation(len(wanted)))
    places = [
        Box(11.5 + STEP_MM * column, 3.0 + STEP_MM * row, PATCH_MM, PATCH_MM)
        for row in range(7)
        for column in range(10)
    ]
    patches = [
        Patch(wanted[i][0], box, 0, drive=wanted[i][1], screen=wanted[i][2])
        for i, box in zip(order, places, strict=False)
    ]
    line_boxes = places[len(wanted) : len(wanted) + 6]
    for box, per_mm, upright in zip(
        line_boxes, (0.5, 1, 2) * 2, cycle((True, False)), strict=False
    ):
        patches.append(Patch("lines", box, 0, drive=1.0, lines_per_mm=per_mm, upright=upright))
    return patches


def _field(patch: Patch, shape: tuple[int, int], rng: np.random.Generator) -> NDArray[np.float32]:
    if patch.kind == "screen":
        return (rng.random(shape) < patch.drive).astype(np.float32)
    if patch.kind == "lines":
        mm = (np.arange(shape[1] if patch.upright else shape[0]) + 0.5) * PITCH_MM
        wave = (mm * patch.lines_per_mm % 1.0 < 0.5).astype(np.float32)
        return np.broadcast_to(wave if patch.upright else wave[:, None], shape)
    return np.full(shape, patch.drive, np.float32)


def _part(picture: NDArray[np.float32], box: Box) -> NDArray[np.float32]:
    r0, c0 = round(box.top_mm / PITCH_MM), round(box.left_mm / PITCH_MM)
    height, width = round(box.height_mm / PITCH_MM), round(box.width_mm / PITCH_MM)
    return picture[r0 : r0 + height, c0 : c0 + width]
