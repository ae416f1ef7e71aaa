"""The strip's bitmaps: only what was planned burns, right from the front; what cannot be made."""

import re

import attrs
import cv2
import numpy as np
import pytest
import skimage.data

from engine.flow import Flow
from engine.grid import overview
from engine.strip import labels
from engine.strip.layout import lay_out
from engine.strip.layout_parts import Wish
from engine.strip.make import make_strip
from engine.strip.make_dots import window
from shared.errors import InputError
from shared.profile import GENERIC
from shared.recipe import Recipe
from tests import astronaut_strip as strips
from tests.astronaut_strip import CROP, PLAN, make


@pytest.fixture
def made():
    return strips.made()


def from_front(made, run):
    """A run's dots as the viewer sees them: 0 bare, 255 full power."""
    pixels = made.bitmaps[run].pixels
    return 255 - (pixels[:, ::-1] if made.strip.etched == "back" else pixels)


def layout_of(made, plan=PLAN):
    strip = made.strip
    cell = strip.cells[0].box
    wish = Wish(
        strip.runs, plan.screens, strip.number, strip.size_mm, 6.0, strip.pitch_mm,
        cell.width_mm / cell.height_mm,
    )  # fmt: skip
    return lay_out(wish)


def markers_in(picture):
    # A viewer's photo is no bare bitmap: it is larger and softer than the etch pixels.
    large = cv2.resize(picture, None, fx=2, fy=2, interpolation=cv2.INTER_NEAREST)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(large)
    if ids is None:
        return {}
    return {int(i): c[0] / 2.0 for i, c in zip(ids.ravel(), corners, strict=True)}


@pytest.mark.parametrize("etched", ["back", "front"])
def test_markers_read_from_the_front_where_the_strip_says(etched):
    found = make(recipe=Recipe().changed(plate__etched=etched))
    assert found.strip.etched == etched
    seen = markers_in(from_front(found, 0))
    assert set(seen) == {marker.id for marker in found.strip.markers}
    for marker in found.strip.markers:
        box, pitch = marker.box, found.strip.pitch_mm
        left, top = box.left_mm / pitch, box.top_mm / pitch
        right, bottom = left + box.width_mm / pitch, top + box.height_mm / pitch
        corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
        np.testing.assert_allclose(seen[marker.id], corners, atol=1.5)
    mirrored = markers_in(255 - found.bitmaps[0].pixels)
    expected = set() if etched == "back" else {m.id for m in found.strip.markers}
    assert set(mirrored) & {m.id for m in found.strip.markers} == expected


def test_a_bitmap_for_the_back_is_the_mirror_of_one_for_the_front(made):
    front = make(
        attrs.evolve(PLAN, number=made.strip.number),
        Recipe().changed(plate__etched="front"),
    )
    for ours, theirs in zip(made.bitmaps, front.bitmaps, strict=True):
        np.testing.assert_array_equal(ours.pixels, theirs.pixels[:, ::-1])


def test_every_run_burns_only_what_is_planned_for_it(made):
    strip, layout = made.strip, layout_of(made)
    assert layout.patches == strip.patches
    for number in range(len(strip.runs)):
        planned = np.zeros(made.bitmaps[number].pixels.shape, bool)
        for place in (*strip.cells, *strip.patches):
            if place.run == number and getattr(place, "kind", "") != "bare":
                planned[window(place.box, strip.pitch_mm)] = True
        for text in layout.texts:
            if text.run == number:
                planned[text.top : text.top + text.height, text.left : text.left + text.width] = 1
        if number == 0:
            for marker in strip.markers:
                down, across = window(marker.box, strip.pitch_mm)
                module = (down.stop - down.start) // labels.MARKER_CELLS
                planned[
                    down.start - module : down.stop + module,
                    across.start - module : across.stop + module,
                ] = True
        burnt = from_front(made, number) > 0
        assert not np.any(burnt & ~planned)
        for place in (*strip.cells, *strip.patches):
            if place.run == number and getattr(place, "kind", "") != "bare":
                assert burnt[window(place.box, strip.pitch_mm)].any()


def test_labels_read_from_the_front(made):
    for text in layout_of(made).texts:
        seen = from_front(made, text.run)
        part = seen[text.top : text.top + text.height, text.left : text.left + text.width]
        np.testing.assert_array_equal(part == 255, labels.text_dots(text.text, text.height))
        assert set(np.unique(part)) == {0, 255}


def test_patches_hold_their_drive(made):
    strip = made.strip
    for patch in strip.patches:
        dots = from_front(made, patch.run)[window(patch.box, strip.pitch_mm)]
        match patch.kind:
            case "bare":
                assert not dots.any()
            case "solid":
                assert np.all(dots == 255)
            case "power":
                assert np.all(dots == round(255 * patch.drive))
            case "screen" if patch.screen == "diffusion":
                assert set(np.unique(dots)) <= {0, 255}
                assert dots.mean() / 255 == pytest.approx(patch.drive, abs=0.015)
            case "screen" if patch.drive <= 0.5:
                assert set(np.unique(dots)) <= {0, 1}
                assert dots.mean() == pytest.approx(2 * patch.drive, abs=0.015)
            case "screen":
                assert np.all(abs(dots - 255 * (2 * patch.drive - 1)) <= 1)
            case "lines":
                along = dots if patch.upright else dots.T
                assert np.all(along == along[0])
                period = round(1 / (patch.lines_per_mm * strip.pitch_mm))
                np.testing.assert_array_equal(along[0, period:], along[0, :-period])
                assert along[0, :period].mean() == 255 / 2


def test_no_two_patches_have_the_same_dots(made):
    """So that the chance of one pattern does not stand for the screen."""
    strip = made.strip
    seen = {}
    for patch in strip.patches:
        if patch.kind == "screen" and patch.drive not in (0.5, 1.0):
            dots = from_front(made, patch.run)[window(patch.box, strip.pitch_mm)]
            if 0 in dots:
                alike = seen.setdefault((patch.run, patch.screen, patch.drive), [])
                assert not any(np.array_equal(dots, other) for other in alike)
                alike.append(dots)
    assert max(map(len, seen.values())) > 1


def test_each_cell_shows_the_crop(made):
    grey = cv2.cvtColor(skimage.data.astronaut(), cv2.COLOR_RGB2GRAY).astype(np.float32)
    rows, columns = grey.shape
    left, top, right, bottom = CROP
    crop = grey[
        round(top * rows) : round(bottom * rows), round(left * columns) : round(right * columns)
    ]
    assert made.crop == CROP
    for cell in made.strip.cells:
        dots = from_front(made, cell.run)[window(cell.box, made.strip.pitch_mm)]
        assert dots.shape == made.cell_look.shape
        soft = cv2.GaussianBlur(dots.astype(np.float32), (0, 0), 4.0)
        look = cv2.GaussianBlur(made.cell_look.astype(np.float32), (0, 0), 4.0)
        assert np.corrcoef(soft.ravel(), look.ravel())[0, 1] > 0.9
        there = cv2.resize(crop, dots.shape[::-1], interpolation=cv2.INTER_AREA)
        assert np.corrcoef(look.ravel(), cv2.GaussianBlur(there, (0, 0), 4.0).ravel())[0, 1] > 0.8


def test_a_setting_that_the_profile_expects_to_mark_nothing_shows_the_crop_all_the_same():
    pairs = ((45.0, 10.0), (12.0, 10.0))
    found = make(attrs.evolve(PLAN, pairs=pairs, screens=("diffusion",), pitch_mm=0.2))
    strong, weak = (
        from_front(found, cell.run)[window(cell.box, found.strip.pitch_mm)]
        for cell in found.strip.cells
    )
    assert 0.2 < (strong > 0).mean() < 0.98
    np.testing.assert_array_equal(weak, strong)


def test_where_no_setting_is_expected_to_mark_the_cells_are_as_at_the_profiles_own():
    plan = attrs.evolve(PLAN, screens=("diffusion",), pitch_mm=0.2)
    cells = []
    for pair, speed in (((12.0, 10.0), 300.0), ((45.0, 10.0), 150.0)):
        found = make(attrs.evolve(plan, pairs=(pair,), speeds=(speed,)))
        cells.append(from_front(found, 0)[window(found.strip.cells[0].box, 0.2)])
    assert cells[1].any()
    np.testing.assert_array_equal(*cells)


def test_the_strip_knows_the_tones_of_the_whole_picture_but_bare_glass(made):
    tones = np.array(made.strip.tones)
    assert tones.size == 32
    flow, recipe = Flow(strips.astronaut()), Recipe()
    grid = overview(recipe.plate, 600)
    looks = flow.cover(recipe, grid).of(flow.look(recipe, grid))
    burnt = looks > 0.0
    assert 0.85 < burnt.mean() < 0.95
    assert tones.sum() == pytest.approx(burnt.mean(), abs=0.02)
    for end in (1, 8, 31):
        darker = (burnt & (looks < end / 32.0)).mean()
        assert tones[:end].sum() == pytest.approx(darker, abs=0.02)


def test_a_mark_that_shall_come_out_dark_makes_the_same_strip():
    """Strips are judged on black, whatever the plate is made for."""
    plan = attrs.evolve(PLAN, number=5)
    light = make(plan)
    dark = make(plan, Recipe().changed(plate__mark="dark"))
    assert dark.strip == light.strip
    np.testing.assert_array_equal(dark.cell_look, light.cell_look)
    for one, other in zip(dark.bitmaps, light.bitmaps, strict=True):
        np.testing.assert_array_equal(one.pixels, other.pixels)


def test_progress_rises_to_the_end():
    shares = []
    make_strip(strips.astronaut(), Recipe(), GENERIC, PLAN, shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"pairs": ((101.0, 15.0),)}, "between 0 and 100 %"),
        ({"pairs": ((60.0, -1.0),)}, "between 0 and 100 %"),
        ({"pairs": ((float("nan"), 10.0),)}, "between 0 and 100 %"),
        ({"pairs": ((60.0, float("nan")),)}, "between 0 and 100 %"),
        ({"pairs": ((15.0, 60.0),)}, "write the greatest first"),
        ({"pairs": ((60.0, 9.0),)}, "firing floor of 10 %"),
        ({"pairs": ()}, "1 to 24 settings"),
        ({"pairs": tuple((60.0 + k, 15.0) for k in range(25))}, "has 25"),
        ({"speeds": (601.0,)}, "10 to 600 mm/s"),
        ({"speeds": (5.0,)}, "10 to 600 mm/s"),
        ({"speeds": (float("nan"),)}, "10 to 600 mm/s"),
        ({"screens": ("threshold",)}, "no dot gain of threshold"),
        ({"size_mm": (20.0, 100.0)}, "30 to 1000 mm"),
        ({"size_mm": (float("nan"), 100.0)}, "30 to 1000 mm"),
        ({"size_mm": (1000.0, 1000.0), "pitch_mm": 0.05}, "too many etch pixels"),
        ({"margin_mm": 5.9}, "margin of 6 to 200 mm"),
        ({"margin_mm": float("nan")}, "margin of 6 to 200 mm"),
        ({"margin_mm": 45.0}, "do not fit"),
        ({"pitch_mm": 0.6}, "0.02 and 0.5 mm"),
        ({"number": 0}, "between 1 and 9999"),
        ({"crop": (0.5, 0.1, 0.4, 0.3)}, "rise from 0 to 1"),
        ({"crop": (0.5, 0.1, 0.54, 0.3)}, "too small"),
    ],
)
def test_what_cannot_be_made_is_said(changed, words):
    with pytest.raises(InputError, match=re.escape(words)):
        make(attrs.evolve(PLAN, **changed))
