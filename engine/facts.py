"""The ticket: the facts of the job and its warnings, as data for the window and for reports."""

from typing import Any

import attrs

from engine import glass
from engine.glass_cautions import Caution, glass_cautions
from engine.kinematics import plate_time_s
from engine.measure import Shares
from engine.photo import Photo
from shared import units
from shared.profile import GlassProfile, Setting
from shared.recipe import Recipe, field_info
from shared.stale import stale_today
from shared.units import percent

_MOST_BARE = 0.30
_MOST_FULL = 0.08
_LEAST_LIGHTNESS_RANGE = 30.0
_WHOLE = 0.999
"""As good as one photo pixel for each etch pixel."""
_FAIR_SHARE = 0.6
"""Photo pixels per etch pixel below which softness shows; a starting guess."""


@attrs.frozen
class Facts:
    """Everything that the ticket says. Shares are None until they were measured."""

    photo_name: str
    photo_columns: int
    photo_rows: int
    width_mm: float
    height_mm: float
    pitch_mm: float
    columns: int
    rows: int
    photo_pixels_per_mm: float
    etch_pixels_per_mm: float
    mirrored: bool
    inverted: bool
    bits: int
    screen: str
    profile_name: str
    profile_origin: str
    machine: Setting
    """What to set at the machine; the pitch is the plate's."""
    seconds: float
    """How long the machine takes, by the profile's acceleration."""
    bare_share: float | None
    full_share: float | None
    cautions: tuple[Caution, ...]
    notes: tuple[str, ...] = ()
    """How the photo was read, where that is worth telling."""

    @property
    def handling(self) -> str:
        """What has been done to the file, so that it is not done again."""
        if self.mirrored and self.inverted:
            return "The file is already mirrored and inverted: do neither again."
        if self.mirrored:
            return "The file is already mirrored and must not be inverted: do neither."
        if self.inverted:
            return "The file is already inverted and must not be mirrored: do neither."
        return "The file is neither mirrored nor inverted, and must not be: do neither."

    @property
    def enough(self) -> str:
        """Whether the photo's pixels are enough for this size and pitch."""
        share = self.photo_pixels_per_mm / self.etch_pixels_per_mm
        if share >= _WHOLE:
            return "enough"
        return "fair" if share >= _FAIR_SHARE else "too few"


def facts(
    recipe: Recipe,
    photo: Photo,
    profile: GlassProfile,
    shares: Shares | None,
    fitted: GlassProfile | None = None,
) -> Facts:
    """The ticket of one take. `fitted` holds the machine and the glass of today, if known."""
    plate = recipe.plate
    rows, columns = photo.pixels.shape[:2]
    mm_per_pixel = recipe.placement.mm_per_photo_pixel(plate, columns, rows)
    dots = recipe.screen.is_dots and not recipe.output.eight_bit
    found = Facts(
        photo_name=photo.name,
        photo_columns=columns,
        photo_rows=rows,
        width_mm=plate.width_mm,
        height_mm=plate.height_mm,
        pitch_mm=plate.pitch_mm,
        columns=plate.columns,
        rows=plate.rows,
        photo_pixels_per_mm=1.0 / mm_per_pixel,
        etch_pixels_per_mm=1.0 / plate.pitch_mm,
        mirrored=plate.mirrored,
        inverted=plate.inverted,
        bits=1 if dots else 8,
        screen=recipe.screen.kind,
        profile_name=profile.name,
        profile_origin=profile.origin,
        machine=attrs.evolve(profile.setting, pitch_mm=plate.pitch_mm),
        seconds=_seconds(recipe, profile),
        bare_share=None if shares is None else shares.bare,
        full_share=None if shares is None else shares.full,
        cautions=(),
        notes=photo.notes,
    )
    return attrs.evolve(found, cautions=tuple(_cautions(recipe, found, profile, fitted)))


def report(found: Facts, recipe: Recipe) -> dict[str, Any]:
    """The ticket as plain data for a JSON report."""
    data = attrs.asdict(found)
    data["handling"] = found.handling
    data["photo_enough"] = found.enough
    data["machine"]["lines"] = found.rows
    data["recipe"] = attrs.asdict(recipe)
    return data


def screen_label(kind: str) -> str:
    """A screen's name for people."""
    return field_info("screen.kind").option(kind).label


def _cautions(
    recipe: Recipe, found: Facts, profile: GlassProfile, fitted: GlassProfile | None
) -> list[Caution]:
    plate = recipe.plate
    said: list[Caution] = _stale(recipe, profile, fitted)
    if plate.margin_mm < plate.least_margin_mm:
        said.append(
            Caution(
                "plate",
                f"The margin is under {plate.least_margin_mm:.1f} mm, twice the thickness: "
                "etching near the edge can crack the sheet.",
            )
        )
    if found.enough != "enough":
        said.append(
            Caution(
                "plate",
                f"The photo has {found.photo_pixels_per_mm:.1f} pixels per mm for "
                f"{found.etch_pixels_per_mm:.1f} etch pixels: choose a smaller plate, "
                "a coarser pitch or a larger photo.",
            )
        )
    if found.bare_share is not None and found.bare_share > _MOST_BARE:
        said.append(
            Caution(
                "tone",
                f"{percent(found.bare_share)} of the picture stays bare glass: open the shadows, "
                "or raise the least frost.",
            )
        )
    if found.full_share is not None and found.full_share > _MOST_FULL:
        said.append(
            Caution(
                "tone",
                f"{percent(found.full_share)} of the picture is full frost without detail: "
                "hold the highlights.",
            )
        )
    ends = glass.ends(profile.light, recipe.glass.backing, plate.mark)
    if ends.lightness_range < _LEAST_LIGHTNESS_RANGE:
        said.append(
            Caution(
                "glass",
                "Frost hardly stands out from this backing: choose a darker one.",
            )
        )
    said += glass_cautions(recipe, profile)
    return said + _resolution_caution(plate.pitch_mm, max(plate.width_mm, plate.height_mm))


def _stale(recipe: Recipe, profile: GlassProfile, fitted: GlassProfile | None) -> list[Caution]:
    reasons = stale_today(profile, fitted, recipe.plate.thickness_mm)
    if not reasons:
        return []
    words = f"The glass profile may not hold any more. {' '.join(reasons)} Make a new test strip."
    return [Caution("glass", words)]


def _seconds(recipe: Recipe, profile: GlassProfile) -> float:
    plate = recipe.plate
    lines = units.pixel_count(plate.picture_height_mm, plate.pitch_mm)
    return plate_time_s(
        plate.picture_width_mm,
        lines,
        profile.setting.speed_mm_s,
        profile.machine.acceleration_mm_s2,
        profile.setting.both_directions,
    )


def _resolution_caution(pitch_mm: float, longest_mm: float) -> list[Caution]:
    stored_pitch = 1000.0 / units.pixels_per_metre(pitch_mm)
    error_mm = abs(stored_pitch / pitch_mm - 1.0) * longest_mm
    if error_mm < pitch_mm:
        return []
    return [
        Caution(
            "output",
            f"PNG and BMP round this pitch: the plate would come out {error_mm:.2f} mm off. "
            "Write TIFF, or choose another pitch.",
        )
    ]
