"""What is said of a photo that was read: warnings, which may change what it is worth, and notes."""

from engine.strip.find import LEAST_PX_PER_MM
from engine.strip.read_edges import Edges
from engine.strip.read_result import PatchReading
from engine.strip.style import Style
from engine.strip.veil import Veil
from shared.units import percent

LIGHT_BARE = 0.15
"""Bare glass over solid patches from which on a veil of light has to be thought of."""
_PALE = (
    "Bare glass looks {} as light as solid frost. If it is darker to the eye, a reflection or "
    "haze lies over the strip and the dark tones would come out wrong: photograph it again."
)
_VEIL = (
    "A haze or a reflection lies evenly over the strip and was taken off: it makes up {} of "
    "what bare glass shows. A photo without it, on dull black, is surer."
)
MUCH_UNEVEN = 0.06
"""Unevenness of bare glass, as in engine.strip.veil.Veil, from which a reflection lies over part of
it; without one it stays below 0.03 (virtual photos)."""
_PART = (
    "Bare glass and frost do not stand in the same light: a reflection lies over part of the strip "
    "and lifts the dark tones. Photograph it again with the reflection moved away."
)
_BLEMISH = (
    "Something bright or dark lies on part of the strip, and the patches there are left out. If it "
    "is a reflection, a shadow or dirt and not damage to the glass, take it away and photograph "
    "the strip again."
)
_STYLE = (
    "The camera's picture style bends the tones and was taken off as far as it shows. A second, "
    "darker photo measures all of it."
)
_SUSPECTED = (
    "A picture style seems to bend the tones, but this photo does not show it well enough to take "
    "it off. A second, darker photo measures it."
)
_TRUSTED = (
    "The camera's tones are taken as plain sRGB: one photo shows a picture style only where the "
    "light falls off, and none that is a power of the light. A second, darker photo measures them."
)
MUCH_ERROR = 0.008
"""Standard error of half the patches' frost, from which on it is told."""
_GRAINY = (
    "The photo or the frost itself is so grainy that the patches are read less surely. More light "
    "helps if it is the photo; if it is the frost, a strip on a larger scrap repeats more patches."
)
MUCH_OVER = 0.008
"""Rims beside edges, as in engine.strip.read_edges.Edges, from which a photo is called sharpened;
without any they stay below 0.004 (virtual photos)."""
_SHARPENED = (
    "The photo was sharpened, so that dots and lines show stronger than they are. A photo without "
    "sharpening is surer."
)
SOFT_ALONG_MM = 0.06
"""Blur along the scan lines beyond that across them, from which on it is told: a tube that lags by
0.1 ms makes 0.03 at 350 mm/s, one that lags by 0.2 ms 0.045 (virtual photos)."""
_ALONG = (
    "Edges are softer along the scan lines than across them: the tube lags much, or the camera "
    "moved a little that way, which would be taken for lag. Photograph the strip again with the "
    "camera at rest; if this shows again, it is the tube."
)
ENLARGED_BLUR_PX, ENLARGED_MISFIT = 1.0, 0.01
"""From which on edges are as wide and as little one step's as enlarging makes them: a photo as it
was taken has 0.7 and 0.006, and one out of focus has no more misfit (virtual photos). Coarse frost
has such edges too."""
OWN_BLUR_PX = 0.52
"""Standard deviation of edges in the pixels that a photo had before it was enlarged."""
_ENLARGED = (
    "Edges are as soft as if the photo had been enlarged from about {:.1f} pixels per mm. If it "
    "was, use it as it was taken, from nearer; if not, the frost itself is as coarse as that."
)
_MEASURED = (
    "The camera's tones were measured with the second photo, which holds if the camera treated "
    "both alike; without it they would have been read up to {:.1f} L* wrongly."
)
_NO_WHITE = (
    "Absolute reflectances cannot be read from a photo; frost counts from bare glass to solid."
)


def warnings(
    style: Style | None,
    veil: Veil,
    dark: float,
    bare_over_solid: float,
    sharp: Edges,
    px_per_mm: float,
    error: float,
    spoilt: bool,
) -> tuple[str, ...]:
    """Sentences that ask for another photo.

    style: None where the camera's tones were measured; dark: what bare glass shows;
    bare_over_solid: without the veil; px_per_mm: of the photo; error: standard error of half the
    patches' frost; spoilt: whether something lies on part of the strip.
    """
    found = []
    haze = veil.taken_off(dark)
    if haze > 0.0:
        found.append(_VEIL.format(percent(haze / dark)))
    if bare_over_solid > LIGHT_BARE and not veil.known(dark):
        found.append(_PALE.format(percent(bare_over_solid)))
    if veil.uneven > MUCH_UNEVEN:
        found.append(_PART)
    if spoilt:
        found.append(_BLEMISH)
    if error > MUCH_ERROR:
        found.append(_GRAINY)
    if sharp.over > MUCH_OVER:
        found.append(_SHARPENED)
    if _enlarged(sharp, px_per_mm):
        found.append(_ENLARGED.format(OWN_BLUR_PX / sharp.blur_mm))
    softer = sharp.across_x_mm**2 - sharp.across_y_mm**2
    if softer > SOFT_ALONG_MM**2:
        found.append(_ALONG)
    if style is not None:
        found.append(_STYLE if style.found else _SUSPECTED if style.suspected else _TRUSTED)
    return tuple(found)


def _enlarged(sharp: Edges, px_per_mm: float) -> bool:
    x, y = sharp.across_x_mm, sharp.across_y_mm
    wide = min(x, y) * px_per_mm > ENLARGED_BLUR_PX and max(x, y) < 1.5 * min(x, y)
    small = OWN_BLUR_PX / sharp.blur_mm < LEAST_PX_PER_MM
    return wide and small and sharp.misfit > ENLARGED_MISFIT


def notes(readings: tuple[PatchReading, ...], bend_l: float | None) -> tuple[str, ...]:
    """Sentences worth knowing. bend_l: as in Reading."""
    out = sum(not reading.counts for reading in readings)
    left = (f"{out} of {len(readings)} patches are left out; they are crossed out in red.",)
    measured = () if bend_l is None else (_MEASURED.format(bend_l),)
    return (*(left if out else ()), *measured, _NO_WHITE)
