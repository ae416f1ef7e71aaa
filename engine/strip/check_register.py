"""A photo of the finished piece laid onto its plate: features first, then all pixels."""

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from engine.colour import LUMA_709
from engine.filters import Floats
from engine.progress import Progress, part, unheard
from shared.errors import PhotoError

Matrix = NDArray[np.float64]

WORK_SIDE = 700
"""Longer side, in pixels, at which the photo is laid onto the plate."""
MOST_FEATURES = 3000
RATIO = 0.8
"""A match counts when the second best is this much farther (Lowe, IJCV 60(2), 2004)."""
REACH_PX = 3.0
FEWEST_MATCHES = 12
LEAST_ALIKE = 0.6
"""Correlation below which photo and plate are not the same picture."""
SOFT_PX = 1.2
RIM = 0.02
"""Share of the plate's shorter side that does not count by all pixels: the softening of the photo
brings light of what lies around the piece into it."""
ROUNDS, STEPS, LEAST_GAIN = 6, 10, 1e-6
"""By all pixels: steps are counted in rounds, between which the work can be stopped."""
_FEATURES, _REFINED = 0.6, 0.9
"""Shares of the progress at which features and all pixels are matched."""


def register(photo: Floats, expected: Floats, progress: Progress | None = None) -> Matrix:
    """The homography from pixels of `expected` to pixels of `photo`, 3 x 3, x before y.

    Both rows x columns, float32, 0 to 1, encoded for the eye. progress: called with the share that
    is done, 0 to 1; may raise `Cancelled`. Raises PhotoError when the photo does not show the
    plate, or shows it mirrored.
    """
    report = progress or unheard
    scales = [min(1.0, 2.0 * WORK_SIDE / max(photo.shape)), WORK_SIDE / max(expected.shape)]
    taken, plate = _scaled(photo, scales[0]), _scaled(expected, scales[1])
    found = _found(taken, plate, report)
    alike = 0.0 if found is None else _alike(taken, plate, found)
    report(1.0)
    if found is None or alike < LEAST_ALIKE:
        mirrored = np.ascontiguousarray(taken[:, ::-1])
        other = _found(mirrored, plate, lambda _: report(1.0))
        if other is not None and _alike(mirrored, plate, other) > max(LEAST_ALIKE, alike):
            raise PhotoError(
                "The piece was photographed from the etched side; turn it over and photograph it "
                "from the front."
            )
        raise PhotoError(
            "The photo does not show this plate, or not well enough: photograph the whole piece "
            "from the front on black, sharp and without reflections."
        )
    return np.linalg.inv(_scaling(scales[0])) @ found @ _scaling(scales[1])


def laid(photo: NDArray[np.float32], matrix: Matrix, shape: tuple[int, int]) -> Floats:
    """The photo on the plate's pixels; not a number where it does not reach."""
    size = (shape[1], shape[0])
    if _shrinks(matrix):
        sigma = 0.5 * float(np.sqrt(abs(np.linalg.det(matrix[:2, :2]))))
        photo = np.asarray(cv2.GaussianBlur(photo, (0, 0), max(sigma, 0.1)), np.float32)
    return np.asarray(
        cv2.warpPerspective(
            photo,
            matrix,
            size,
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=float("nan"),
        ),
        np.float32,
    )


def encoded_grey(pixels: NDArray[np.uint8]) -> Floats:
    """A photo's luma, float32 0 to 1, as encoded."""
    weights = np.array([LUMA_709], np.float32) / np.float32(255.0)
    return np.asarray(cv2.transform(pixels.astype(np.float32), weights), np.float32)


def _shrinks(matrix: Matrix) -> bool:
    return bool(abs(np.linalg.det(matrix[:2, :2])) > 1.5)


def _scaled(picture: Floats, scale: float) -> Floats:
    soft = picture
    if scale < 1.0:
        size = tuple(max(16, round(side * scale)) for side in picture.shape[::-1])
        soft = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.float32)
    elif scale > 1.0:
        size = tuple(round(side * scale) for side in picture.shape[::-1])
        soft = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_LINEAR), np.float32)
    return np.asarray(cv2.GaussianBlur(soft, (0, 0), SOFT_PX), np.float32)


def _scaling(scale: float) -> Matrix:
    """Pixel centres lie at whole numbers: x' + 1/2 = scale (x + 1/2)."""
    shift = 0.5 * scale - 0.5
    return np.array([[scale, 0.0, shift], [0.0, scale, shift], [0.0, 0.0, 1.0]])


def _found(photo: Floats, expected: Floats, report: Progress) -> Matrix | None:
    start = _by_features(photo, expected, part(report, 0.0, _FEATURES))
    return _refined(photo, expected, start, part(report, _FEATURES, _REFINED))


def _by_features(photo: Floats, expected: Floats, report: Progress) -> Matrix | None:
    """From matched features, robustly (Fischler and Bolles 1981)."""
    sift = cv2.SIFT.create(MOST_FEATURES, contrastThreshold=0.01)
    found: list[Any] = []
    for codes in (_codes(expected), _codes(photo)):
        points = sift.detect(codes, None)
        report(0.2 + 0.4 * len(found))
        found.append(sift.compute(codes, points))
        report(0.4 * len(found))
    (points, signs), (others, other_signs) = found
    if min(len(points), len(others)) < FEWEST_MATCHES:
        return None
    pairs = cv2.BFMatcher().knnMatch(signs, other_signs, k=2)
    report(1.0)
    good = [p[0] for p in pairs if len(p) == 2 and p[0].distance < RATIO * p[1].distance]
    if len(good) < FEWEST_MATCHES:
        return None
    source = np.array([points[m.queryIdx].pt for m in good], np.float32)
    target = np.array([others[m.trainIdx].pt for m in good], np.float32)
    matrix, kept = cv2.findHomography(source, target, cv2.RANSAC, REACH_PX)
    if (
        np.shape(matrix) != (3, 3)
        or int(kept.sum()) < FEWEST_MATCHES
        or np.linalg.det(matrix[:2, :2]) <= 0.0
    ):
        return None
    return np.asarray(matrix, np.float64)


def _refined(
    photo: Floats, expected: Floats, start: Matrix | None, report: Progress
) -> Matrix | None:
    """By all pixels: enhanced correlation coefficient (Evangelidis and Psarakis 2008)."""
    if start is None:
        return None
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, STEPS, LEAST_GAIN)
    rim = round(RIM * min(expected.shape))
    inner = np.ascontiguousarray(expected[rim:-rim, rim:-rim]) if rim else expected
    inward = np.array([[1.0, 0.0, rim], [0.0, 1.0, rim], [0.0, 0.0, 1.0]])
    matrix, before = (start @ inward).astype(np.float32), -1.0
    for number in range(ROUNDS):
        try:
            alike, better = cv2.findTransformECC(
                inner, photo, matrix.copy(), cv2.MOTION_HOMOGRAPHY, criteria
            )
        except cv2.error:
            break
        matrix = np.asarray(better, np.float32)
        report((number + 1) / ROUNDS)
        if alike - before < LEAST_GAIN:
            break
        before = alike
    report(1.0)
    return np.asarray(matrix @ np.linalg.inv(inward), np.float64)


def _alike(photo: Floats, expected: Floats, matrix: Matrix) -> float:
    """Correlation after registration, of what is left without the coarsest light."""
    seen = laid(photo, matrix, (expected.shape[0], expected.shape[1]))
    there = np.isfinite(seen)
    if there.mean() < 0.5:
        return 0.0
    filled = np.where(there, seen, np.float32(np.nanmean(seen)))
    parts = []
    for picture in (filled, expected):
        light = cv2.GaussianBlur(picture, (0, 0), max(picture.shape) / 6.0)
        parts.append((picture - light)[there])
    return float(np.corrcoef(parts[0], parts[1])[0, 1])


def _codes(picture: Floats) -> NDArray[np.uint8]:
    low, high = np.percentile(picture, (0.5, 99.5))
    return np.asarray(np.clip(255.0 * (picture - low) / max(high - low, 1e-3), 0, 255), np.uint8)
