"""The glass profile: what is known of one machine, glass, mask and setting."""

from typing import Literal

import attrs

Origin = Literal["starting guess", "entered by hand", "measured"]


def _share(_: object, attribute: "attrs.Attribute[float]", value: float) -> None:
    if not 0.0 <= value <= 1.0:
        raise ValueError(f"{attribute.name} must be a share from 0 to 1, not {value}")


@attrs.frozen
class GlassProfile:
    """Reflectances are shares of the light that falls on the piece, 0 to 1."""

    name: str
    origin: Origin
    note: str
    """What the figures rest on, in a sentence for the screen."""
    frost_reflectance: float = attrs.field(validator=_share)
    """Of the fullest frost on a backing that returns nothing."""
    veil_reflectance: float = attrs.field(validator=_share)
    """Room light mirrored by the two faces of bare glass towards the viewer."""
    transmittance: float = attrs.field(validator=_share)
    """Of bare glass, one way through both faces."""
    frost_see_through: float = attrs.field(validator=_share)
    """Of the light straight behind, what full frost still shows against bare glass."""
    spread_mm: float = attrs.field(validator=attrs.validators.gt(0.0))
    """Standard deviation of the Gaussian by which fracture reaches beyond a pixel."""


GENERIC = GlassProfile(
    name="Clear float glass, frosted by laser",
    origin="starting guess",
    note="Nobody measured your glass: the ends and the spread are typical values.",
    frost_reflectance=0.40,
    veil_reflectance=0.005,
    transmittance=0.917,
    frost_see_through=0.15,
    spread_mm=0.05,
)
"""Used until a profile is measured. The transmittance is Fresnel's for both faces at n = 1.523
(the float glass of Rubin 1985); the other values are starting guesses."""
