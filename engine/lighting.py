"""Other ways to see a finished piece: lit through its edges, and held against a window."""

from collections.abc import Iterable
from functools import lru_cache
from typing import Literal

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine.colour import LUMINANCE, srgb_decode, srgb_encode
from engine.filters import Floats

Side = Literal["left", "right", "top", "bottom"]

EXTRACTION = 0.25
"""Share of the guided light that full frost lets out each time the light meets it; starting
guess."""
MEAN_TANGENT = 2.0
"""Of the angle to the face's normal at which guided light travels: 49 degrees (the critical angle's
complement at n = 1.52) and more; starting guess."""
STRAY = 0.004
"""What an unlit, bare part returns of the lit part's brightest; starting guess."""

ABSORPTION_PER_MM = {
    "green": (0.01622, 0.00503, 0.00538),
    "white": (0.00346, 0.00106, 0.00119),
}
"""Red, green, blue; from the transmission of 200 mm of clear and of low-iron float glass, .039
.366 .341 and .501 .809 .789 at .65 .55 .45 um (computed from Rubin 1985)."""


@attrs.frozen
class EdgeLight:
    """Which sides are lit, and through what glass."""

    sides: tuple[Side, ...]
    thickness_mm: float
    green_cast: bool


BARE_AT_WINDOW = 0.9
"""Share of the screen's white at which the sky is shown through bare glass."""


def bare_code(view: str) -> int:
    """The sRGB code at which bare glass is shown in the dark (`edge`) and at a `window`."""
    light = STRAY if view == "edge" else BARE_AT_WINDOW
    return round(255.0 * float(srgb_encode(np.array(light))))


@lru_cache(maxsize=8)
def seen_through(thickness_mm: float, green_cast: bool) -> NDArray[np.uint8]:
    """The colours of a grey proof that is seen through the sheet: sRGB, 256 x 3, by code.

    Room light passes the glass to the etched back and out again, so what it takes is that of two
    thicknesses (Beer and Lambert). Each colour keeps the luminance of its grey.
    """
    absorbed = ABSORPTION_PER_MM["green" if green_cast else "white"]
    passed = np.exp(-2.0 * thickness_mm * np.array(absorbed))
    passed /= np.array(LUMINANCE) @ passed
    light = srgb_decode(np.arange(256) / 255.0)[:, None] * passed
    return np.asarray(np.round(255.0 * srgb_encode(np.minimum(light, 1.0))), np.uint8)


def edge_flux(frost: Floats, pitch_mm: float, light: EdgeLight) -> NDArray[np.float32]:
    """How much light reaches each place: float32, rows x columns x 3, 1 at a lit edge.

    Guided light is absorbed by the glass and let out by the frost that it passes:
    dF/dx = -(alpha + e a / (2 h t)) F, with absorption alpha, extraction e, frost a, thickness h
    and mean tangent t. `frost` is the whole plate's, rows x columns, 0 to 1, as coarse as one
    likes. The sides add up.
    """
    let_out = frost * np.float32(EXTRACTION / (2.0 * light.thickness_mm * MEAN_TANGENT))
    absorbed = ABSORPTION_PER_MM["green" if light.green_cast else "white"]
    flux = np.zeros((*frost.shape, 3), np.float32)
    for channel, alpha in enumerate(absorbed):
        loss = (let_out + np.float32(alpha)) * np.float32(pitch_mm)
        for side in light.sides:
            flux[:, :, channel] += _towards(loss, side)
    return flux


def edge_lit(frost: Floats, flux: NDArray[np.float32], brightest: float) -> NDArray[np.uint8]:
    """The piece in the dark, lit through its edges: sRGB codes, rows x columns x 3.

    `frost` and `flux` are of the same place; `brightest` is the plate's greatest frost x flux,
    which is shown just below white.
    """
    size = (frost.shape[1], frost.shape[0])
    here = cv2.resize(flux, size, interpolation=cv2.INTER_LINEAR)
    seen = frost[:, :, None] * here * np.float32((0.9 - STRAY) / max(brightest, 1e-6))
    return np.round(255.0 * srgb_encode(np.clip(seen + np.float32(STRAY), 0.0, 1.0))).astype(
        np.uint8
    )


def brightest(frost: Floats, flux: NDArray[np.float32]) -> float:
    """The plate's greatest frost x flux; frost is averaged to the flux's pixels."""
    size = (flux.shape[1], flux.shape[0])
    coarse = cv2.resize(frost, size, interpolation=cv2.INTER_AREA)
    return float((coarse[:, :, None] * flux).max())


def against_window(frost: Floats, see_through: float) -> NDArray[np.uint8]:
    """The piece before a bright sky: sRGB grey codes, rows x columns.

    Bare glass lets the light straight through, frost scatters it away but for `see_through`; so
    what was etched to be light on a dark backing is dark here.
    """
    passed = 1.0 - frost * np.float32(1.0 - see_through)
    return np.round(255.0 * srgb_encode(BARE_AT_WINDOW * passed)).astype(np.uint8)


def sides_of(left: bool, right: bool, top: bool, bottom: bool) -> tuple[Side, ...]:
    """The lit sides by name."""
    named: Iterable[tuple[Side, bool]] = (
        ("left", left),
        ("right", right),
        ("top", top),
        ("bottom", bottom),
    )
    return tuple(side for side, on in named if on)


def _towards(loss: Floats, side: Side) -> Floats:
    """Light that is left after losses from one side; half of a pixel's own loss counts."""
    axis = 1 if side in ("left", "right") else 0
    turned = np.flip(loss, axis) if side in ("right", "bottom") else loss
    passed = np.cumsum(turned, axis=axis) - 0.5 * turned
    passed = np.flip(passed, axis) if side in ("right", "bottom") else passed
    return np.exp(-passed).astype(np.float32)
