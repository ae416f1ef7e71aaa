"""A strip written into a folder: bitmaps, cell look, placement sheet and, last, strip.json."""

import os
import re
from pathlib import Path

from engine import output
from engine.strip.make import Made
from engine.strip.placement_sheet import placement_sheet
from shared.atomic import allowed_target, write_atomically, write_text
from shared.errors import InputError, OutputError
from shared.profile_file import profile_from_data
from shared.strip import Strip, dump_strip, read_strip

SHEET = "placement-sheet.pdf"
STRIP = "strip.json"
_RUN_FILE = re.compile(r"run\d\d_[\d.-]+_[\d.]+\.png")


def write_strip(
    made: Made, folder: Path, *, overwrite: bool = False, photo_path: Path | None = None
) -> list[Path]:
    """Write a strip; the folder is made if it is missing. Returns the paths, strip.json last.

    Nothing is written when one of the files is there already and may not be replaced. A folder
    with a strip.json holds the whole strip. Runs of a strip that is replaced, which the new one
    does not have, are taken away at the end.

    Raises OutputError when the place cannot be used and WriteError when the writing failed.
    """
    strip = made.strip
    *bitmaps, look, sheet, described = files_of(strip, folder)
    check_folder(folder)
    for path in (*bitmaps, look, sheet, described):
        allowed_target(path, overwrite=overwrite, photo_path=photo_path)
    page = placement_sheet(strip, made.bitmaps, profile_from_data(strip.profile))
    left_over = _runs_of(described) if overwrite else set()
    if overwrite:
        described.unlink(missing_ok=True)
    for path, bitmap in zip(bitmaps, made.bitmaps, strict=True):
        output.write_bitmap(bitmap, path, overwrite=overwrite, photo_path=photo_path)
    output.write_grey16(
        made.cell_look, look, strip.pitch_mm, overwrite=overwrite, photo_path=photo_path
    )
    write_atomically(sheet, page, overwrite=overwrite, photo_path=photo_path)
    write_text(dump_strip(strip), described, overwrite=overwrite, photo_path=photo_path)
    for path in left_over.difference(bitmaps):
        path.unlink(missing_ok=True)
    return [*bitmaps, look, sheet, described]


def files_of(strip: Strip, folder: Path) -> list[Path]:
    """All that a strip is in its folder, strip.json last."""
    names = [*(run.file for run in strip.runs), strip.cell_look, SHEET, STRIP]
    return [folder / name for name in names]


def _runs_of(described: Path) -> set[Path]:
    """The bitmaps of the strip that is described there, if one is; only those beside it."""
    try:
        strip = read_strip(described)
    except InputError:
        return set()
    names = {run.file for run in strip.runs}
    return {described.parent / name for name in names if _RUN_FILE.fullmatch(name)}


def check_folder(folder: Path) -> None:
    """Make the folder if it is missing; OutputError when it cannot be used."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        raise OutputError(f"The folder {folder} cannot be made; choose another one.") from None
    if not os.access(folder, os.W_OK):
        raise OutputError(f"Nothing can be written into {folder}; choose another folder.")
