"""Moving, adding and taking away points of a tone curve that never falls."""

from shared.fields import MOST_CURVE_POINTS, Point

LEAST_GAP = 0.01
"""Least distance of two inputs, so that points stay apart under the pointer."""
_DIGITS = 4

Points = tuple[Point, ...]


def moved(points: Points, index: int, x: float, y: float) -> Points:
    """The points with one moved as far as its neighbours allow; the ends keep their inputs."""
    last = len(points) - 1
    if 0 < index < last:
        x = _between(x, points[index - 1][0] + LEAST_GAP, points[index + 1][0] - LEAST_GAP)
    else:
        x = points[index][0]
    low = points[index - 1][1] if index > 0 else 0.0
    high = points[index + 1][1] if index < last else 1.0
    there = (round(x, _DIGITS), round(_between(y, low, high), _DIGITS))
    return (*points[:index], there, *points[index + 1 :])


def added(points: Points, x: float, y: float) -> tuple[Points, int] | None:
    """The points with one more, and its index; None where there is no room for it."""
    after = next((i for i, (there, _) in enumerate(points) if there > x), None)
    if after is None or after == 0 or len(points) >= MOST_CURVE_POINTS:
        return None
    (left, low), (right, high) = points[after - 1], points[after]
    if right - left < 2 * LEAST_GAP:
        return None
    x = _between(x, left + LEAST_GAP, right - LEAST_GAP)
    there = (round(x, _DIGITS), round(_between(y, low, high), _DIGITS))
    return (*points[:after], there, *points[after:]), after


def removed(points: Points, index: int) -> Points:
    """The points without one; the two ends stay."""
    if not 0 < index < len(points) - 1:
        return points
    return points[:index] + points[index + 1 :]


def in_words(points: Points, chosen: int) -> str:
    """What a listener needs to know about the curve."""
    places = "; ".join(f"{100 * x:.0f} % becomes {100 * y:.0f} %" for x, y in points)
    return f"{len(points)} points: {places}. Point {chosen + 1} is chosen."


def _between(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)
