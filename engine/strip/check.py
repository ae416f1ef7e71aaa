"""After the burn: a photo of the finished piece held against what was to come out.

photo -> onto the plate (check_register) -> light evened out -> lightness -> difference map
"""

import math
from collections.abc import Callable
from typing import Any

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import burning, glass
from engine.colour import lightness_from_luminance, srgb_decode, srgb_encode
from engine.filters import Floats
from engine.glass import Ends
from engine.progress import Progress, part, unheard
from engine.strip.check_light import evened_out
from engine.strip.check_place import error_by_place
from engine.strip.check_register import encoded_grey, laid, register
from engine.strip.check_softness import softness_mm
from engine.strip.check_tones import tones_of_piece
from engine.strip.exposures import Darker
from engine.strip.fit_values import tone_of
from engine.strip.judge_error import RIM_MM
from engine.viewing import eye_sigma_mm
from shared.errors import InputError, PhotoError

WORK_MM = 0.15
"""Pitch at which photo and plate are compared; finer than the eye's blur."""
LEAST_RANGE = 0.1
"""Share of frost that a plate must span for its light to be evened out."""
WORST_MM = 1.0
"""The worst place is the worst over about this width, not a speck."""
BINS = 20
LEAST_PIXELS = 200
CONTRAST_DOUBT = 0.3
"""Share by which the whole contrast of a photo may be off for stray light alone: one part in a
hundred of the lightest, a usual lens's, is that much of bare glass (common practice)."""
OFFER_L = 1.0
"""Mean error by tone from which refining the profile is worth while."""
MOST_BY_PLACE = 0.5
"""Share of the tones' error: a curve that is wrong is equally wrong all over the piece, and goes
with the place by 0.05 at most; reflections and parts that were not burnt by 0.7 and more (virtual
photos)."""
_CLIPPED = 252
_LAID, _EVENED = 0.6, 0.85
"""Shares of the progress at which the photos lie on the plate and their light is evened out."""
_DOUBTED = (
    "A camera's picture style looks the same: add a second photo, one stop darker, by which it is "
    "told apart and taken off."
)


@attrs.frozen(eq=False)
class Check:
    """What came out, against the proof. L* differences are burnt less wanted, from 450 mm."""

    difference: Floats
    """Rows x columns at `pitch_mm`, from the front; not a number where the photo says nothing."""
    pitch_mm: float
    mean: float
    """Mean of the difference's amount, L*."""
    worst: float
    """The largest difference over a square millimetre, L*."""
    worst_at_mm: tuple[float, float]
    """Its place from the top left corner of the plate, from the front."""
    expected: tuple[float, ...]
    """Frost that was expected, one figure a tone."""
    found: tuple[float, ...]
    """Frost that came out at those."""
    scatter: tuple[float, ...]
    by_tone: float
    """Mean error in L* that goes with the tone: what a better profile would take away."""
    contrast: float
    """Frost over bare glass, against the proof's: 1 as it should be, less for a faint piece."""
    measured: bool = False
    """Whether the camera's tones were measured with a second photo."""
    used: bool = False
    """Whether the expected frost has been refined with this photo before."""
    by_place: float = 0.0
    """Error in L*, root mean square, that goes with the place: no profile would take it away."""

    @property
    def of_places(self) -> bool:
        """Whether so much goes with the place that the tones' error cannot be trusted."""
        return self.by_place > MOST_BY_PLACE * max(self.by_tone, OFFER_L)

    @property
    def offers(self) -> bool:
        """Whether refining the profile is worth while."""
        return self.by_tone >= OFFER_L and not self.used and not self.of_places

    @property
    def sentence(self) -> str:
        """The result in plain words."""
        x, y = self.worst_at_mm
        words = (
            f"The piece differs from its proof by {self.mean:.1f} L* on average, at worst by "
            f"{abs(self.worst):.0f} L* at {x:.0f} mm from the left and {y:.0f} mm from the top."
        )
        if self.offers:
            words += (
                f" {self.by_tone:.1f} L* of that go with the tone: refining the glass profile "
                "with this photo would take them away."
            )
            if not self.measured:
                words += f" {_DOUBTED}"
        if self.of_places:
            words += (
                f" About {self.by_place:.1f} L* go with the place and not with the tone, so the "
                "profile cannot be refined with this photo: look at the map for a reflection, a "
                "shadow, a part that is missing or was not burnt, or ground that is not black."
            )
        return f"{words} {self._of_contrast}"

    @property
    def _of_contrast(self) -> str:
        if abs(np.log(self.contrast)) <= np.log1p(CONTRAST_DOUBT):
            return (
                "Whether it is a little too faint or too strong as a whole, a photo alone cannot "
                "tell."
            )
        way = "faint" if self.contrast < 1.0 else "strong"
        return (
            f"As a whole it looks too {way}: frost stands out from bare glass {self.contrast:.1f} "
            "times as much as in the proof. If the piece lay on dull black, and the photo is free "
            "of haze and reflections, make a new test strip."
        )


def check_piece(
    pixels: NDArray[np.uint8],
    frost: Floats,
    ends: Ends,
    pitch_mm: float,
    darker: Darker | None = None,
    progress: Progress | None = None,
) -> Check:
    """Compare a photo of the finished piece with the frost that its plate was to leave.

    pixels: rows x columns x 3, uint8, sRGB, turned by less than about half a right angle or any
    way that features follow. frost: float32, rows x columns at `pitch_mm`, from the front, 0 to 1
    (`Burn.frost`). The photo's exposure and the fall of its light are found from the picture
    itself, so an error of the whole contrast shows in `contrast` alone, and roughly; its tones are
    taken as plain sRGB unless a `darker` photo tells the camera's. progress: called with the share
    that is done, 0 to 1; may raise `Cancelled`. Raises PhotoError when the photo does not show the
    plate or is burnt out, InputError when the plate has too few tones.
    """
    report = progress or unheard
    if np.ptp(frost) < LEAST_RANGE:
        raise InputError("This plate has hardly any tones, so a photo of it cannot be checked.")
    shape = tuple(max(16, round(side * pitch_mm / WORK_MM)) for side in frost.shape)
    coarse = np.asarray(cv2.resize(frost, shape[::-1], interpolation=cv2.INTER_AREA), np.float32)
    sharp = np.asarray(ends.unmarked + (ends.marked - ends.unmarked) * coarse, np.float32)
    usual = burning.blur_mm(sharp, eye_sigma_mm() / 2.0, WORK_MM)
    shown = np.asarray(srgb_encode(np.clip(usual / ends.high, 0.0, 1.0)), np.float32)
    grey = encoded_grey(pixels)
    found = _LAID if darker is None else _LAID / 2.0
    matrix = register(grey, shown, part(report, 0.0, found))
    decode: Callable[[Floats], NDArray[Any]] = srgb_decode
    if darker is not None:
        seen = laid(grey, matrix, (shape[0], shape[1]))
        decode = tones_of_piece(seen, darker, shown, part(report, found, 2.0 * found)).light
    taken = laid(np.asarray(decode(grey), np.float32), matrix, (shape[0], shape[1]))
    report(_LAID)
    burnt_out = laid((grey * 255.0 >= _CLIPPED).astype(np.float32), matrix, (shape[0], shape[1]))
    there = np.isfinite(taken)
    if float(np.nan_to_num(burnt_out)[there].mean()) > 0.02:
        raise PhotoError(
            "The photo is burnt out in the light parts; expose less and photograph it again."
        )
    burnt, proof = _as_seen(taken, sharp, there)
    evened, veil = evened_out(burnt, proof, there, part(report, _LAID, _EVENED))
    contrast = ends.unmarked / max(ends.unmarked + veil, 0.1 * ends.unmarked)
    check = _compared(evened, proof, there, ends, contrast, part(report, _EVENED, 1.0))
    return attrs.evolve(check, measured=darker is not None)


def _as_seen(taken: Floats, sharp: Floats, there: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Photo and plate as the eye sees them, or both as softly as the photo shows the piece where
    that is softer."""
    soft = softness_mm(taken, sharp, there, WORK_MM)
    sigma = max(eye_sigma_mm(), soft)
    burnt = _blurred(taken, there, math.sqrt(sigma**2 - soft**2))
    return burnt, burning.blur_mm(sharp, sigma, WORK_MM)


def _blurred(taken: Floats, there: NDArray[np.bool_], sigma_mm: float) -> Floats:
    """Of what is there alone; not a number elsewhere."""
    light = burning.blur_mm(np.where(there, taken, 0.0), sigma_mm, WORK_MM)
    share = burning.blur_mm(there, sigma_mm, WORK_MM)
    return np.asarray(np.where(there, light / np.maximum(share, 1e-6), np.nan), np.float32)


def _compared(
    burnt: Floats,
    proof: Floats,
    there: NDArray[np.bool_],
    ends: Ends,
    contrast: float,
    report: Progress,
) -> Check:
    seen, wanted = (lightness_from_luminance(np.maximum(p, 0.0)) for p in (burnt, proof))
    report(0.6)
    rim = max(1, round(RIM_MM / WORK_MM))
    inside = np.asarray(cv2.erode(there.astype(np.uint8), np.ones((3, 3))), bool)
    inside[:rim] = inside[-rim:] = False
    inside[:, :rim] = inside[:, -rim:] = False
    difference = np.where(inside, seen - wanted, np.nan).astype(np.float32)
    size = max(1, round(WORST_MM / WORK_MM))
    local = cv2.blur(np.nan_to_num(difference), (size, size))
    place = np.unravel_index(int(np.argmax(np.abs(local))), local.shape)
    report(0.7)
    tones = _by_tone(burnt, proof, inside, ends)
    report(1.0)
    expected, found, scatter, pixels = tones
    tone_l = glass.lightness_of_mark(expected, ends)
    apart = glass.lightness_of_mark(found, ends) - tone_l
    return Check(
        difference=difference,
        pitch_mm=WORK_MM,
        mean=float(np.nanmean(np.abs(difference))),
        worst=float(local[place]),
        worst_at_mm=(float((place[1] + 0.5) * WORK_MM), float((place[0] + 0.5) * WORK_MM)),
        expected=tuple(expected.tolist()),
        found=tuple(found.tolist()),
        scatter=tuple(scatter.tolist()),
        by_tone=float(np.average(np.abs(apart), weights=pixels)) if len(pixels) else 0.0,
        contrast=contrast,
        by_place=error_by_place(difference, wanted, tone_l, apart),
    )


def _by_tone(
    burnt: Floats, proof: Floats, inside: NDArray[np.bool_], ends: Ends
) -> tuple[NDArray[np.float64], ...]:
    """Medians of both over bins that are even in L*, where the picture is smooth enough."""
    span = ends.marked - ends.unmarked
    frosts = [np.asarray((p[inside] - ends.unmarked) / span, np.float64) for p in (proof, burnt)]
    tone = tone_of(frosts[0], ends)
    place = np.clip((tone * BINS).astype(int), 0, BINS - 1)
    rows = []
    for number in range(BINS):
        mine = place == number
        if mine.sum() < LEAST_PIXELS:
            continue
        expected, found = (float(np.median(f[mine])) for f in frosts)
        error = float(np.std(tone_of(frosts[1][mine], ends) - tone[mine]))
        rows.append((expected, found, error / np.sqrt(mine.sum() / 40.0), float(mine.sum())))
    columns = np.array(rows, np.float64).reshape(-1, 4).T
    return columns[0].clip(0.0, 1.0), columns[1].clip(0.0, 1.0), columns[2], columns[3]
