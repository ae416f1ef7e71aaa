"""The glass profile: what is known of one machine, glass, mask and setting."""

import math
from typing import Any

import attrs

from shared.errors import ProfileError
from shared.profile_fields import flag, number, text

ORIGINS = ("starting guess", "entered by hand", "measured")
CO2_WAVELENGTH_MM = 0.0106
MOST_POINTS = 400


def _as_tuple(values: Any) -> tuple[Any, ...]:
    return tuple(values)


@attrs.frozen
class Machine:
    """The laser. Powers are per cent of the tube's rated watts."""

    name: str = text("A CO2 laser", label="Which machine")
    tube: str = text(label="Tube", help="A new tube needs a new test strip.")
    tube_date: str = text(label="Tube fitted on", help="The day, as you like to write it.")
    rated_w: float = number(
        1.0, 1000.0, 60.0, label="Rated power", unit="W", help="Of the tube, at 100 %."
    )
    firing_floor_pct: float = number(
        0.0,
        60.0,
        10.0,
        label="Firing floor",
        unit="%",
        help="Below this power the tube does not fire at all.",
    )
    slowest_mm_s: float = number(0.1, 5000.0, 10.0, label="Slowest scan", unit="mm/s")
    fastest_mm_s: float = number(0.1, 5000.0, 600.0, label="Fastest scan", unit="mm/s")
    acceleration_mm_s2: float = number(
        1.0,
        200_000.0,
        4000.0,
        label="Acceleration",
        unit="mm/s\u00b2",
        help="Of the head along a scan line; it decides how long the turns take.",
    )
    beam_mm: float = number(
        0.01,
        2.0,
        0.14,
        label="Beam diameter",
        unit="mm",
        help="Of the focused beam, where the intensity has fallen to 1/e\u00b2.",
    )
    focus: str = text(
        label="Focus", help="Where the beam is focused, such as: on the surface, or 2 mm above it."
    )
    lag_ms: float = number(
        0.0,
        5.0,
        0.0,
        label="Lag of the tube",
        unit="ms",
        help="Time constant with which the tube follows its power along a scan line.",
    )


@attrs.frozen
class Sheet:
    """The glass and what covers it."""

    kind: str = text("clear float glass", label="Kind of glass")
    thickness_mm: float = number(0.5, 25.0, 3.0, label="Thickness", unit="mm")
    masking: str = text("paper tape", label="Masking", help="What covers the glass, if anything.")


@attrs.frozen
class Setting:
    """What is set at the machine."""

    power_max_pct: float = number(
        0.1, 100.0, 45.0, label="Greatest power", unit="%", help="For full frost."
    )
    power_min_pct: float = number(
        0.0,
        100.0,
        10.0,
        label="Least power",
        unit="%",
        help="For the lightest tone that is burnt; best where the glass just begins to mark.",
    )
    speed_mm_s: float = number(0.1, 5000.0, 300.0, label="Speed", unit="mm/s")
    pitch_mm: float = number(
        0.01, 1.0, 0.1, label="Pitch", unit="mm", help="Between scan lines, as it was tried."
    )
    both_directions: bool = flag(True, label="Burns in both directions")

    def __attrs_post_init__(self) -> None:
        if self.power_min_pct >= self.power_max_pct:
            raise ProfileError("The least power must be below the greatest.")


@attrs.frozen
class Response:
    """The shape of frost against log10 fluence (J/mm2) while nothing was measured.

    Below the threshold nothing happens; from there a logistic rises to full frost; beyond the
    flaking fluence frost comes off again.
    """

    threshold_j_mm2: float = number(
        1e-4,
        100.0,
        0.2,
        label="Threshold",
        unit="J/mm\u00b2",
        help="Below this fluence the glass stays bare.",
    )
    middle_j_mm2: float = number(
        1e-4,
        100.0,
        0.4,
        label="Middle",
        unit="J/mm\u00b2",
        help="Where half of full frost is reached.",
    )
    slope: float = number(
        0.5,
        60.0,
        12.0,
        label="Slope",
        unit="per decade",
        help="Steepness of the rise; more is harder.",
    )
    flaking_j_mm2: float = number(
        1e-3,
        1000.0,
        1.6,
        label="Flaking",
        unit="J/mm\u00b2",
        help="Beyond this fluence frost comes off again.",
    )
    flaking_decades: float = number(
        0.02,
        2.0,
        0.25,
        label="Flaking width",
        unit="decades",
        help="Decades of fluence beyond flaking after which half the frost has come off.",
    )

    def __attrs_post_init__(self) -> None:
        if not self.threshold_j_mm2 < self.middle_j_mm2 < self.flaking_j_mm2:
            raise ProfileError("Threshold, middle and flaking fluence must rise in this order.")


@attrs.frozen
class Knot:
    """One measured point of the characteristic curve."""

    fluence_j_mm2: float = number(1e-5, 1000.0, label="Fluence", unit="J/mm\u00b2")
    frost: float = number(0.0, 1.0, label="Frost", unit="%")
    scatter: float = number(0.0, 1.0, 0.0, label="Scatter", unit="%")


@attrs.frozen
class Gain:
    """One measured point of a screen: what was driven, and the frost that it gave."""

    drive: float = number(0.0, 1.0, label="Drive", unit="%")
    frost: float = number(0.0, 1.0, label="Frost", unit="%")
    scatter: float = number(0.0, 1.0, 0.0, label="Scatter", unit="%")


@attrs.frozen
class ScreenGains:
    """The measured points of one screen."""

    screen: str = text(label="Screen")
    points: tuple[Gain, ...] = attrs.field(default=(), converter=tuple)


@attrs.frozen
class Light:
    """How the finished piece returns and passes light; shares of what falls on it."""

    frost_reflectance: float = number(
        0.01,
        0.95,
        0.40,
        label="Reflectance of full frost",
        unit="%",
        help="Of the light that falls on it, on a backing that returns nothing.",
    )
    veil_reflectance: float = number(
        0.0,
        0.2,
        0.005,
        label="Veil over bare glass",
        unit="%",
        help="Room light that bare glass mirrors towards the viewer.",
    )
    transmittance: float = number(
        0.1,
        1.0,
        0.917,
        label="Transmittance of bare glass",
        unit="%",
        help="One way through both faces.",
    )
    """Fresnel's for n = 1.523 (Rubin 1985) unless measured."""
    frost_see_through: float = number(
        0.0,
        0.9,
        0.15,
        label="See-through of full frost",
        unit="%",
        help="Of the light straight behind, what full frost still shows against bare glass.",
    )


@attrs.frozen
class Doubt:
    """Standard errors of what is measured beside the points; 0 where nobody knows them."""

    spread_mm: float = number(0.0, 2.0, 0.0, label="Standard error of the spread", unit="mm")
    lag_ms: float = number(0.0, 5.0, 0.0, label="Standard error of the lag", unit="ms")
    ends: float = number(0.0, 1.0, 0.0, label="Standard error of bare over full", unit="%")
    """Of the ratio of bare glass's luminance to full frost's."""


@attrs.frozen
class GlassProfile:
    """Everything that the forward model reads. Frost runs from 0 to 1, this glass's fullest."""

    name: str = text("Clear float glass, frosted by laser", label="Name")
    origin: str = attrs.field(default="starting guess")
    note: str = text("Nobody measured your glass: all figures are typical values.", label="Note")
    date: str = text(label="Date", help="When the figures were found.")
    machine: Machine = attrs.field(factory=Machine)
    sheet: Sheet = attrs.field(factory=Sheet)
    setting: Setting = attrs.field(factory=Setting)
    response: Response = attrs.field(factory=Response)
    knots: tuple[Knot, ...] = attrs.field(default=(), converter=tuple)
    """Measured points; three or more replace the response."""
    gains: tuple[ScreenGains, ...] = attrs.field(default=(), converter=tuple)
    spread_mm: float = number(
        0.0,
        2.0,
        0.05,
        label="Spread of fracture",
        unit="mm",
        help="How far fracture reaches beyond the beam: standard deviation of a Gaussian.",
    )
    light: Light = attrs.field(factory=Light)
    doubt: Doubt = attrs.field(factory=Doubt)
    readings: tuple[int, ...] = attrs.field(default=(), converter=_as_tuple)
    """Fingerprints of the readings of test strips that taught it, so that none counts twice; none
    where nobody knows them."""

    @readings.validator
    def _check_readings(self, _: object, value: tuple[object, ...]) -> None:
        if not all(type(number) is int for number in value):
            raise ProfileError("The fingerprints of the profile's readings must be whole numbers.")

    @origin.validator
    def _check_origin(self, _: object, value: str) -> None:
        if value not in ORIGINS:
            raise ProfileError(f"The profile's origin must be one of: {', '.join(ORIGINS)}.")

    def __attrs_post_init__(self) -> None:
        if len(self.knots) + sum(len(g.points) for g in self.gains) > MOST_POINTS:
            raise ProfileError(f"A profile holds at most {MOST_POINTS} measured points.")

    @property
    def measured_curve(self) -> bool:
        """Whether the characteristic curve was measured."""
        return len(self.knots) >= 3

    def gains_of(self, screen: str) -> tuple[Gain, ...]:
        """The measured points of a screen; none when it was not burnt."""
        return next((g.points for g in self.gains if g.screen == screen), ())

    def fluence_j_mm2(self, power_pct: float) -> float:
        """Energy per area of a solid patch: watts / (speed x pitch); 0 below the firing floor."""
        if power_pct < self.machine.firing_floor_pct:
            return 0.0
        watts = self.machine.rated_w * power_pct / 100.0
        return watts / (self.setting.speed_mm_s * self.setting.pitch_mm)


def focus_diameter_mm(focal_mm: float, beam_in_mm: float, quality: float = 1.2) -> float:
    """Diameter of a focused CO2 beam: 4 L M2 f / (pi D), after ISO 11146's notation.

    `quality` is M2, 1 for a perfect beam; 1.2 is common for glass tubes (common practice).
    """
    return 4.0 * CO2_WAVELENGTH_MM * quality * focal_mm / (math.pi * beam_in_mm)


GENERIC = GlassProfile()
"""Used until a profile is chosen: a starting guess throughout."""
