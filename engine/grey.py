"""From three colour records to one grey.

Greys are tones 0..1 on a perceptual scale. `lightness` is CIE L* / 100 of the luminance in linear
light; every other method mixes the encoded records, so that a neutral r = g = b = v stays v (laying
a record over itself then adds contrast on purpose). A neutral v becomes L*(decode(v)) / 100 under
lightness, which is within 0.06 of v.
"""

from functools import cache, lru_cache
from typing import Any, Literal

import attrs
import cv2
import numpy as np
from numpy.typing import NDArray

from engine import blend, colour
from engine.grey_contrast import contrast_weights
from engine.grey_skin import skin_weights
from shared import operators

Rgb = NDArray[np.float32]
Grey = NDArray[np.float32]
Kind = Literal["lightness", "linear", "layered", "polynomial"]

RECORDS = ("red", "green", "blue")
LUMAS = {"luma601": colour.LUMA_601, "luma709": colour.LUMA_709}
# Half an 8-bit step: what an 8-bit file would store as its lowest or highest value.
END_TONE = 0.5 / 255.0
# Detail is what differs from its surroundings, taken this wide (share of the longer side).
SURROUNDINGS = 0.04


@attrs.frozen
class Mix:
    """What a wish for grey means for one photo; the same wish and photo give an equal mix.

    `weights`: none for lightness, three for linear and layered, nine for polynomial (of r, g, b,
    rg, rb, gb, r2, g2, b2). `strength` belongs to layered.
    """

    kind: Kind
    weights: tuple[float, ...] = ()
    strength: float = 0.0


@attrs.frozen
class GreyFacts:
    """What a grey picture is like, for a contact sheet.

    `contrast`: root-mean-square contrast (Peli 1990, J. Opt. Soc. Am. A 7, 2032-2040): the
    standard deviation of the tone, in points of 100; it says how far the greys lie apart.
    `detail`: the same after the mean of the surroundings was taken off (a square, its side 4 % of
    the picture's longer side); it says how much of that is fine enough to draw a face.
    `clipped_dark`, `clipped_light`: shares 0..1 of pixels within half an 8-bit step of the ends.
    """

    contrast: float
    detail: float
    clipped_dark: float
    clipped_light: float


def resolve(wish: operators.Grey, sample: Rgb) -> Mix:
    """Settle what a wish for grey means for a photo; the same input gives the same mix.

    `sample`: the whole upright photo, reduced to about 400 pixels on the longer side; float32,
    rows x columns x 3, encoded sRGB 0..1. Only the methods contrast and skin look at it.
    """
    if wish.method == "lightness":
        return Mix("lightness")
    if wish.method == "layered":
        return Mix("layered", _one_record(wish.record), wish.strength)
    if wish.method == "contrast":
        return Mix("polynomial", contrast_weights(sample))
    if wish.method == "skin":
        return Mix("linear", skin_weights(sample, wish.area))
    if wish.method == "mix":
        total = wish.red + wish.green + wish.blue
        return Mix("linear", (wish.red / total, wish.green / total, wish.blue / total))
    return Mix("linear", LUMAS.get(wish.method) or _one_record(wish.method))


def apply(mix: Mix, rgb: Rgb) -> Grey:
    """Make a picture grey, pixel by pixel, so alike at every size.

    `rgb`: float32, rows x columns x 3, encoded sRGB 0..1. Returns float32, rows x columns, 0..1.
    Lightness and layered go through tables of 16 bits and are within 1e-4 of the formula.
    """
    grey = np.empty(rgb.shape[:2], np.float32)
    for band in colour.bands(rgb.shape[0], rgb.shape[1]):
        _apply_band(mix, rgb[band], grey[band])
    return grey


def facts(grey: Grey) -> GreyFacts:
    """Measure a grey picture: float32, rows x columns, 0..1."""
    width = 1 + 2 * max(1, round(SURROUNDINGS / 2 * max(grey.shape)))
    return GreyFacts(
        contrast=_deviation(grey),
        detail=_deviation(cv2.subtract(grey, cv2.blur(grey, (width, width)))),
        clipped_dark=float(np.mean(grey <= END_TONE)),
        clipped_light=float(np.mean(grey >= 1.0 - END_TONE)),
    )


def _apply_band(mix: Mix, rgb: Rgb, grey: Grey) -> None:
    if mix.kind == "lightness":
        linear = colour.look_up(rgb, _decode_table())
        luminance = cv2.transform(linear, _row(colour.LUMINANCE))
        grey[...] = colour.look_up(_as_grey(luminance), _lightness_table())
        return
    if mix.kind == "polynomial":
        slopes = cv2.transform(rgb, _slopes(mix.weights))
        cv2.transform(cv2.multiply(slopes, rgb, dst=slopes), _row((1.0, 1.0, 1.0)), dst=grey)
    else:
        cv2.transform(rgb, _row(mix.weights), dst=grey)
    if mix.kind == "layered":
        grey[...] = colour.look_up(grey, _overlay_table(mix.strength))
    else:
        np.clip(grey, 0.0, 1.0, out=grey)


def _one_record(name: str) -> tuple[float, float, float]:
    red, green, blue = (float(record == name) for record in RECORDS)
    return red, green, blue


def _row(weights: tuple[float, ...]) -> Rgb:
    return np.array([weights], np.float32)


def _slopes(weights: tuple[float, ...]) -> Rgb:
    """The 3 x 4 matrix M with which the polynomial is the sum of M (r, g, b, 1) times (r, g, b)."""
    r, g, b, rg, rb, gb, rr, gg, bb = weights
    return np.array([[rr, rg, rb, r], [0.0, gg, gb, g], [0.0, 0.0, bb, b]], np.float32)


def _deviation(values: Any) -> float:
    return 100.0 * float(cv2.meanStdDev(values)[1][0, 0])


def _as_grey(values: Any) -> Grey:
    return np.asarray(values, np.float32)


@cache
def _decode_table() -> Grey:
    return colour.curve_table(colour.srgb_decode)


@cache
def _lightness_table() -> Grey:
    return colour.curve_table(lambda y: colour.lightness_from_luminance(y) / 100.0)


@lru_cache(maxsize=8)
def _overlay_table(strength: float) -> Grey:
    return colour.curve_table(lambda v: v + strength * (blend.overlay(v, v) - v))
