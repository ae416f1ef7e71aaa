"""The light on a finished piece: evened out by the plate itself."""

import numpy as np
from numpy.typing import NDArray

from engine.colour import lightness_from_luminance
from engine.filters import Floats
from engine.progress import Progress
from engine.strip.robust import spread
from shared.errors import PhotoError

Doubles = NDArray[np.float64]

ROUNDS = 12
HUBER = 1.5
TONES = 20
FEWEST = 50
"""Places by which a tone is known."""
MOST_PLACES = 40_000
"""Pixels by which the light is found."""


def evened_out(
    taken: Floats, light: Floats, there: NDArray[np.bool_], report: Progress
) -> tuple[Floats, float]:
    """The photo's luminance brought to the plate's: (photo - veil) / gain, gain a smooth field;
    and the veil on the plate's scale.

    photo = (quadratic in x and y) x tones(expected) + veil, by least squares with Huber's weights.
    The tones are what came out at each expected luminance, so that a wrong curve is not taken for
    uneven light; the darkest and the lightest tone are taken to have come out right.

    taken, light, there: rows x columns, linear luminances and where the photo reaches. Raises
    PhotoError where the light is too uneven.
    """
    rows, columns = light.shape
    y, x = np.mgrid[-1.0 : 1.0 : rows * 1j, -1.0 : 1.0 : columns * 1j]
    fields = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y])
    places = np.flatnonzero(there)
    places = places[:: max(1, places.size // MOST_PLACES)]
    some = fields.reshape(6, -1)[:, places]
    expected, values = (p.ravel()[places].astype(np.float64) for p in (light, taken))
    report(0.2)
    tone = _tones_of(expected)
    at = _medians(expected, tone)
    came = at.copy()
    weights = np.ones(len(values))
    solved = np.zeros(7)
    report(0.3)
    for number in range(ROUNDS):
        tones = np.interp(expected, at, came)
        terms = np.concatenate([some * tones, np.ones((1, len(values)))]).T
        root = np.sqrt(weights)
        solved = np.linalg.lstsq(terms * root[:, None], values * root, rcond=None)[0]
        weights = _weights(values, terms @ solved)
        gain = np.tensordot(solved[:6], some, 1)
        came = _came((values - solved[6]) / np.maximum(gain, 1e-6), tone, at)
        report(0.3 + 0.5 * (number + 1) / ROUNDS)
    gain = np.tensordot(solved[:6], fields, 1)
    report(1.0)
    if gain.min() <= 0.05 * gain.max():
        raise PhotoError(
            "The light on the piece is too uneven, or a part of it mirrors a light, is missing or "
            "was not burnt: if it is whole, light it from a window or a lamp farther away, without "
            "reflections, on dull black."
        )
    return np.asarray((taken - solved[6]) / gain, np.float32), float(solved[6] / gain.mean())


def _weights(values: Doubles, fitted: Doubles) -> Doubles:
    apart = (values - fitted) / np.maximum(fitted, 0.02 * fitted.max())
    width = max(spread(apart), 1e-6)
    worth = np.minimum(1.0, HUBER * width / np.maximum(np.abs(apart), 1e-12))
    return np.asarray(worth / np.square(np.maximum(fitted, 0.1 * fitted.max())))


def _tones_of(expected: Doubles) -> NDArray[np.intp]:
    """The number of each place's tone: the darkest and the lightest hundredth of all, and between
    them even in L*, as far as enough places have them."""
    lightness = lightness_from_luminance(expected)
    low, high = np.quantile(lightness, (0.01, 0.99))
    edges = np.linspace(low, high, TONES - 1)
    number = np.searchsorted(edges, lightness)
    many = np.flatnonzero(np.bincount(number, minlength=TONES) >= FEWEST)
    return np.searchsorted(many, number).clip(0, many.size - 1)


def _medians(values: Doubles, tone: NDArray[np.intp]) -> Doubles:
    return np.array([np.median(values[tone == number]) for number in range(tone.max() + 1)])


def _came(evened: Doubles, tone: NDArray[np.intp], at: Doubles) -> Doubles:
    """What came out at each tone `at`, rising, both ends kept."""
    medians = np.maximum.accumulate(_medians(evened, tone))
    span = max(float(medians[-1] - medians[0]), 1e-6)
    return np.asarray(at[0] + (medians - medians[0]) * (at[-1] - at[0]) / span)
