"""What a photograph of a test strip gave, as plain data."""

import attrs
import numpy as np
from numpy.typing import NDArray

from engine.strip.fingerprint import fingerprint_of


@attrs.frozen
class PatchReading:
    """One patch. A patch with flags is not to be trusted; its figures are kept for looking at."""

    frost: float
    """Mean luminance in linear light after the light was evened out: 0 as dark as bare glass
    there, 1 as light as the solid patches of the setting that frosts most would be there. Noise
    may carry it a little beyond both."""
    scatter: float
    """Standard deviation from pixel to pixel: the grain as the camera sees it, and its noise."""
    standard_error: float
    """Of `frost`, from the scatter and the number of pixels that are independent."""
    pixels: int
    """Photo pixels that were averaged."""
    flags: tuple[str, ...] = ()
    """Why it is left out: a sentence each; none when it counts."""
    texture: float = 0.0
    """Standard deviation of the frost as an eye at reading distance sees it: dots and grain that
    it cannot smooth out."""
    modulation: float | None = None
    """Line patches only: peak to peak of the fundamental, 1 for the step from bare to frost 1.
    Ideal square lines have 4 / pi. The camera's blur is taken off as far as it is known."""
    modulation_error: float | None = None
    """Half the range that the unknown part of the camera's blur leaves, and the noise."""

    @property
    def counts(self) -> bool:
        """Whether it may be used."""
        return not self.flags


@attrs.frozen(eq=False)
class Reading:
    """A photographed strip. Absolute reflectances cannot be known from it: a phone chooses its
    own exposure and there is no known white on the glass."""

    patches: tuple[PatchReading, ...]
    """In the order of the strip's patches."""
    cells: tuple[NDArray[np.float32], ...]
    """In the order of the strip's cells: rows x columns at `cell_pitch_mm`, frost as in the
    patches, seen from the front and upright, not clipped."""
    cell_pitch_mm: float
    picture: NDArray[np.uint8]
    """Rows x columns x 3, sRGB: the whole strip from the front, upright, with what was read drawn
    over it."""
    picture_px_per_mm: float
    px_per_mm: float
    """Of the photo, where the strip is smallest in it."""
    tilt_deg: float
    """Between the glass and the picture plane, about."""
    turn_deg: float
    """Clockwise in the photo, -180 to 180."""
    side: str
    """The face that was photographed: front."""
    residual_px: float
    """Root mean square distance of the markers' corners from where the fitted view puts them."""
    blur_mm: float
    """Standard deviation of the edges of solid patches: camera and glass together."""
    bare_over_solid: float
    """Luminance of bare glass as a share of the solid patches', in the photo's light, without the
    veil."""
    style: float = 0.0
    """Strength of a picture style that was taken off, as in engine.strip.style_curve; 0 for none.
    """
    bend_l: float | None = None
    """How far plain sRGB would have read the tones wrongly at most, L*, where the camera's tones
    were measured with a second photo; they are taken off."""
    veil: float = 0.0
    """Light that lay evenly over the strip and was taken off bare glass, as a share of what solid
    patches add to it; 0 for none."""
    warnings: tuple[str, ...] = ()
    """Sentences that ask for another photo."""
    notes: tuple[str, ...] = ()
    """Sentences worth knowing."""

    @property
    def fingerprint(self) -> int:
        """The same for the same photo alone."""
        return fingerprint_of(patch.frost for patch in self.patches)

    def frost(self) -> NDArray[np.float64]:
        """The patches' frost in their order, not a number where a patch is left out."""
        return np.array([p.frost if p.counts else np.nan for p in self.patches])
