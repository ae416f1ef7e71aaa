"""The glass profile: what is known of one machine, glass, mask and setting."""

import math
from typing import Any

import attrs

from shared.errors import ProfileError

ORIGINS = ("starting guess", "entered by hand", "measured")
CO2_WAVELENGTH_MM = 0.0106
MOST_POINTS = 200


def _to_float(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ProfileError(f"A figure of the profile must be a number, not {value!r}.")
    return float(value)


def number(low: float, high: float, default: Any = attrs.NOTHING) -> Any:
    """A finite number from `low` to `high`."""

    def check(_: object, attribute: "attrs.Attribute[float]", value: float) -> None:
        if not math.isfinite(value) or not low <= value <= high:
            name = attribute.name.replace("_", " ")
            raise ProfileError(f"The profile's {name} must lie between {low:g} and {high:g}.")

    return attrs.field(default=default, converter=_to_float, validator=check)


def text(default: str = "") -> Any:
    """A line of words, at most 200 characters."""

    def check(_: object, attribute: "attrs.Attribute[str]", value: object) -> None:
        if not isinstance(value, str) or len(value) > 200:
            name = attribute.name.replace("_", " ")
            raise ProfileError(f"The profile's {name} must be at most 200 characters of text.")

    return attrs.field(default=default, validator=check)


@attrs.frozen
class Machine:
    """The laser. Powers are per cent of the tube's rated watts."""

    name: str = text("A CO2 laser")
    tube: str = text()
    tube_date: str = text()
    """When the tube was fitted, as the user writes it."""
    rated_w: float = number(1.0, 1000.0, 60.0)
    firing_floor_pct: float = number(0.0, 60.0, 10.0)
    """Below this the tube does not fire at all."""
    slowest_mm_s: float = number(0.1, 5000.0, 10.0)
    fastest_mm_s: float = number(0.1, 5000.0, 600.0)
    acceleration_mm_s2: float = number(1.0, 200_000.0, 4000.0)
    beam_mm: float = number(0.01, 2.0, 0.14)
    """Diameter of the focused beam, where the intensity has fallen to 1/e^2."""
    lag_ms: float = number(0.0, 5.0, 0.0)
    """Time constant with which the tube follows its power setting along a scan line."""


@attrs.frozen
class Sheet:
    """The glass and what covers it."""

    kind: str = text("clear float glass")
    thickness_mm: float = number(0.5, 25.0, 3.0)
    masking: str = text("paper tape")


@attrs.frozen
class Setting:
    """What is set at the machine."""

    power_max_pct: float = number(0.1, 100.0, 45.0)
    power_min_pct: float = number(0.0, 100.0, 10.0)
    speed_mm_s: float = number(0.1, 5000.0, 300.0)
    pitch_mm: float = number(0.01, 1.0, 0.1)
    both_directions: bool = True

    def __attrs_post_init__(self) -> None:
        if self.power_min_pct >= self.power_max_pct:
            raise ProfileError("The least power must be below the greatest.")


@attrs.frozen
class Response:
    """The shape of frost against log10 fluence (J/mm2) while nothing was measured.

    Below the threshold nothing happens; from there a logistic rises to full frost; beyond the
    flaking fluence frost comes off again.
    """

    threshold_j_mm2: float = number(1e-4, 100.0, 0.2)
    middle_j_mm2: float = number(1e-4, 100.0, 0.4)
    """Where half of full frost is reached."""
    slope: float = number(0.5, 60.0, 12.0)
    """Steepness of the logistic per decade of fluence."""
    flaking_j_mm2: float = number(1e-3, 1000.0, 1.6)

    def __attrs_post_init__(self) -> None:
        if not self.threshold_j_mm2 < self.middle_j_mm2 < self.flaking_j_mm2:
            raise ProfileError("Threshold, middle and flaking fluence must rise in this order.")


@attrs.frozen
class Knot:
    """One measured point of the characteristic curve."""

    fluence_j_mm2: float = number(1e-5, 1000.0)
    frost: float = number(0.0, 1.0)
    scatter: float = number(0.0, 1.0, 0.0)


@attrs.frozen
class Gain:
    """One measured point of a screen: what was driven, and the frost that it gave."""

    drive: float = number(0.0, 1.0)
    frost: float = number(0.0, 1.0)
    scatter: float = number(0.0, 1.0, 0.0)


@attrs.frozen
class ScreenGains:
    """The measured points of one screen."""

    screen: str = text()
    points: tuple[Gain, ...] = attrs.field(default=(), converter=tuple)


@attrs.frozen
class Light:
    """How the finished piece returns and passes light; shares of what falls on it."""

    frost_reflectance: float = number(0.01, 0.95, 0.40)
    """Of full frost on a backing that returns nothing."""
    veil_reflectance: float = number(0.0, 0.2, 0.005)
    """Room light that bare glass mirrors towards the viewer."""
    transmittance: float = number(0.1, 1.0, 0.917)
    """Of bare glass, one way through both faces. Fresnel's for n = 1.523 (Rubin 1985)."""
    frost_see_through: float = number(0.0, 0.9, 0.15)
    """Of the light straight behind, what full frost still shows against bare glass."""


@attrs.frozen
class GlassProfile:
    """Everything that the forward model reads. Frost runs from 0 to 1, this glass's fullest."""

    name: str = text("Clear float glass, frosted by laser")
    origin: str = attrs.field(default="starting guess")
    note: str = text("Nobody measured your glass: all figures are typical values.")
    date: str = text()
    machine: Machine = attrs.field(factory=Machine)
    sheet: Sheet = attrs.field(factory=Sheet)
    setting: Setting = attrs.field(factory=Setting)
    response: Response = attrs.field(factory=Response)
    knots: tuple[Knot, ...] = attrs.field(default=(), converter=tuple)
    """Measured points; three or more replace the response."""
    gains: tuple[ScreenGains, ...] = attrs.field(default=(), converter=tuple)
    spread_mm: float = number(0.0, 2.0, 0.05)
    """Standard deviation of the Gaussian by which fracture reaches beyond the beam."""
    light: Light = attrs.field(factory=Light)

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
