"""From a photo's path to finished files: what the command line and the studio's Output share."""

import json
from pathlib import Path

import attrs

from app.fitted_file import read_fitted
from engine import facts as ticket
from engine import output
from engine.flow import Prepared, prepare
from engine.photo import open_photo
from engine.plate_bitmap import burn
from engine.progress import Progress
from shared import recipe_file
from shared.atomic import allowed_target, write_text
from shared.errors import OutputError, RecipeError
from shared.limits import DEFAULT_LIMIT_MP
from shared.profile import GENERIC, GlassProfile
from shared.recipe import Recipe


@attrs.frozen
class Targets:
    """The files to write; only the plate bitmap is a must."""

    plate: Path
    look: Path | None = None
    proof: Path | None = None
    report: Path | None = None
    replace: bool = False

    def check(self, photo_path: Path | None) -> None:
        """Raise OutputError before any work when a file could not be written."""
        wanted = [p for p in (self.plate, self.look, self.proof, self.report) if p is not None]
        if len({p.resolve() for p in wanted}) < len(wanted):
            raise OutputError("Two of the files to write have the same name; give each its own.")
        if self.plate.suffix.lower() not in output.PLATE_SUFFIXES:
            raise OutputError("The plate bitmap must end in .png, .tif or .bmp; change its name.")
        if any(p is not None and p.suffix.lower() != ".png" for p in (self.look, self.proof)):
            raise OutputError("Look and proof are PNG files; let their names end in .png.")
        for path in wanted:
            allowed_target(path, overwrite=self.replace, photo_path=photo_path)


def read_recipe(path: Path, onto: Recipe | None = None) -> Recipe:
    """A recipe file, laid over `onto`."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise RecipeError(f"The recipe {path} cannot be read; check its name.") from None
    return recipe_file.load_recipe(text, onto)


def make_plate(
    photo_path: Path,
    recipe: Recipe,
    targets: Targets,
    limit_mp: float | None,
    progress: Progress,
    profile: GlassProfile = GENERIC,
) -> ticket.Facts:
    """Open a photo, burn its plate, write the files. Returns the ticket."""
    targets.check(photo_path)
    photo = open_photo(photo_path, matte=recipe.photo.matte, limit_mp=limit_mp or DEFAULT_LIMIT_MP)
    return write_plate(prepare(photo), recipe, targets, progress, profile)


def write_plate(
    prepared: Prepared,
    recipe: Recipe,
    targets: Targets,
    progress: Progress,
    profile: GlassProfile = GENERIC,
) -> ticket.Facts:
    """Burn the plate of a prepared photo and write the files. Returns the ticket.

    `progress` may raise `Cancelled` while the plate is computed; once writing has begun, all the
    files are written.
    """
    photo_path = prepared.photo.path
    targets.check(photo_path)
    done = burn(prepared, recipe, profile, progress)
    found = ticket.facts(recipe, prepared.photo, profile, done.shares, read_fitted())
    pitch, replace = recipe.plate.pitch_mm, targets.replace
    output.write_bitmap(done.bitmap, targets.plate, overwrite=replace, photo_path=photo_path)
    if targets.look is not None:
        output.write_grey16(
            done.look, targets.look, pitch, overwrite=replace, photo_path=photo_path
        )
    if targets.proof is not None:
        output.write_grey8(
            done.proof(profile), targets.proof, pitch, overwrite=replace, photo_path=photo_path
        )
    if targets.report is not None:
        text = json.dumps(ticket.report(found, recipe), indent=2, ensure_ascii=False) + "\n"
        write_text(text, targets.report, overwrite=replace, photo_path=photo_path)
    return found
