"""The strip on the scrap: nothing overlaps, all keeps clear of the edge, repeats lie scattered."""

import itertools
import math
from collections import Counter

import attrs
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from engine.strip import labels
from engine.strip.layout import LEAST_PATCH_MM, lay_out
from engine.strip.layout_parts import Wish
from engine.strip.layout_steps import line_periods, power_drives, screen_drives
from shared.errors import InputError
from shared.strip import Box, Run

PAIRS = ((60.0, 15.0), (45.0, 15.0), (30.0, 12.0), (90.0, 0.0))
SPEEDS = (250.0, 400.0, 37.5)
SCREENS = ("diffusion", "mixed", "bluenoise", "clustered")


def runs(pairs=3, speeds=2):
    return tuple(
        Run(f"{number}.png", most, least, speed, (0.0, 0.0))
        for number, (speed, (most, least)) in enumerate(
            itertools.product(SPEEDS[:speeds], PAIRS[:pairs])
        )
    )


USUAL = Wish(runs(), ("diffusion", "mixed"), 1234)


def boxes(wish, layout):
    """Everything that takes room, the markers with their quiet zones of one module."""
    for marker in layout.markers:
        quiet = marker.box.width_mm / labels.MARKER_CELLS
        yield Box(
            marker.box.left_mm - quiet,
            marker.box.top_mm - quiet,
            marker.box.width_mm + 2 * quiet,
            marker.box.height_mm + 2 * quiet,
        )
    yield from (cell.box for cell in layout.cells)
    yield from (patch.box for patch in layout.patches)
    for text in layout.texts:
        sides = (text.left, text.top, text.width, text.height)
        yield Box(*(side * wish.pitch_mm for side in sides))


def edges(box):
    return np.array(
        [box.left_mm, box.top_mm, box.left_mm + box.width_mm, box.top_mm + box.height_mm]
    )


def middle(patch):
    box = patch.box
    return np.array([box.left_mm + box.width_mm / 2, box.top_mm + box.height_mm / 2])


@settings(max_examples=30, deadline=None)
@given(
    width=st.floats(50.0, 260.0),
    height=st.floats(50.0, 260.0),
    margin=st.floats(0.0, 15.0),
    pitch=st.sampled_from([0.05, 0.0847, 0.1, 0.2]),
    pairs=st.integers(1, 4),
    speeds=st.integers(1, 3),
    screens=st.integers(0, 4),
    aspect=st.floats(0.5, 2.0),
    number=st.integers(1, 9999),
)
def test_nothing_overlaps_and_all_keeps_clear_of_the_edge(
    width, height, margin, pitch, pairs, speeds, screens, aspect, number
):
    wish = Wish(
        runs(pairs, speeds), SCREENS[:screens], number, (width, height), margin, pitch, aspect
    )
    try:
        layout = lay_out(wish)
    except InputError:
        assume(False)
    all_edges = np.array([edges(box) for box in boxes(wish, layout)])
    assert all_edges[:, :2].min() >= margin - 1e-6
    # The last etch pixel may reach half a pixel beyond the scrap's own edge; the machine, which
    # begins at the other corner when the back is etched, then sees all shifted by that.
    whole = np.rint(np.array([width, height]) / pitch) * pitch
    least = np.minimum(np.array([width, height]), whole)
    assert (all_edges[:, 2:].max(axis=0) <= [width - margin + 1e-6, height - margin + 1e-6]).all()
    assert (all_edges[:, :2].min(axis=0) + least - whole >= margin - 1e-6).all()
    left, top, right, bottom = all_edges.T
    apart_x = np.maximum(left[:, None] - right[None], left[None] - right[:, None])
    apart_y = np.maximum(top[:, None] - bottom[None], top[None] - bottom[:, None])
    apart = np.maximum(apart_x, apart_y)
    np.fill_diagonal(apart, np.inf)
    texts = len(layout.texts)
    apart[-texts:, -texts:] = np.where(apart[-texts:, -texts:] > -1e-6, np.inf, -1.0)
    assert apart.min() > 0.2, "all but the lines of one label have bare glass between them"
    assert [cell.run for cell in layout.cells] == list(range(len(wish.runs)))
    assert {patch.run for patch in layout.patches} == set(range(len(wish.runs)))
    for patch in layout.patches:
        assert min(patch.box.width_mm, patch.box.height_mm) >= LEAST_PATCH_MM - 1e-6
        np.testing.assert_allclose(edges(patch.box) / pitch, np.rint(edges(patch.box) / pitch))


@pytest.mark.parametrize("size", [(150.0, 200.0), (200.0, 150.0), (120.0, 160.0), (90.0, 120.0)])
def test_every_wedge_has_eleven_steps_each_at_least_twice(size):
    layout = lay_out(attrs.evolve(USUAL, size_mm=size))
    first = [patch for patch in layout.patches if patch.run == 0]
    wedges = {
        "power": Counter(p.drive for p in first if p.kind == "power"),
        **{
            name: Counter(p.drive for p in first if p.kind == "screen" and p.screen == name)
            for name in USUAL.screens
        },
    }
    for counts in wedges.values():
        assert len(counts) >= 11
        assert min(counts.values()) >= 2
        assert max(counts) == 1.0
    lines = Counter((p.lines_per_mm, p.upright) for p in first if p.kind == "lines")
    assert len({pitch for pitch, _ in lines}) >= 3
    assert len(lines) == 2 * len({pitch for pitch, _ in lines})
    assert min(lines.values()) >= 2
    for run in range(1, len(USUAL.runs)):
        kinds = Counter(p.kind for p in layout.patches if p.run == run)
        assert kinds["solid"] >= 1
        assert kinds["power"] >= 2


def test_where_there_is_room_the_patches_of_every_run_are_repeated():
    patches = lay_out(USUAL).patches
    counts = Counter(attrs.evolve(p, box=Box(0, 0, 0, 0)) for p in patches)
    assert min(counts.values()) >= 2
    for run in range(1, len(USUAL.runs)):
        assert {p.screen for p in patches if p.run == run} == {"", *USUAL.screens}


@pytest.mark.parametrize("size", [(150.0, 200.0), (90.0, 120.0)])
def test_bare_and_solid_patches_reach_all_over_the_strip(size):
    patches = lay_out(attrs.evolve(USUAL, size_mm=size)).patches
    everywhere = np.ptp([middle(p) for p in patches], axis=0)
    for kind in ("bare", "solid"):
        own = np.array([middle(p) for p in patches if p.kind == kind and p.run == 0])
        assert len(own) >= 8
        assert np.all(np.ptp(own, axis=0) >= 0.8 * everywhere)
        ways = [np.hypot(*(own - middle(patch)).T).min() for patch in patches]
        assert max(ways) < 0.4 * min(size), "there is one not far from any patch"


@pytest.mark.parametrize("number", [1, 77, 1234, 9999])
def test_the_starting_wedges_are_scattered(number):
    layout = lay_out(attrs.evolve(USUAL, number=number))
    wedge = [p for p in layout.patches if p.run == 0 and p.kind == "power"]
    places = np.array([middle(p) for p in wedge])
    drives = np.array([p.drive for p in wedge])
    for axis in (0, 1):
        ranks = np.corrcoef(places[:, axis].argsort().argsort(), drives.argsort().argsort())
        assert abs(ranks[0, 1]) < 0.6
    for drive in set(drives):
        own = places[drives == drive]
        gaps = [math.dist(a, b) for a, b in itertools.combinations(own, 2)]
        assert max(gaps) > 20.0, "a stain does not hit all repeats of a step"


def test_the_number_decides_how_the_patches_are_scattered():
    again, other = lay_out(USUAL), lay_out(attrs.evolve(USUAL, number=1235))
    assert lay_out(USUAL) == again
    assert other.patches != again.patches
    assert {m.id for m in other.markers}.isdisjoint(m.id for m in again.markers)


def test_so_do_the_settings_and_the_wedges():
    """Else a photo of one strip would pass for another one of the same number."""
    usual = lay_out(USUAL)
    faster = tuple(attrs.evolve(run, speed_mm_s=run.speed_mm_s + 1.0) for run in USUAL.runs)
    stronger = tuple(attrs.evolve(run, power_max_pct=run.power_max_pct + 1) for run in USUAL.runs)
    ways = ({"runs": faster}, {"runs": stronger}, {"screens": ("diffusion", "bluenoise")})
    for way in ways:
        other = lay_out(attrs.evolve(USUAL, **way))
        same = sum(
            (one.kind, one.run) == (two.kind, two.run)
            for one, two in zip(usual.patches, other.patches, strict=True)
        )
        assert same < 0.6 * len(usual.patches)
        assert other.markers == usual.markers


def test_other_runs_keep_to_the_rows_of_their_cells_and_so_take_less_time():
    layout = lay_out(USUAL)
    for cell in layout.cells[1:]:
        rows = [middle(p)[1] for p in layout.patches if p.run == cell.run]
        assert np.ptp(rows) < 0.45 * USUAL.size_mm[1]


@pytest.mark.parametrize("run", runs(4, 1))
def test_power_steps_are_even_in_log_fluence(run):
    drives = np.array(power_drives(run, 15))
    powers = run.power_min_pct + (run.power_max_pct - run.power_min_pct) * drives
    steps = np.diff(np.log(powers))
    assert len(drives) >= 11
    assert drives[-1] == 1.0
    np.testing.assert_allclose(np.rint(drives * 255) / 255, drives, atol=1e-12)
    assert steps.max() < 1.6 * steps.min() + 2.0 / 255.0
    assert powers[0] <= max(run.power_min_pct, run.power_max_pct / 12.0) * 1.05


@pytest.mark.parametrize("kind", SCREENS)
def test_screens_have_more_steps_at_the_foot(kind):
    drives = screen_drives(kind, runs()[0], 13)
    assert len(drives) >= 11
    assert all(low < high for low, high in itertools.pairwise(drives))
    assert drives[-1] == 1.0
    if kind == "mixed":
        assert sum(d <= 0.5 for d in drives) > sum(d > 0.5 for d in drives)
        assert sum(0.5 < d <= 0.75 for d in drives) > sum(d > 0.75 for d in drives) - 1
    else:
        assert sum(d <= 0.5 for d in drives) > sum(d > 0.5 for d in drives)


@given(pitch=st.floats(0.02, 0.5))
def test_lines_are_whole_and_even_etch_pixels(pitch):
    periods = line_periods(pitch)
    assert periods == sorted(set(periods), reverse=True)
    assert all(period >= 2 and period % 2 == 0 for period in periods)


def test_one_setting_fits_on_a_small_scrap():
    layout = lay_out(attrs.evolve(USUAL, runs=runs(1, 1), size_mm=(80.0, 100.0)))
    assert len(layout.cells) == 1


@given(number=st.integers(1, 9999))
def test_markers_belong_to_the_dictionary_and_tell_strips_apart(number):
    ids = labels.marker_ids(number)
    assert len(set(ids)) == 4
    assert all(0 <= marker < 50 for marker in ids)
    assert set(ids).isdisjoint(labels.marker_ids(number + 1))


@pytest.mark.parametrize("pitch", [0.05, 0.1, 0.15, 0.2, 0.3])
def test_figures_of_labels_can_be_told_apart_at_any_pitch(pitch):
    layout = lay_out(attrs.evolve(USUAL, pitch_mm=pitch))
    for height in {text.height for text in layout.texts}:
        assert height * pitch >= 1.8 - 1e-6
        figures = [labels.text_dots(figure, height) for figure in "0123456789"]
        for one, other in itertools.combinations(figures, 2):
            wide = min(one.shape[1], other.shape[1])
            assert (one[:, :wide] != other[:, :wide]).sum() >= 5


@pytest.mark.parametrize(("width", "title"), [(150.0, "Test strip 1234"), (40.0, "1234")])
def test_the_number_is_burnt_on_a_narrow_scrap_too(width, title):
    wish = attrs.evolve(USUAL, runs=runs(1, 1), size_mm=(width, 300.0))
    assert lay_out(wish).texts[0].text == title


def test_labels_say_the_setting():
    texts = [text.text for text in lay_out(USUAL).texts]
    assert texts[0] == "Test strip 1234"
    assert "45/15 % 250 mm/s" in texts
