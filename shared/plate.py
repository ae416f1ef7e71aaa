"""The piece of glass, and where the photo lies on it."""

import attrs

from shared import units
from shared.errors import RecipeError
from shared.fields import Option, choice, number

MOST_ETCH_PIXELS = 200_000_000

EDGE_DISTANCE_IN_THICKNESSES = 2.0
"""Least distance from the edge, in glass thicknesses; the rule that EN 12150-1 has for holes."""


@attrs.frozen
class Plate:
    """The glass and the facts of etching it. Coordinates are as seen from the front."""

    width_mm: float = number(
        "Width", 200.0, 5.0, 3000.0, step=0.1, unit="mm", help="Width of the whole sheet of glass."
    )
    height_mm: float = number(
        "Height",
        250.0,
        5.0,
        3000.0,
        step=0.1,
        unit="mm",
        help="Height of the whole sheet of glass.",
    )
    thickness_mm: float = number(
        "Thickness",
        3.0,
        0.5,
        25.0,
        step=0.1,
        unit="mm",
        help="Thickness of the glass; it decides how far from the edge is safe.",
    )
    margin_mm: float = number(
        "Safe margin",
        6.0,
        0.0,
        200.0,
        step=0.1,
        unit="mm",
        help="Bare border. Common practice is twice the thickness: fractures that meet the cut "
        "edge run on and break the sheet.",
    )
    pitch_mm: float = number(
        "Pitch",
        0.1,
        0.01,
        1.0,
        step=0.0001,
        unit="mm",
        help="Distance between etch pixels and between scan lines.",
    )
    etched: str = choice(
        "Etched side",
        "back",
        (
            Option("back", "Back", "The picture is seen through the glass, so it is mirrored."),
            Option("front", "Front", "The picture is seen directly, so it is not mirrored."),
        ),
        help="The side of the glass that the laser works on. The viewer looks at the front.",
    )
    mark: str = choice(
        "The mark comes out",
        "light",
        (
            Option("light", "Light", "Frost on a dark backing: the laser makes the light parts."),
            Option("dark", "Dark", "Frost before a light: the laser makes the dark parts."),
        ),
        help="Whether the laser's mark is lighter or darker than what it leaves alone.",
    )

    def __attrs_post_init__(self) -> None:
        if 2.0 * self.margin_mm >= min(self.width_mm, self.height_mm):
            raise RecipeError(
                "The margin leaves no room for the picture; make the plate larger "
                "or the margin smaller."
            )
        if self.columns * self.rows > MOST_ETCH_PIXELS:
            raise RecipeError(
                f"This plate has more than {MOST_ETCH_PIXELS // 1_000_000} million etch pixels; "
                "choose a coarser pitch or a smaller plate."
            )

    @property
    def columns(self) -> int:
        """Etch pixels along one scan line."""
        return units.pixel_count(self.width_mm, self.pitch_mm)

    @property
    def rows(self) -> int:
        """Scan lines."""
        return units.pixel_count(self.height_mm, self.pitch_mm)

    @property
    def mirrored(self) -> bool:
        """Whether the bitmap runs the other way round than the picture seen from the front."""
        return self.etched == "back"

    @property
    def inverted(self) -> bool:
        """Whether the light parts of the picture are the dark (burning) pixels of the bitmap."""
        return self.mark == "light"

    @property
    def unmarked_look(self) -> float:
        """Look of glass that the laser leaves alone: 0 for a light mark, 1 for a dark one."""
        return 0.0 if self.mark == "light" else 1.0

    @property
    def picture_width_mm(self) -> float:
        """Width inside the margins."""
        return self.width_mm - 2.0 * self.margin_mm

    @property
    def picture_height_mm(self) -> float:
        """Height inside the margins."""
        return self.height_mm - 2.0 * self.margin_mm

    @property
    def least_margin_mm(self) -> float:
        """The margin that common practice asks for with this thickness."""
        return EDGE_DISTANCE_IN_THICKNESSES * self.thickness_mm


@attrs.frozen
class Placement:
    """Where the photo lies on the plate."""

    fit: str = choice(
        "Photo on the plate",
        "fill",
        (
            Option("fill", "Fill", "The picture area is covered; what is too much is cropped."),
            Option("fit", "Fit", "The whole photo is shown; what is left over stays bare."),
        ),
        help="The scale that the scale field starts from.",
    )
    scale: float = number(
        "Scale",
        1.0,
        0.05,
        20.0,
        step=0.01,
        unit="%",
        help="Size of the photo against filling or fitting the picture area.",
    )
    centre_x: float = number(
        "Centre across",
        0.5,
        -0.5,
        1.5,
        step=0.001,
        unit="%",
        help="The place in the photo, from its left edge, that lies on the plate's centre.",
    )
    centre_y: float = number(
        "Centre down",
        0.5,
        -0.5,
        1.5,
        step=0.001,
        unit="%",
        help="The place in the photo, from its top edge, that lies on the plate's centre.",
    )
    turn_deg: float = number(
        "Turn",
        0.0,
        -180.0,
        180.0,
        step=0.1,
        unit="\u00b0",
        help="Turns the photo clockwise about the plate's centre.",
    )

    def mm_per_photo_pixel(self, plate: Plate, photo_columns: int, photo_rows: int) -> float:
        """How large one photo pixel is on the glass, in mm."""
        across = plate.picture_width_mm / photo_columns
        down = plate.picture_height_mm / photo_rows
        base = max(across, down) if self.fit == "fill" else min(across, down)
        return base * self.scale
