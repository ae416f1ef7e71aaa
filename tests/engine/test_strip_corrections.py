"""What the user says about a strip's readings, and pictures of cells and of differences."""

import attrs
import numpy as np
import pytest

from engine.strip.cells import cell_picture, small_photo
from engine.strip.check import Check
from engine.strip.check_map import DARKER, LIGHTER, REACH_L, SAME, UNKNOWN, difference_picture
from engine.strip.corrections import EYE, TYPED_SCATTER, Corrections, corrected, entries
from engine.strip.fit_values import measured_of
from engine.strip.read_result import PatchReading, Reading
from shared.errors import InputError
from tests import strip_in_a_folder as strips
from tests.virtual_strip import hand_strip

STRIP = hand_strip()


def reading_of(strip, flagged=()):
    """Every patch as its drive; lines swing by a half."""
    patches = tuple(
        PatchReading(
            frost=patch.drive,
            scatter=0.02,
            standard_error=0.004,
            pixels=400,
            flags=("too few pixels",) if number in flagged else (),
            modulation=0.5 if patch.kind == "lines" else None,
            modulation_error=0.05 if patch.kind == "lines" else None,
        )
        for number, patch in enumerate(strip.patches)
    )
    return Reading(
        patches=patches,
        cells=(),
        cell_pitch_mm=0.1,
        picture=np.zeros((4, 4, 3), np.uint8),
        picture_px_per_mm=8.0,
        px_per_mm=8.0,
        tilt_deg=0.0,
        turn_deg=0.0,
        side="front",
        residual_px=0.1,
        blur_mm=0.05,
        bare_over_solid=0.05,
    )


def first(kind):
    return next(n for n, patch in enumerate(STRIP.patches) if patch.kind == kind)


def test_without_corrections_everything_is_as_it_was_read():
    reading = reading_of(STRIP, flagged=(first("solid"),))
    assert corrected(STRIP, reading, Corrections()) == measured_of(reading, STRIP)


def test_a_flagged_patch_is_taken_in_and_a_good_one_left_out():
    flagged, good, lines = first("solid"), first("power"), first("lines")
    reading = reading_of(STRIP, flagged=(flagged,))
    said = Corrections().with_used(flagged, on=True).with_used(good, on=False)
    found = corrected(STRIP, reading, said.with_used(lines, on=False))
    patches = {value.patch for value in found.values}
    assert flagged in patches
    assert good not in patches
    assert lines not in {line.patch for line in found.lines}


def test_a_typed_value_counts_with_a_scatter_of_its_own_until_it_is_taken_back():
    patch = first("screen")
    reading = reading_of(STRIP)
    said = Corrections().with_used(patch, on=False).with_value(patch, 0.25)
    value = next(v for v in corrected(STRIP, reading, said).values if v.patch == patch)
    assert (value.frost, value.scatter) == (0.25, TYPED_SCATTER)
    assert entries(STRIP, reading, said)[patch].remark == "typed in"
    assert entries(STRIP, reading, said.with_value(patch, None))[patch].value == (
        STRIP.patches[patch].drive
    )


def test_without_a_photo_only_what_was_typed_counts():
    powers = [n for n, patch in enumerate(STRIP.patches) if patch.kind == "power"]
    said = Corrections({n: STRIP.patches[n].drive for n in powers[:8]})
    found = corrected(STRIP, None, said.with_used(powers[0], on=False))
    assert {value.patch for value in found.values} == set(powers[1:8])
    with pytest.raises(InputError, match="at least 6"):
        corrected(STRIP, None, Corrections({powers[0]: 0.4}))


def test_steps_of_a_grey_scale_need_the_scale():
    wanted = {first("bare"): 1.0, first("solid"): 5.0}
    powers = [n for n, patch in enumerate(STRIP.patches) if patch.kind == "power"]
    wanted |= dict.fromkeys(powers[:6], 3.0)
    found = corrected(STRIP, None, Corrections(wanted, unit=EYE, scale=(10, 20, 30, 40, 50)))
    frost = {value.patch: value.frost for value in found.values}
    assert frost[first("bare")] == pytest.approx(0.0)
    assert frost[first("solid")] == pytest.approx(1.0)
    assert 0.0 < frost[powers[0]] < 0.5
    with pytest.raises(InputError, match="five steps"):
        corrected(STRIP, None, Corrections(wanted, unit=EYE))


def test_a_cell_s_picture_rises_with_its_frost():
    frost = np.array([[-0.2, 0.0, 0.1, 0.5, 1.0, 1.3, np.nan]], np.float32)
    shown = cell_picture(frost, 0.05)[0].astype(int)
    assert shown.dtype == int
    assert (np.diff(shown[1:5]) > 0).all()
    assert shown[0] == shown[1] == shown[6]
    assert shown[4] == shown[5] == 240


def test_a_small_photo_keeps_the_photo_s_codes():
    prepared = strips.portrait()
    shown = small_photo(prepared)
    assert shown.shape == prepared.sample.shape
    np.testing.assert_allclose(shown / 255.0, prepared.sample, atol=0.5 / 255 + 1e-6)


def test_the_map_shows_lighter_darker_and_unknown_apart():
    difference = np.array([[0.0, REACH_L, 3.0 * REACH_L, -REACH_L, -0.5 * REACH_L, np.nan]])
    check = Check(difference.astype(np.float32), 0.15, 0.0, 0.0, (0.0, 0.0), (), (), (), 0.0, 1.0)
    row = difference_picture(check)[0]
    assert [tuple(pixel) for pixel in row[:4]] == [SAME, LIGHTER, LIGHTER, DARKER]
    half = (np.array(SAME) + np.array(DARKER)) / 2
    np.testing.assert_allclose(row[4], half, atol=0.5)
    assert tuple(row[5]) == UNKNOWN
    assert np.mean(LIGHTER) > np.mean(SAME)


def test_corrections_are_values():
    said = Corrections().with_value(3, 0.5)
    assert said == Corrections({3: 0.5})
    assert attrs.evolve(said, unit="density") != said
