"""A strip written into a folder: bitmaps, cell look, placement sheet, a file for readings that is
to be filled in and, last, strip.json."""

import os
import re
from collections.abc import Iterator
from pathlib import Path

from engine import output
from engine.strip.make import Made
from engine.strip.placement_sheet import placement_sheet
from engine.strip.readings_file import fill_in
from shared.atomic import NewFile, allowed_target, write_together
from shared.errors import InputError, OutputError
from shared.profile_file import profile_from_data
from shared.strip import Strip, dump_strip, read_strip

SHEET = "placement-sheet.pdf"
READINGS = "readings.csv"
STRIP = "strip.json"
_RUN_FILE = re.compile(r"run\d\d_[\d.-]+_[\d.]+\.png")


def write_strip(
    made: Made, folder: Path, *, overwrite: bool = False, photo_path: Path | None = None
) -> list[Path]:
    """Write a strip; the folder is made if it is missing. Returns the paths, strip.json last.

    All files are written or none: whatever fails, a strip that was there stays whole. A folder
    with a strip.json holds the whole strip. Runs of a strip that is replaced, which the new one
    does not have, are taken away at the end; readings that were filled in are never replaced.

    Raises OutputError when the place cannot be used and WriteError when the writing failed.
    """
    paths = files_of(made.strip, folder)
    check_folder(folder)
    for path in paths:
        allowed_target(path, overwrite=overwrite, photo_path=photo_path)
    *_, readings, described = paths
    old = _strip_there(described) if overwrite else None
    _check_readings(readings, made.strip, old)
    left_over = _runs_of(old, folder).difference(paths)
    write_together(_new_files(made, paths), overwrite=overwrite, photo_path=photo_path)
    for path in left_over:
        path.unlink(missing_ok=True)
    return paths


def _new_files(made: Made, paths: list[Path]) -> Iterator[NewFile]:
    """One by one, since a strip's bitmaps are large."""
    *bitmaps, look, sheet, readings, described = paths
    strip = made.strip
    for path, bitmap in zip(bitmaps, made.bitmaps, strict=True):
        yield output.bitmap_file(bitmap, path)
    yield output.grey16_file(made.cell_look, look, strip.pitch_mm)
    page = placement_sheet(strip, made.bitmaps, profile_from_data(strip.profile))
    yield NewFile(sheet, page)
    yield NewFile(readings, fill_in(strip).encode())
    yield NewFile(described, dump_strip(strip).encode())


def files_of(strip: Strip, folder: Path) -> list[Path]:
    """All that a strip is in its folder, strip.json last."""
    names = [*(run.file for run in strip.runs), strip.cell_look, SHEET, READINGS, STRIP]
    return [folder / name for name in names]


def _strip_there(described: Path) -> Strip | None:
    try:
        return read_strip(described)
    except InputError:
        return None


def _check_readings(readings: Path, strip: Strip, old: Strip | None) -> None:
    """Raise OutputError when there is a file that was filled in."""
    plain = {fill_in(known).encode() for known in (strip, old) if known is not None}
    if readings.exists() and readings.read_bytes() not in plain:
        raise OutputError(
            f"{readings} was filled in or changed and is never replaced; move it elsewhere, or "
            "choose another folder for this strip."
        )


def _runs_of(strip: Strip | None, folder: Path) -> set[Path]:
    """The bitmaps of a strip in its folder; only those beside it."""
    names = {run.file for run in strip.runs} if strip is not None else set()
    return {folder / name for name in names if _RUN_FILE.fullmatch(name)}


def check_folder(folder: Path) -> None:
    """Make the folder if it is missing; OutputError when it cannot be used."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        raise OutputError(f"The folder {folder} cannot be made; choose another one.") from None
    if not os.access(folder, os.W_OK):
        raise OutputError(f"Nothing can be written into {folder}; choose another folder.")
