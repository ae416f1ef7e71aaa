"""The strip's bitmaps: only what was planned burns, right from the front; the files are true."""

import re
import shutil

import attrs
import cv2
import numpy as np
import pytest
import skimage.data
from PIL import Image

from engine.flow import Flow, prepare
from engine.grid import overview
from engine.photo import photo_from_array
from engine.strip import labels
from engine.strip.layout import lay_out
from engine.strip.layout_area import Wish
from engine.strip.make import Plan, make_strip
from engine.strip.make_dots import window
from engine.strip.make_files import READINGS, STRIP, write_strip
from engine.strip.readings_file import fill_in
from shared.errors import InputError, OutputError, WriteError
from shared.profile import GENERIC
from shared.profile_file import profile_from_data
from shared.recipe import Recipe
from shared.strip import read_strip

CROP = (0.3, 0.05, 0.6, 0.4)
PLAN = Plan(
    pairs=((60.0, 15.0), (40.0, 12.0)),
    speeds=(300.0,),
    screens=("diffusion", "mixed"),
    size_mm=(110.0, 90.0),
    crop=CROP,
)


@pytest.fixture(scope="module")
def astronaut():
    return prepare(photo_from_array(skimage.data.astronaut(), "astronaut"))


def make(prepared, plan=PLAN, recipe=None, profile=GENERIC):
    return make_strip(prepared, recipe or Recipe(), profile, plan)


@pytest.fixture(scope="module")
def made(astronaut):
    return make(astronaut)


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
def test_markers_read_from_the_front_where_the_strip_says(astronaut, etched):
    found = make(astronaut, recipe=Recipe().changed(plate__etched=etched))
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


def test_a_bitmap_for_the_back_is_the_mirror_of_one_for_the_front(astronaut, made):
    front = make(
        astronaut,
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


def test_the_files_are_the_strip(tmp_path, made):
    paths = write_strip(made, tmp_path / "new" / "folder")
    folder = tmp_path / "new" / "folder"
    assert sorted(paths) == sorted(folder.iterdir())
    strip = read_strip(folder / STRIP)
    assert strip == made.strip
    for run, bitmap in zip(strip.runs, made.bitmaps, strict=True):
        with Image.open(folder / run.file) as image:
            assert image.mode == "L"
            np.testing.assert_array_equal(np.asarray(image), bitmap.pixels)
            assert float(image.info["dpi"][0]) == pytest.approx(254.0, abs=0.01)
        assert run.origin_mm == (0.0, 0.0)
        assert bitmap.pixels.shape == (900, 1100)
    look = cv2.imread(str(folder / strip.cell_look), cv2.IMREAD_UNCHANGED)
    np.testing.assert_array_equal(look, made.cell_look)
    planned = profile_from_data(strip.profile)
    assert planned.machine == GENERIC.machine
    assert planned.setting.power_max_pct == strip.runs[0].power_max_pct


def test_nothing_is_written_over_unless_it_may(tmp_path, made):
    write_strip(made, tmp_path)
    kept = {path: path.read_bytes() for path in tmp_path.iterdir()}
    with pytest.raises(OutputError, match="exists already"):
        write_strip(made, tmp_path)
    write_strip(made, tmp_path, overwrite=True)
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == kept
    (tmp_path / STRIP).unlink()
    with pytest.raises(OutputError, match="the photo itself"):
        write_strip(made, tmp_path, overwrite=True, photo_path=tmp_path / made.strip.runs[1].file)
    assert not (tmp_path / STRIP).exists()


def test_a_strip_that_cannot_be_written_costs_nothing(tmp_path, astronaut, made):
    """By a limit on the size of files, which only the largest of them exceeds."""
    resource = pytest.importorskip("resource", reason="limits of POSIX")
    write_strip(made, tmp_path)
    kept = {path: path.read_bytes() for path in tmp_path.iterdir()}
    other = make(astronaut, attrs.evolve(PLAN, speeds=(310.0,)))
    write_strip(other, tmp_path / "measured")
    largest = max(path.stat().st_size for path in (tmp_path / "measured").iterdir())
    shutil.rmtree(tmp_path / "measured")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (largest - 1, hard))
    try:
        with pytest.raises(WriteError, match="no room left"):
            write_strip(other, tmp_path, overwrite=True)
        with pytest.raises(WriteError, match="no room left"):
            write_strip(other, tmp_path / "new")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert not list((tmp_path / "new").iterdir())
    (tmp_path / "new").rmdir()
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == kept


def test_readings_that_were_filled_in_outlive_another_strip(tmp_path, astronaut, made):
    other = make(astronaut, attrs.evolve(PLAN, speeds=(310.0,)))
    readings = tmp_path / READINGS
    write_strip(made, tmp_path)
    write_strip(other, tmp_path, overwrite=True)
    assert readings.read_text() == fill_in(other.strip)
    readings.write_text(readings.read_text().replace("3;;", "3;0,4;"))
    kept = {path: path.read_bytes() for path in tmp_path.iterdir()}
    for again in (made, other):
        with pytest.raises(OutputError, match=r"readings\.csv was filled in"):
            write_strip(again, tmp_path, overwrite=True)
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == kept
    readings.unlink()
    write_strip(made, tmp_path, overwrite=True)
    assert readings.read_text() == fill_in(made.strip)


def test_runs_of_a_strip_that_is_replaced_go_and_nothing_else_does(tmp_path, astronaut, made):
    other = make(astronaut, attrs.evolve(PLAN, speeds=(310.0,)))
    (tmp_path / "mine.png").write_bytes(b"mine")
    write_strip(made, tmp_path)
    described = tmp_path / STRIP
    name = made.strip.runs[0].file
    described.write_text(described.read_text().replace(f'"{name}"', '"mine.png"'))
    write_strip(other, tmp_path, overwrite=True)
    there = {path.name for path in tmp_path.glob("*.png")}
    assert {run.file for run in other.strip.runs} <= there
    assert made.strip.runs[1].file not in there
    assert {"mine.png", name} <= there


def test_the_strip_knows_the_tones_of_the_whole_picture_but_bare_glass(made):
    tones = np.array(made.strip.tones)
    assert tones.size == 32
    flow, recipe = Flow(prepare(photo_from_array(skimage.data.astronaut(), "astronaut"))), Recipe()
    grid = overview(recipe.plate, 600)
    looks = flow.cover(recipe, grid).of(flow.look(recipe, grid))
    burnt = looks > 0.0
    assert 0.85 < burnt.mean() < 0.95
    assert tones.sum() == pytest.approx(burnt.mean(), abs=0.02)
    for end in (1, 8, 31):
        darker = (burnt & (looks < end / 32.0)).mean()
        assert tones[:end].sum() == pytest.approx(darker, abs=0.02)


def test_a_mark_that_shall_come_out_dark_makes_the_same_strip(astronaut):
    """Strips are judged on black, whatever the plate is made for."""
    plan = attrs.evolve(PLAN, number=5)
    light = make(astronaut, plan)
    dark = make(astronaut, plan, Recipe().changed(plate__mark="dark"))
    assert dark.strip == light.strip
    np.testing.assert_array_equal(dark.cell_look, light.cell_look)
    for one, other in zip(dark.bitmaps, light.bitmaps, strict=True):
        np.testing.assert_array_equal(one.pixels, other.pixels)


def test_a_file_is_no_folder(tmp_path, made):
    (tmp_path / "taken").write_text("mine")
    with pytest.raises(OutputError, match="cannot be made"):
        write_strip(made, tmp_path / "taken")
    assert (tmp_path / "taken").read_text() == "mine"


def test_the_same_job_gives_the_same_strip(tmp_path, astronaut, made):
    write_strip(made, tmp_path / "a")
    write_strip(make(astronaut), tmp_path / "b")
    for path in (tmp_path / "a").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes()
    other = make(astronaut, attrs.evolve(PLAN, speeds=(310.0,)))
    assert other.strip.number != made.strip.number


def test_progress_rises_to_the_end(astronaut):
    shares = []
    make_strip(astronaut, Recipe(), GENERIC, PLAN, shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"pairs": ((101.0, 15.0),)}, "between 0 and 100 %"),
        ({"pairs": ((60.0, -1.0),)}, "between 0 and 100 %"),
        ({"pairs": ((float("nan"), 10.0),)}, "between 0 and 100 %"),
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
def test_what_cannot_be_made_is_said(astronaut, changed, words):
    with pytest.raises(InputError, match=re.escape(words)):
        make(astronaut, attrs.evolve(PLAN, **changed))
