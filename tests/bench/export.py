"""Export: its time, its memory, its agreement with the live look, and what is on the disk."""

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import cv2
import numpy as np
import plain
import psutil
from numpy.typing import NDArray
from pictures import portrait
from PIL import Image
from table import Row, in_turns, percentile, seconds

from app.making import Targets, make_plate
from engine import linearise
from engine.drive import aim_of
from engine.flow import Flow, prepare
from engine.grid import overview
from engine.output import read_resolution_mm
from engine.photo import open_photo, photo_from_array
from engine.plate_bitmap import burn
from shared.profile import GENERIC
from shared.recipe import Recipe
from tests.dots_parts import gained

PITCH_MM = 0.0847


def recipe(tiny: bool) -> Recipe:
    """The plate of the table, or a stamp of it."""
    width, height = (15.0, 20.0) if tiny else (300.0, 400.0)
    margin = 0.3 if tiny else 6.0
    return Recipe().changed(
        plate__width_mm=width,
        plate__height_mm=height,
        plate__margin_mm=margin,
        plate__pitch_mm=PITCH_MM,
    )


def write_photo(folder: Path, tiny: bool) -> Path:
    """A JPEG as from a camera."""
    path = folder / "photo.jpg"
    rows, columns = (300, 200) if tiny else (6000, 4000)
    Image.fromarray(portrait(rows, columns)).save(path, quality=92)
    return path


def plain_export(photo: Path, wish: Recipe, target: Path) -> None:
    """Decode, crop, resize, grey, tone, local contrast, sharpening, curve, spread, dots, PNG."""
    with Image.open(photo) as image:
        pixels = np.asarray(image.convert("RGB"))
    plate, edge = wish.plate, round(wish.plate.margin_mm / wish.plate.pitch_mm)
    across, down = plate.columns - 2 * edge, plate.rows - 2 * edge
    rows, columns = pixels.shape[:2]
    kept = min(rows, round(columns * down / across)), min(columns, round(rows * across / down))
    top, left = (rows - kept[0]) // 2, (columns - kept[1]) // 2
    cropped = pixels[top : top + kept[0], left : left + kept[1]]
    larger = across > kept[1]
    way = cv2.INTER_CUBIC if larger else cv2.INTER_AREA
    small = cv2.resize(cropped, (across, down), interpolation=way)
    rgb = small.astype(np.float32) * np.float32(1.0 / 255.0)
    toned = plain.toned(plain.grey(rgb, wish), wish.tone)
    formed = plain.formed(toned, wish.tone, plate.pitch_mm)
    sharp = plain.sharpened(formed, wish.detail, plate.pitch_mm)
    asked = plain.drive(sharp, aim_of(wish, GENERIC))
    drive = np.zeros((plate.rows, plate.columns), np.uint8)
    drive[edge : edge + down, edge : edge + across] = np.round(255.0 * asked)
    dots = Image.fromarray(255 - drive[:, ::-1]).convert("1")
    per_inch = 25.4 / plate.pitch_mm
    dots.save(target, dpi=(per_inch, per_inch))


def our_export(photo: Path, wish: Recipe, target: Path) -> None:
    """What the command line and the window do."""
    make_plate(photo, wish, Targets(target, replace=True), None, lambda _: None)


def export_rows(tiny: bool) -> Iterator[Row]:
    """Time and memory of the export, and what it wrote."""
    wish = recipe(tiny)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        photo = write_photo(folder, tiny)
        ours, bare = folder / "ours.png", folder / "plain.png"
        turns = [
            (lambda: our_export(photo, wish, ours), lambda: plain_export(photo, wish, bare))
        ] * (2 if tiny else 5)
        megapixels = wish.plate.columns * wish.plate.rows / 1e6
        yield in_turns(turns).row(
            "export, 1-bit, spread made up for",
            2.0,
            f"{megapixels:.1f} megapixels; ours reads the file back",
        )
        yield memory_row(photo, tiny)
        yield from file_rows(photo, wish, ours)


def memory_row(photo: Path, tiny: bool) -> Row:
    """Peak of a process of its own, above what it holds before it opens the photo."""
    command = [sys.executable, str(Path(__file__).with_name("run.py")), "--peak-of", str(photo)]
    found = subprocess.run(
        command + ["--tiny"] * tiny, check=True, capture_output=True, text=True, timeout=600
    )
    start, peak = (float(word) for word in found.stdout.split())
    plate = recipe(tiny).plate
    each = (peak - start) / (plate.columns * plate.rows)
    note = f"{(peak - start) / 1e6:.0f} MB above the start, photo and all"
    target = 1e4 if tiny else 24.0
    return Row("peak memory of the export", each, "B/px", target, note=note)


def print_peak(photo: Path, tiny: bool) -> None:
    """In the process that is measured: bytes before the export, and the most there ever were."""
    wish = recipe(tiny)
    start = psutil.Process().memory_info().rss
    our_export(photo, wish, photo.with_name("peak.png"))
    print(start, _most_resident())


def _most_resident() -> int:
    """The most bytes that this process ever held in memory, as Linux counts them.

    Not `getrusage`: that goes on with the figure of the process which started this one.
    """
    lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
    return next(int(line.split()[1]) * 1024 for line in lines if line.startswith("VmHWM"))


def file_rows(photo: Path, wish: Recipe, written: Path) -> Iterator[Row]:
    """The file against the computed plate, and the size that it states."""
    computed = burn(prepare(open_photo(photo)), wish).bitmap.pixels
    with Image.open(written) as image:
        image.load()
        read = np.asarray(image.convert("L"))
    apart = np.count_nonzero(read != computed) if read.shape == computed.shape else read.size
    yield Row("plate bitmap read again: pixels that differ", float(apart), "px", 0.0)
    stated = read_resolution_mm(written)[0] * wish.plate.columns
    off = abs(stated - wish.plate.columns * PITCH_MM) / PITCH_MM
    yield Row("plate bitmap read again: width that is off", off, "px", 1.0)


def following_rows(tiny: bool) -> Iterator[Row]:
    """The plate's computation where dots follow a measured glass, against where none was."""
    wish = recipe(tiny)
    prepared = prepare(photo_from_array(portrait(*((300, 200) if tiny else (3000, 2000))), "bench"))
    for kind in ("diffusion", "mixed"):
        asked, measured = wish.changed(screen__kind=kind), gained(kind, 0.9)
        turns = [(partial(burn, prepared, asked, measured), partial(burn, prepared, asked))]
        yield in_turns(turns * (2 if tiny else 3)).row(f"dots follow the glass: {kind}", 6.0)


def curve_rows(tiny: bool) -> Iterator[Row]:
    """How long the tones of a screen take that the profile did not measure; once for a screen, a
    profile and a pitch. Where the laser's power follows the tone, there is nothing to simulate."""
    make = linearise.tone_curve.__wrapped__
    for kind in ("diffusion", "bluenoise", "clustered", "mixed", "threshold"):
        screen = Recipe().changed(screen__kind=kind).screen
        make(GENERIC, screen, PITCH_MM)
        times = [
            seconds(lambda s=screen: make(GENERIC, s, PITCH_MM)) for _ in range(2 if tiny else 9)
        ]
        yield Row(f"tone curve simulated: {kind}", percentile(times, 0.5) * 1e3, "ms", 300.0)


def agreement_rows(tiny: bool) -> Iterator[Row]:
    """The live look of a pane against the export reduced to its size, in CIE L* of the look."""
    wish = recipe(tiny)
    rows, columns = (900, 600) if tiny else (6000, 4000)
    prepared = prepare(photo_from_array(portrait(rows, columns), "bench"))
    grid = overview(wish.plate, 100 if tiny else 1100)
    live = Flow(prepared).look(wish, grid)
    full = burn(prepared, wish).look.astype(np.float32) / np.float32(65535.0)
    size = (grid.columns, grid.rows)
    reduced = cv2.resize(full, size, interpolation=cv2.INTER_AREA)
    apart = _inside_margin(100.0 * np.abs(live - reduced), wish, grid.pitch_mm)
    yield Row("live look against export: mean", float(apart.mean()), "L*", 0.5)
    yield Row("live look against export: 99 %", float(np.percentile(apart, 99)), "L*", 2.0)


def _inside_margin(values: NDArray[np.float32], wish: Recipe, pitch: float) -> NDArray[np.float32]:
    """Without the pixels that the margin's edge runs through."""
    edge = int(wish.plate.margin_mm / pitch) + 2
    return values[edge:-edge, edge:-edge]
