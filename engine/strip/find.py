"""Where the strip lies in a photograph: markers, the view from mm to pixels, and its plausibility.

markers  the four squares, roughly        corners  the same to a fraction of a pixel
lens     the view through the photo's lens
"""

from collections.abc import Callable
from itertools import product

import numpy as np
from numpy.typing import NDArray

from engine.strip.find_corners import Points, refined
from engine.strip.find_lens import through_lens
from engine.strip.find_markers import Found, detect, detect_mirrored, is_double, is_family
from engine.strip.find_view import View, corners_mm, view_of
from engine.strip.refuse import Refusal
from engine.strip.refuse_photo import is_white, why_nothing
from shared.strip import Strip

LEAST_PX_PER_MM = 4.0
MOST_TILT_DEG = 32.0
MOST_RESIDUAL_MM = 0.25
MOST_PLACES = 3
"""Of one marker, the largest ones, that are tried."""


def find_strip(grey: NDArray[np.uint8], strip: Strip, report: Callable[[float], None]) -> View:
    """Where the strip lies; grey: rows x columns, as encoded. `report` is called with the share
    that is done. Raises Refusal."""
    wanted = [marker.id for marker in strip.markers]
    scale = max(grey.shape) / max(strip.size_mm)
    if scale < LEAST_PX_PER_MM:
        raise Refusal("small", found=scale, needed=LEAST_PX_PER_MM)
    report(0.1)
    found = detect(grey, wanted)
    report(0.6)
    ours = {number: found[number] for number in wanted if number in found}
    if len(ours) < len(wanted):
        _refuse_incomplete(grey, strip, found, ours, report)
    if any(is_double(several) for several in ours.values()):
        raise Refusal("moved")
    squares = _as_laid_out(strip, ours)
    corners = {number: refined(grey, number, square) for number, square in squares.items()}
    view = through_lens(grey, strip, corners)
    report(1.0)
    _check_view(view, strip, grey.shape)
    return view


def _as_laid_out(strip: Strip, ours: Found) -> dict[int, Points]:
    """Of markers that were seen in several places, those that lie as on the strip: patches and
    pictures may look like a marker by chance. The largest ones first."""
    choices = list(product(*(ours[marker.id][:MOST_PLACES] for marker in strip.markers)))
    world = np.concatenate([corners_mm(marker.box) for marker in strip.markers])
    views = [view_of(world, np.concatenate(squares), strip.size_mm) for squares in choices]
    fits = [view.residual_px < MOST_RESIDUAL_MM * view.px_per_mm for view in views]
    misfits = [view.residual_px for view in views]
    best = fits.index(True) if any(fits) else int(np.argmin(misfits))
    return {marker.id: square for marker, square in zip(strip.markers, choices[best], strict=True)}


def _check_view(view: View, strip: Strip, shape: tuple[int, ...]) -> None:
    if np.linalg.det(view.to_photo[:2, :2]) <= 0.0:
        raise Refusal("wrong_strip", number=strip.number)
    if view.tilt_deg > MOST_TILT_DEG:
        raise Refusal("tilted", found=view.tilt_deg)
    if view.px_per_mm < LEAST_PX_PER_MM:
        raise Refusal("small", found=view.px_per_mm, needed=LEAST_PX_PER_MM)
    misfit_mm = view.residual_px / view.px_per_mm
    if misfit_mm > 4.0 * MOST_RESIDUAL_MM:
        raise Refusal("wrong_strip", number=strip.number)
    if misfit_mm > MOST_RESIDUAL_MM:
        raise Refusal("distorted")
    for box in [patch.box for patch in strip.patches] + [cell.box for cell in strip.cells]:
        corners = corners_mm(box)
        x, y = view.pixels(corners[:, 0], corners[:, 1])
        if x.min() < 0 or y.min() < 0 or x.max() > shape[1] or y.max() > shape[0]:
            raise Refusal("cropped", where=_where(corners.mean(axis=0), strip))


def _where(point: Points, strip: Strip) -> str:
    """The corner of the strip, as it is seen upright, that is nearest to a point."""
    width, height = strip.size_mm
    return f"{'top' if point[1] < height / 2 else 'bottom'} " + (
        "left" if point[0] < width / 2 else "right"
    )


def _refuse_incomplete(
    grey: NDArray[np.uint8],
    strip: Strip,
    found: Found,
    ours: Found,
    report: Callable[[float], None],
) -> None:
    """Raises the Refusal that fits best when markers are missing."""
    wanted = [marker.id for marker in strip.markers]
    mirrored = detect_mirrored(grey, wanted)
    report(0.9)
    if sum(number in mirrored for number in wanted) > len(ours):
        front = "unetched face" if strip.etched == "back" else "etched face"
        raise Refusal("wrong_side", front=front)
    if len(ours) < 2 and is_family([c[0] for n, c in found.items() if n not in ours]):
        raise Refusal("wrong_strip", number=strip.number)
    reason = why_nothing(grey, len(ours))
    if not ours or reason in ("blurred", "moved", "dark", "light_backing"):
        raise Refusal(reason)
    lost = next(marker for marker in strip.markers if marker.id not in ours)
    centre = corners_mm(lost.box).mean(axis=0)
    seen = [marker for marker in strip.markers if marker.id in ours]
    view = view_of(
        np.concatenate([corners_mm(marker.box) for marker in seen]),
        np.concatenate([ours[marker.id][0] for marker in seen]),
        strip.size_mm,
    )
    x, y = view.pixels(centre[:1], centre[1:])
    where = _where(centre, strip)
    reach = 0.75 * lost.box.width_mm * max(view.px_per_mm, 1.0)
    rows, columns = grey.shape
    if not (reach < x[0] < columns - reach and reach < y[0] < rows - reach):
        raise Refusal("cropped", where=where)
    left, top = max(0, round(float(x[0]) - reach)), max(0, round(float(y[0]) - reach))
    if is_white(grey[top : top + round(2 * reach), left : left + round(2 * reach)]):
        raise Refusal("glare")
    raise Refusal("missing", where=where) if reason == "no_strip" else Refusal(reason)
