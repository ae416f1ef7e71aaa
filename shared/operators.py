"""The choices that make the look: grey, tone and detail."""

import attrs

from shared.errors import RecipeError
from shared.fields import IDENTITY_CURVE, Option, Point, Region, choice, curve, number, region

LEAST_WEIGHT_SUM = 0.1

RECORDS = (
    Option("red", "Red record"),
    Option("green", "Green record"),
    Option("blue", "Blue record"),
)


@attrs.frozen
class Grey:
    """How colour becomes grey."""

    method: str = choice(
        "Grey from",
        "lightness",
        (
            Option("lightness", "Lightness", "CIE L*: equal steps look equal."),
            Option("luma601", "Luma 601", "BT.601 weights on the encoded records."),
            Option("luma709", "Luma 709", "BT.709 weights on the encoded records."),
            Option("red", "Red record", "Smooth, light skin; blows out first."),
            Option("green", "Green record", "Nearest to how bright a face looks."),
            Option("blue", "Blue record", "Dark, textured skin; noisy."),
            Option("mix", "Free mix", "Your own weights of the three records."),
            Option("layered", "Record on itself", "One record laid over itself: more contrast."),
            Option("contrast", "Contrast-keeping", "Keeps colours apart that grey would merge."),
            Option("skin", "Skin-keeping", "The mix with most detail in skin, without clipping."),
        ),
        help="The way from three colour records to one grey.",
    )
    red: float = number(
        "Red weight",
        0.4,
        -1.0,
        2.0,
        step=0.01,
        when=("method", ("mix",)),
        help="Share of the red record; the three are scaled so that they add up to 1.",
    )
    green: float = number(
        "Green weight",
        0.5,
        -1.0,
        2.0,
        step=0.01,
        when=("method", ("mix",)),
        help="Share of the green record.",
    )
    blue: float = number(
        "Blue weight",
        0.1,
        -1.0,
        2.0,
        step=0.01,
        when=("method", ("mix",)),
        help="Share of the blue record; negative weights darken what is blue.",
    )
    record: str = choice(
        "Record",
        "green",
        RECORDS,
        when=("method", ("layered",)),
        help="The record that is laid over itself.",
    )
    strength: float = number(
        "Strength",
        0.5,
        0.0,
        1.0,
        step=0.01,
        unit="%",
        when=("method", ("layered",)),
        help="How much of the overlay is taken; 0 leaves the record as it is.",
    )
    area: Region | None = region(
        "Area to favour",
        when=("method", ("skin",)),
        help="The part of the photo whose detail counts; without one, skin is looked for.",
    )

    def __attrs_post_init__(self) -> None:
        if self.method == "mix" and self.red + self.green + self.blue < LEAST_WEIGHT_SUM:
            raise RecipeError(
                f"The three weights must add up to {LEAST_WEIGHT_SUM} or more; raise one of them."
            )


@attrs.frozen
class Tone:
    """How light each grey becomes."""

    bare_point: float = number(
        "Bare-glass point",
        0.0,
        0.0,
        0.6,
        step=0.005,
        unit="%",
        help="Greys at or below this become bare glass.",
    )
    full_point: float = number(
        "Full-frost point",
        1.0,
        0.4,
        1.0,
        step=0.005,
        unit="%",
        help="Greys at or above this become the fullest frost.",
    )
    lift: float = number(
        "Open shadows",
        0.25,
        0.0,
        1.0,
        step=0.01,
        unit="%",
        help="Lightens the dark tones, which glass would leave bare.",
    )
    lift_reach: float = number(
        "Shadows reach up to",
        0.5,
        0.1,
        1.0,
        step=0.01,
        unit="%",
        help="The tone above which opening the shadows changes nothing.",
    )
    hold: float = number(
        "Hold highlights",
        0.0,
        0.0,
        1.0,
        step=0.01,
        unit="%",
        help="Draws the lightest tones down, so that they stay apart.",
    )
    middle: float = number(
        "Middle tone",
        0.5,
        0.2,
        0.8,
        step=0.005,
        unit="%",
        help="Where the middle grey goes; the two ends stay.",
    )
    curve: tuple[Point, ...] = curve("Curve", help="Free tone curve; it can never fall.")
    local: float = number(
        "Local contrast",
        0.3,
        0.0,
        2.0,
        step=0.01,
        unit="%",
        help="Strengthens forms of the size below, without halos at strong edges.",
    )
    local_radius_mm: float = number(
        "Form size",
        4.0,
        0.5,
        20.0,
        step=0.1,
        unit="mm",
        help="Size on the glass of the forms that local contrast works on.",
    )
    least_frost: float = number(
        "Least frost",
        0.0,
        0.0,
        0.5,
        step=0.005,
        unit="%",
        help="The darkest tone of the picture; above 0, no part of it stays bare.",
    )

    def __attrs_post_init__(self) -> None:
        if self.full_point - self.bare_point < 0.1:
            raise RecipeError(
                "The full-frost point must lie at least 10 % above the bare-glass point."
            )

    @property
    def has_curve(self) -> bool:
        """Whether the curve changes anything."""
        return self.curve != IDENTITY_CURVE


@attrs.frozen
class Detail:
    """How far fine detail is exaggerated, since fractured glass swallows it."""

    amount: float = number(
        "Gain",
        1.2,
        0.0,
        6.0,
        step=0.05,
        unit="x",
        help="How much of the fine detail is added again; glass takes far more than paper.",
    )
    radius_mm: float = number(
        "Detail size",
        0.4,
        0.05,
        3.0,
        step=0.01,
        unit="mm",
        help="Size on the glass of the detail that is exaggerated.",
    )
    threshold: float = number(
        "Noise floor",
        0.015,
        0.0,
        0.15,
        step=0.001,
        unit="%",
        help="Differences smaller than this, such as noise in skin, are left alone.",
    )
    halo: float = number(
        "Halo limit",
        0.12,
        0.0,
        1.0,
        step=0.01,
        unit="%",
        help="How far a tone may go beyond the lightest and darkest around it.",
    )
