"""A blemish on a strip does not refuse it: patches that it touches are left out, which is told."""

import numpy as np
import pytest

from engine.strip.read import read_photo
from engine.strip.read_checks import CLIPPED, ODD, SPOILT
from shared.strip import Strip
from tests import bad_photos as bad
from tests.virtual_camera import photograph
from tests.virtual_sheet import SHEETS, Burnt
from tests.virtual_strip import burnt_strip, hand_strip, told, truth

BLEMISHES = {
    "one chip": lambda p: bad.with_chips(p, [(0.4, 0.4)], 12),
    "two chips": lambda p: bad.with_chips(p, [(0.3, 0.35), (0.7, 0.6)], 8),
    "small lamp": lambda p: bad.with_spot(p, 0.4, 0.4, 10, 2.0),
    "fainter lamp": lambda p: bad.with_spot(p, 0.3, 0.45, 12, 1.0),
}


@pytest.fixture(scope="module")
def piece() -> tuple[Strip, Burnt]:
    strip = hand_strip("fine")
    return strip, burnt_strip(strip, SHEETS["fine"])


@pytest.mark.parametrize("name", BLEMISHES)
def test_what_a_blemish_touches_is_left_out_and_told(piece: tuple[Strip, Burnt], name: str) -> None:
    strip, burnt = piece
    reading = read_photo(BLEMISHES[name](photograph(burnt, seed=1)), strip)
    out = [patch for patch in reading.patches if not patch.counts]
    assert 0 < len(out) < 10
    assert all(set(patch.flags) <= {CLIPPED, ODD, SPOILT} for patch in out)
    assert any("damage to the glass" in warning for warning in told(reading))
    off = reading.frost() - truth(burnt, strip)
    assert np.sqrt(np.nanmean(off**2)) < 0.005
    assert np.nanmax(np.abs(off)) < 0.02


def test_a_clean_strip_is_not_warned_of(piece: tuple[Strip, Burnt]) -> None:
    strip, burnt = piece
    reading = read_photo(photograph(burnt, seed=1), strip)
    assert not told(reading)
    assert all(patch.counts for patch in reading.patches)
