"""A run that lies beside its place is named, and what lies nearly right is read."""

import attrs
import numpy as np
import pytest

from engine.strip.read import read_photo
from engine.strip.refuse import Refusal
from shared.strip import Box, Strip
from tests.virtual_camera import photograph
from tests.virtual_sheet import SHEETS, Burnt
from tests.virtual_strip import burnt_strip, hand_strip, truth

BARE_Y = 0.015


def two_runs(off_mm: tuple[float, float]) -> tuple[Strip, Burnt]:
    """Every third patch is of a second run, which lies off its place."""
    strip = hand_strip("fine")
    burnt = burnt_strip(strip, SHEETS["fine"])
    patches, luminance = list(strip.patches), burnt.luminance.copy()
    fired = [n for n, p in enumerate(patches) if p.kind in ("solid", "power", "screen")]
    second = fired[::3]
    for n in second:
        luminance[_place(burnt, patches[n].box, (0.0, 0.0))] = BARE_Y
    for n in second:
        box = patches[n].box
        luminance[_place(burnt, box, off_mm)] = burnt.luminance[_place(burnt, box, (0.0, 0.0))]
        patches[n] = attrs.evolve(patches[n], run=1)
    strip = attrs.evolve(strip, runs=strip.runs * 2, patches=tuple(patches))
    return strip, Burnt(luminance, burnt.sub, burnt.pitch_mm)


@pytest.mark.parametrize(
    ("off_mm", "far"), [((0.0, 1.0), "1.0"), ((-2.0, 0.0), "2.0"), ((2.0, 2.0), "2.8")]
)
def test_a_displaced_run_is_named(off_mm: tuple[float, float], far: str) -> None:
    strip, burnt = two_runs(off_mm)
    with pytest.raises(Refusal, match=f"Run 2 lies about {far} mm") as refused:
        read_photo(photograph(burnt), strip)
    assert refused.value.reason == "displaced"


@pytest.mark.parametrize("off_mm", [(0.0, 0.0), (0.3, 0.0)])
def test_a_run_that_lies_nearly_right_is_read(off_mm: tuple[float, float]) -> None:
    strip, burnt = two_runs(off_mm)
    reading = read_photo(photograph(burnt), strip)
    off = reading.frost() - truth(burnt_strip(hand_strip("fine"), SHEETS["fine"]), strip)
    assert np.sqrt(np.nanmean(off**2)) < 0.008


def _place(burnt: Burnt, box: Box, off_mm: tuple[float, float]) -> tuple[slice, slice]:
    left, top = box.left_mm + off_mm[0], box.top_mm + off_mm[1]
    sides = (top, top + box.height_mm, left, left + box.width_mm)
    first, last, start, end = (round(mm / burnt.pixel_mm) for mm in sides)
    return slice(first, last), slice(start, end)
