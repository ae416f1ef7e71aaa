"""What a viewer sees in one burnt cell: tones told apart, ends that merge, detail, grain."""

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine.filters import Floats
from engine.strip.robust import spread

Doubles = NDArray[np.float64]

LEVELS = 16
"""Even steps of the look by which tones are named."""
FINE_LEVELS = 64
LEAST_PIXELS = 40
JUST_SEEN = 1.0
"""Two tones are told apart from about 1 L* on."""
FINEST_GRAIN = 0.05
DETAIL_PER_MM = (0.4, 1.5)
"""Cycles per mm between which detail is judged: what a viewer of a portrait looks at."""


@attrs.frozen
class CellFacts:
    """One cell, measured."""

    tones: int
    """Of the look's tones, how many a viewer can tell apart."""
    tones_wanted: int
    """Tones that the look has, told apart by the same rule."""
    merged_light: int
    """How many of the lightest of 16 even steps of the look cannot be told from the lightest."""
    merged_dark: int
    """The same for the darkest."""
    detail: float
    """Share of the look's modulation in the band that is left; 1 for all."""
    grain: float
    """Standard deviation in L* about the mean of each tone, as seen; detail that is lost counts."""


def cell_facts(wanted: Floats, shown: Floats, pitch_mm: float) -> CellFacts:
    """Judge a cell by the lightness that was wanted and that is shown.

    Both CIE L* as seen, rows x columns, registered. Tones are the pixels of one level of the look
    together, so that the grain averages out as it does to the eye.
    """
    low, high = float(wanted.min()), float(wanted.max())
    span = max(high - low, 1e-6)
    place = (wanted - low) / span
    fine_wanted, fine_shown, grain = _by_level(place, wanted, shown, FINE_LEVELS)
    jnd = max(JUST_SEEN, grain)
    steps, shown_steps, _ = _by_level(place, wanted, shown, LEVELS)
    gaps = np.diff(steps)
    wanted_apart = _told_apart(fine_wanted, JUST_SEEN)
    close = jnd * min(1.0, 0.5 * float(np.median(gaps)) / jnd) if gaps.size else jnd
    return CellFacts(
        tones=min(_told_apart(fine_shown, jnd), wanted_apart),
        tones_wanted=wanted_apart,
        merged_light=_merged(shown_steps[::-1], close),
        merged_dark=_merged(shown_steps, close),
        detail=_detail(wanted, shown, pitch_mm),
        grain=max(grain, FINEST_GRAIN),
    )


def _by_level(
    place: Floats, wanted: Floats, shown: Floats, count: int
) -> tuple[Doubles, Doubles, float]:
    """Mean wanted and shown lightness of each level that is there, and the scatter about them."""
    level = np.clip((place * count).astype(np.int64), 0, count - 1).ravel()
    pixels = np.bincount(level, minlength=count)
    there = pixels >= LEAST_PIXELS
    means = [
        np.bincount(level, picture.ravel(), count) / np.maximum(pixels, 1)
        for picture in (wanted, shown)
    ]
    apart = shown.ravel() - wanted.ravel() - (means[1] - means[0])[level]
    scatter = spread(apart)
    return means[0][there], means[1][there], scatter


def _told_apart(lightness: Doubles, jnd: float) -> int:
    """Steps up the scale that are each at least one just noticeable difference."""
    if lightness.size == 0:
        return 0
    count, last = 1, float(lightness[0])
    for value in lightness[1:]:
        steps = int((float(value) - last) / jnd)
        if steps > 0:
            count, last = count + steps, last + steps * jnd
    return count


def _merged(lightness: Doubles, close: float) -> int:
    """How many tones from the end on lie as one; 1 means that the first stands apart."""
    if lightness.size == 0:
        return 0
    apart = np.abs(lightness - lightness[0]) > close
    return int(np.argmax(apart)) if apart.any() else int(lightness.size)


def _detail(wanted: Floats, shown: Floats, pitch_mm: float) -> float:
    """Transfer in the band: the part of the shown picture that goes with the wanted one.

    Cross power over power (the H1 estimate; Bendat and Piersol, Random Data), so that grain, which
    does not go with the picture, counts for nothing.
    """
    window = np.outer(np.hanning(wanted.shape[0]), np.hanning(wanted.shape[1]))
    asked, got = (np.fft.rfft2((p - p.mean()) * window) for p in (wanted, shown))
    down = np.fft.fftfreq(wanted.shape[0], pitch_mm)[:, None]
    across = np.fft.rfftfreq(wanted.shape[1], pitch_mm)[None, :]
    radius = np.hypot(down, across)
    band = (radius >= DETAIL_PER_MM[0]) & (radius <= DETAIL_PER_MM[1])
    power = float(np.square(np.abs(asked[band])).sum())
    if power < 1e-9:
        return 1.0
    return float(np.clip(np.real(np.conj(asked[band]) * got[band]).sum() / power, 0.0, 2.0))


def registered(wanted: Floats, shown: Floats) -> Floats:
    """`shown` moved by the fraction of a pixel, or few, by which reading may have misplaced it."""
    window = np.asarray(cv2.createHanningWindow(wanted.shape[::-1], cv2.CV_32F))
    (x, y), response = cv2.phaseCorrelate(
        np.asarray(wanted, np.float32), np.asarray(shown, np.float32), window
    )
    if response < 0.05 or max(abs(x), abs(y)) > 5.0:
        return shown
    shift = np.array([[1.0, 0.0, x], [0.0, 1.0, y]])
    moved = cv2.warpAffine(
        shown,
        shift,
        shown.shape[::-1],
        flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(moved, np.float32)
