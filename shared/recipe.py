"""The recipe: all the choices that turn a photo into a plate, as frozen, checked data."""

from collections.abc import Iterator
from typing import Any

import attrs

from shared.errors import RecipeError
from shared.fields import Info, Option, choice, colour, flag, infos, number
from shared.operators import Detail, Grey, Tone
from shared.plate import Placement, Plate


@attrs.frozen
class Photo:
    """How the photo is read."""

    matte: str = colour(
        "Behind transparency", "#000000", help="The colour that shows through see-through parts."
    )


@attrs.frozen
class Glass:
    """How the finished piece is seen, and how its spread and its limits are met."""

    view: str = choice(
        "Proof shows it",
        "dark",
        (
            Option("dark", "On a backing", "Frost is the light part."),
            Option("edge", "Lit edges", "In the dark, lit through the chosen edges."),
            Option("window", "Window", "Held against a bright window: frost is the dark part."),
        ),
        help="How the proof shows the finished piece; the plate is made for the backing.",
    )
    backing: float = number(
        "Backing",
        0.01,
        0.0,
        1.0,
        step=0.005,
        unit="%",
        help="Light that the backing returns: black velvet 1 %, black card 4 %, mid grey 18 %.",
    )
    lit_left: bool = flag(
        "Lit left", False, when=("view", ("edge",)), help="Light enters through the left edge."
    )
    lit_right: bool = flag(
        "Lit right", False, when=("view", ("edge",)), help="Light enters through the right edge."
    )
    lit_top: bool = flag(
        "Lit top", False, when=("view", ("edge",)), help="Light enters through the top edge."
    )
    lit_bottom: bool = flag(
        "Lit bottom", True, when=("view", ("edge",)), help="Light enters through the bottom edge."
    )
    green_cast: bool = flag(
        "Green cast",
        True,
        when=("view", ("edge", "dark")),
        help="Ordinary glass turns light green on its way; low-iron glass hardly does.",
    )
    unreachable: str = choice(
        "Tones out of reach",
        "middle",
        (
            Option("middle", "Keep the middle", "Tones near the end are drawn in."),
            Option("ends", "Keep the ends", "All tones move closer together, evenly."),
            Option("clip", "Clip", "They take the nearest tone that can be made."),
        ),
        help="What becomes of light tones that the setting's least power is too strong for, "
        "and of the fullest ones that its greatest is too weak for.",
    )
    compensate: float = number(
        "Make up for spread",
        1.0,
        0.0,
        1.0,
        step=0.05,
        unit="%",
        help="Asks for more contrast in fine detail where beam and fracture take it away.",
    )
    compensate_halo: float = number(
        "Spread halo limit",
        0.25,
        0.0,
        1.0,
        step=0.01,
        unit="%",
        help="How far making up for spread may go beyond the tone that was wanted.",
    )


@attrs.frozen
class Screen:
    """How the drive becomes machine pixels."""

    kind: str = choice(
        "Screen",
        "diffusion",
        (
            Option("continuous", "Continuous", "The laser's power follows the grey."),
            Option(
                "mixed",
                "Mixed",
                "Power follows the grey; tones lighter than the least power marks become dots.",
            ),
            Option("diffusion", "Error diffusion", "Fine dots that follow detail closely."),
            Option("bluenoise", "Blue noise", "Even, structureless grain of dots."),
            Option("clustered", "Clustered dot", "Dots on a grid that grow with the tone."),
            Option("threshold", "Line art", "Only bare glass and full frost."),
        ),
        help="Dots work on every machine; continuous and mixed need one whose power can follow "
        "the grey.",
    )
    level: float = number(
        "Threshold",
        0.5,
        0.01,
        0.99,
        step=0.01,
        unit="%",
        when=("kind", ("threshold",)),
        help="Tones of the look at or above this become full frost.",
    )
    kernel: str = choice(
        "Kernel",
        "floyd",
        (
            Option("floyd", "Floyd-Steinberg", "Four neighbours; the finest grain."),
            Option("jarvis", "Jarvis-Judice-Ninke", "Twelve neighbours; the crispest edges."),
            Option("stucki", "Stucki", "Twelve neighbours; between the other two."),
        ),
        when=("kind", ("diffusion",)),
        help="To which neighbours a pixel hands what it could not show.",
    )
    serpentine: bool = flag(
        "To and fro",
        True,
        when=("kind", ("diffusion",)),
        help="Every second line is worked backwards and the threshold is stirred, so that even "
        "tones show no worms and no stripes. Off is the plain scheme as it was published.",
    )
    ruling_per_cm: float = number(
        "Ruling",
        20.0,
        4.0,
        100.0,
        step=0.1,
        unit="/cm",
        when=("kind", ("clustered",)),
        help="Lines of dots per cm. In lines per inch: 2.54 times as many, so 20 per cm is about "
        "50 per inch.",
    )
    angle_deg: float = number(
        "Angle",
        45.0,
        -90.0,
        90.0,
        step=0.1,
        unit="\u00b0",
        when=("kind", ("clustered",)),
        help="How far the lines of dots are turned, clockwise as seen from the front; the eye "
        "notices them least at 45\u00b0.",
    )

    @property
    def is_dots(self) -> bool:
        """Whether it gives only bare glass and full power, which 1 bit a pixel can hold."""
        return self.kind not in ("continuous", "mixed")


@attrs.frozen
class Output:
    """How the plate bitmap is written."""

    eight_bit: bool = flag(
        "Write dots as 8-bit grey",
        False,
        help="For machines that do not read 1-bit pictures; a continuous plate always has 8 bits.",
    )


@attrs.frozen
class Recipe:
    """All the choices for one take."""

    photo: Photo = attrs.field(factory=Photo)
    plate: Plate = attrs.field(factory=Plate)
    placement: Placement = attrs.field(factory=Placement)
    grey: Grey = attrs.field(factory=Grey)
    tone: Tone = attrs.field(factory=Tone)
    detail: Detail = attrs.field(factory=Detail)
    glass: Glass = attrs.field(factory=Glass)
    screen: Screen = attrs.field(factory=Screen)
    output: Output = attrs.field(factory=Output)

    def get(self, key: str) -> Any:
        """The value of a field named `group.field`."""
        group, name = split_key(key)
        return getattr(getattr(self, group), name)

    def changed(self, **values: Any) -> "Recipe":
        """A new recipe with some fields changed, checked again as a whole.

        Keys are `group__field`, as in `changed(tone__lift=0.4)`; see also `with_values`.
        """
        return self.with_values({key.replace("__", "."): value for key, value in values.items()})

    def with_values(self, values: dict[str, Any]) -> "Recipe":
        """A new recipe with the fields `group.field` changed.

        Raises RecipeError for a name or a value that is not acceptable.
        """
        by_group: dict[str, dict[str, Any]] = {}
        for key, value in values.items():
            group, name = split_key(key)
            by_group.setdefault(group, {})[name] = value
        groups = {
            group: attrs.evolve(getattr(self, group), **fields)
            for group, fields in by_group.items()
        }
        return attrs.evolve(self, **groups)


START = Recipe()
"""What every take starts with."""

GROUPS: dict[str, type] = {a.name: a.type for a in attrs.fields(Recipe) if a.type is not None}


def all_fields() -> Iterator[tuple[str, Info]]:
    """Every field as (`group.field`, description), in working order."""
    for group, cls in GROUPS.items():
        for name, info in infos(cls).items():
            yield f"{group}.{name}", info


def field_info(key: str) -> Info:
    """The description of the field `group.field`."""
    group, name = split_key(key)
    return infos(GROUPS[group])[name]


def default_of(key: str) -> Any:
    """The value that the field `group.field` starts with."""
    return START.get(key)


def split_key(key: str) -> tuple[str, str]:
    """`group.field` as its two parts; RecipeError with the nearest known name otherwise."""
    group, _, name = key.partition(".")
    if group in GROUPS and name in infos(GROUPS[group]):
        return group, name
    known = [known_key for known_key, _ in all_fields()]
    import difflib  # slow to import, and needed only here

    near = difflib.get_close_matches(key, known, n=1)
    hint = f" Did you mean {near[0]}?" if near else ""
    raise RecipeError(f"There is no recipe field named {key}.{hint}")


def parse_value(key: str, text: str) -> Any:
    """The value of the field `group.field` from text, as the command line gives it.

    A share may be written as 0.4 or 40%; points of a curve as `0:0 0.5:0.6 1:1`; a region as four
    numbers with commas. Raises RecipeError when the text does not fit.
    """
    info = field_info(key)
    text = text.strip()
    try:
        if info.kind == "number":
            return _parse_number(info, text)
        if info.kind == "flag":
            return {"true": True, "yes": True, "false": False, "no": False}[text.lower()]
        if info.kind == "curve":
            return tuple(tuple(float(v) for v in p.split(":")) for p in text.split())
        if info.kind == "region":
            return None if text == "none" else tuple(float(v) for v in text.split(","))
    except (ValueError, KeyError):
        raise RecipeError(f"{text!r} does not fit the field {key} ({info.label}).") from None
    return text


def _parse_number(info: Info, text: str) -> float:
    if info.unit == "%" and text.endswith("%"):
        return float(text[:-1]) / info.factor
    return float(text)
