"""The lens of the photo, from what is known on the strip: markers' corners, then solid patches.

Markers tell of a lens by how their shape changes towards the picture's corners. Frost that reaches
farther than it was burnt makes all of them smaller alike; that is solved for too, lest it be taken
for the lens. The middles of solid patches, which it does not move, then fix the rest.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from engine.strip.find_corners import Points, middle_of_patch
from engine.strip.find_view import Lens, View, corners_mm, view_of
from shared.strip import Strip

REACH_MM = 0.8
"""How far from where the markers put it a patch's side is looked for."""
STRAIGHT_MM = 0.03
"""A lens is taken for straight when solid patches lie no farther off, root mean square."""
MOST_K1 = 0.25
_OFF_CENTRE = 0.2
"""Standard deviation of the lens's axis from the picture's middle, in half diagonals, before
anything was measured: a photo may have been cropped."""
_ROUGH_MM, _BETTER = 0.02, 0.6
"""What solid patches are off anyway; and the share of being off at which a lens helps."""
_FEWEST = 6
_STEP, _MOST_TURNS = 1e-3, 20


def through_lens(grey: NDArray[np.uint8], strip: Strip, corners: dict[int, Points]) -> View:
    """The view from the markers' refined corners (4 x 2 pixels by number), with a lens if the
    photo shows one; grey: rows x columns, as encoded."""
    seen = [marker for marker in strip.markers if marker.id in corners]
    on_strip = np.concatenate([corners_mm(marker.box) for marker in seen])
    in_photo = np.concatenate([corners[marker.id] for marker in seen])
    plain = view_of(on_strip, in_photo, strip.size_mm)
    start = _from_markers(on_strip, in_photo, strip, grey.shape)
    places, found = _solids(grey, strip, start)
    if len(found) < _FEWEST:
        return plain
    off = _rms(_apart(plain, places, found))
    if off < STRAIGHT_MM:
        return plain
    places = np.concatenate([places, on_strip.reshape(-1, 4, 2).mean(axis=1)])
    found = np.concatenate([found, in_photo.reshape(-1, 4, 2).mean(axis=1)])
    bent = _from_middles(places, found, strip, start.lens)
    return bent if _rms(_apart(bent, places, found)) < _BETTER * off else plain


def _from_markers(on_strip: Points, in_photo: Points, strip: Strip, shape: tuple[int, ...]) -> View:
    """With the lens's axis in the picture's middle, and all markers wider by the same amount."""
    outward = np.sign(on_strip - on_strip.reshape(-1, 4, 2).mean(axis=1).repeat(4, axis=0))

    rows, columns = shape
    middle, radius = (columns / 2.0, rows / 2.0), float(np.hypot(rows, columns)) / 2.0

    def view(solved: Points) -> View:
        places = on_strip + solved[1] * outward
        return view_of(places, in_photo, strip.size_mm, Lens(float(solved[0]), middle, radius))

    def off(solved: Points) -> Points:
        places = on_strip + solved[1] * outward
        return _apart(view(solved), places, in_photo).ravel()

    bounds = ([-MOST_K1, -0.5], [MOST_K1, 0.5])
    solved = least_squares(off, [0.0, 0.0], bounds=bounds, diff_step=_STEP, max_nfev=_MOST_TURNS)
    return view(solved.x)


def _from_middles(on_strip: Points, in_photo: Points, strip: Strip, start: Lens) -> View:
    """With the lens's axis anywhere near the picture's middle; some points may be wrong."""

    def lens(solved: Points) -> Lens:
        x, y = np.array(start.centre) + start.radius * solved[1:]
        return Lens(float(solved[0]), (float(x), float(y)), start.radius)

    def off(solved: Points) -> Points:
        apart = _apart(view_of(on_strip, in_photo, strip.size_mm, lens(solved)), on_strip, in_photo)
        return np.append(apart.ravel() / _ROUGH_MM, solved[1:] / _OFF_CENTRE)

    bounds = ([-MOST_K1, -0.5, -0.5], [MOST_K1, 0.5, 0.5])
    first = [start.k1, 0.0, 0.0]
    solved = least_squares(off, first, bounds=bounds, loss="soft_l1", diff_step=_STEP, x_scale=0.05)
    return view_of(on_strip, in_photo, strip.size_mm, lens(solved.x))


def _solids(grey: NDArray[np.uint8], strip: Strip, view: View) -> tuple[Points, Points]:
    """Middles of solid patches on the strip and in the photo, those that were found."""
    places, found = [], []
    reach = REACH_MM * view.px_per_mm
    for patch in strip.patches:
        corners = corners_mm(patch.box)
        rough = np.stack(view.pixels(corners[:, 0], corners[:, 1]), axis=-1)
        inside = (rough > 0.0).all() and (rough < grey.shape[::-1]).all()
        if patch.kind != "solid" or not inside:
            continue
        middle = middle_of_patch(grey, rough, reach)
        if np.hypot(*(middle - rough.mean(axis=0))) < 1.5 * reach:
            places.append(corners.mean(axis=0))
            found.append(middle)
    return np.array(places).reshape(-1, 2), np.array(found).reshape(-1, 2)


def _apart(view: View, on_strip: Points, in_photo: Points) -> Points:
    """How far points in the photo lie from where the view puts them, n x 2, in mm."""
    x, y = view.pixels(on_strip[:, 0], on_strip[:, 1])
    return (np.stack([x, y], axis=-1) - in_photo) / view.px_per_mm


def _rms(apart: Points) -> float:
    """Of most points: the median distance, as that of a Gaussian in two directions."""
    return float(np.sqrt(np.median(np.sum(apart**2, axis=1)) / np.log(2.0)))
