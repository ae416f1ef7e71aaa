"""What looks like a reflection, a shadow or a camera that moved may come from something else that
is worth telling: a squeezed or blurred photo, a shadow beside which the rest is light, or frost
that flaked off."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import numpy as np
from numpy.typing import NDArray

from engine.strip.read_edges import Edges
from engine.strip.refuse import Refusal
from engine.strip.refuse_photo import is_squeezed

SOFT_MM, SOFT_PART = 0.2, 1.5
"""Blur of the whole photo, and how many times that its worst part has, from which on frost's light
is carried onto bare glass."""
MOST_STEP = 1.03
"""Height of solids' edges over the frost inside, which local contrast raises."""
_OF_LIGHT = ("glare", "uneven")
_OF_RAGGED = ("moved", "sharpened", "blurred", "disagree", "noisy")


@contextmanager
def true_reasons(
    grey: NDArray[np.uint8],
    sharp: Edges,
    check_shadows: Callable[[], None],
    *,
    flaked: bool,
) -> Iterator[None]:
    """Refusals of what is done inside give a better reason where there is one.

    grey: the photo as encoded, rows x columns; check_shadows raises a Refusal for a shadow's edge;
    flaked: whether all settings were so strong that frost flaked off.
    """
    try:
        yield
    except Refusal as refusal:
        if refusal.reason in _OF_LIGHT:
            check_soft(grey, sharp)
            check_shadows()
        if flaked and refusal.reason in _OF_RAGGED:
            raise Refusal("flaked") from None
        raise


def check_soft(grey: NDArray[np.uint8], sharp: Edges) -> None:
    """Raises Refusal for a photo so squeezed, so blurred in part or so heightened in local contrast
    that frost seems to spill onto bare glass."""
    if is_squeezed(grey):
        raise Refusal("squeezed")
    if sharp.step > MOST_STEP:
        raise Refusal("sharpened")
    if sharp.blur_mm > SOFT_MM or sharp.worst_mm > SOFT_PART * sharp.blur_mm:
        raise Refusal("blurred")
