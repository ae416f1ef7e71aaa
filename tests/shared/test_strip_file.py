"""A strip's file: there and back, and no change of it does anything but load or be named."""

import copy
import json
import math
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.strip.fit import planned_profile
from engine.strip.fit_gains import set_to
from engine.strip.judge_reasons import judged_screen
from engine.strip.judge_tones import tone_weights
from shared.errors import InputError
from shared.profile import GENERIC
from shared.profile_file import profile_data
from shared.recipe import Screen
from shared.strip import Box, Cell, Marker, Patch, Run, Strip, dump_strip, load_strip

SIZE_MM = (60.0, 50.0)
STRIP = Strip(
    number=12,
    size_mm=SIZE_MM,
    pitch_mm=0.1,
    screen=attrs.asdict(Screen()),
    etched="back",
    runs=(
        Run("run01_45-10_300.png", 45.0, 10.0, 300.0, (0.0, 0.0)),
        Run("run02_60-15_300.png", 60.0, 15.0, 300.0, (0.0, 0.0)),
    ),
    markers=tuple(
        Marker(number, Box(x, y, 8.0, 8.0))
        for number, (x, y) in enumerate(((2.0, 2.0), (50.0, 2.0), (50.0, 40.0), (2.0, 40.0)))
    ),
    patches=(
        Patch("bare", Box(12.0, 2.0, 5.0, 5.0), 0),
        Patch("solid", Box(18.0, 2.0, 5.0, 5.0), 1, 1.0),
        Patch("power", Box(24.0, 2.0, 5.0, 5.0), 0, 0.5),
        Patch("screen", Box(30.0, 2.0, 5.0, 5.0), 0, 0.25, "diffusion"),
        Patch("lines", Box(36.0, 2.0, 5.0, 5.0), 0, 0.5, "", 5.0, upright=False),
    ),
    cells=(Cell(Box(12.0, 12.0, 16.0, 20.0), 0), Cell(Box(30.0, 12.0, 16.0, 20.0), 1)),
    cell_look="cell-look.png",
    profile=json.loads(json.dumps(profile_data(GENERIC))),
    tones=(0.03125,) * 32,
)
GOOD = json.loads(dump_strip(STRIP))
WRONG = (
    None, True, "", "x", "../x.png", "\ud800", [], [1], {}, {"a": 1}, math.nan, math.inf, -math.inf,
    -1, -0.001, 0, 0.5, 1, 2, 50, 101, 1e9, 1e308, 10**400, [0] * 9000, ["x"] * 4,
)  # fmt: skip


def places(data: Any) -> list[tuple[str | int, ...]]:
    """The way to every group, list and figure of plain data."""
    pairs = data.items() if isinstance(data, dict) else enumerate(data)
    found: list[tuple[str | int, ...]] = []
    for key, value in pairs:
        found.append((key,))
        if isinstance(value, dict | list):
            found += [(key, *rest) for rest in places(value)]
    return found


PLACES = places(GOOD)


def changed(place: tuple[str | int, ...], value: Any) -> str:
    """The file's text with another value there, or without it where the value is Ellipsis."""
    data = copy.deepcopy(GOOD)
    group: Any = data
    for key in place[:-1]:
        group = group[key]
    if value is ...:
        del group[place[-1]]
    else:
        group[place[-1]] = value
    return json.dumps(data)


def test_a_strip_comes_back_the_same() -> None:
    assert load_strip(dump_strip(STRIP)) == STRIP


@settings(max_examples=600, deadline=None)
@given(st.sampled_from(PLACES), st.sampled_from(WRONG) | st.just(...) | st.floats() | st.integers())
def test_any_change_is_named_or_does_no_harm(place: tuple[str | int, ...], value: Any) -> None:
    try:
        strip = load_strip(changed(place, value))
    except InputError:
        return
    planned = planned_profile(strip)
    for run in strip.runs:
        set_to(planned, run, strip.pitch_mm)
    judged_screen(strip)
    assert tone_weights(strip.tones).sum() <= 1.01


@pytest.mark.parametrize(
    ("place", "value", "words"),
    [
        (("number",), 0, "its number must be a whole number from 1"),
        (("size_mm",), [60.0], "size_mm must be a list of 2"),
        (("size_mm", 0), 0.0, "its width must be"),
        (("pitch_mm",), 0.0, "its pitch must be a number from 0.01 to 1"),
        (("pitch_mm",), 10**400, "its pitch must be a number"),
        (("pitch_mm",), math.nan, "its pitch must be a number"),
        (("etched",), "middle", "must be one of: back, front"),
        (("runs",), [], "runs must be a list of 1 to"),
        (("runs", 1, "power_max_pct"), 0.0, "the greatest power of run 2"),
        (("runs", 1, "power_min_pct"), 60.0, "must be below the greatest"),
        (("runs", 0, "speed_mm_s"), 0.0, "the speed of run 1"),
        (("runs", 0, "file"), "../run.png", "without a folder"),
        (("runs", 0, "file"), "C:run.png", "without a folder"),
        (("runs", 0, "origin_mm"), [0.0, 51.0], "the origin of run 1"),
        (("markers", 3), ..., "markers must be a list of 4"),
        (("markers", 0, "id"), 1, "different ids"),
        (("markers", 0, "box", "left_mm"), 55.0, "must lie on the glass"),
        (("patches",), [GOOD["patches"][0]] * 9000, "patches must be a list of 1 to 5000"),
        (("patches", 1, "kind"), "dots", "the kind of patch 2"),
        (("patches", 1, "run"), 2, "the run of patch 2 is none of the 2"),
        (("patches", 1, "run"), -1, "the run of patch 2"),
        (("patches", 2, "drive"), 1.01, "the drive of patch 3"),
        (("patches", 3, "screen"), "", "the screen of patch 4"),
        (("patches", 4, "lines_per_mm"), 0.0, "the lines per mm of patch 5"),
        (("patches", 4, "lines_per_mm"), 9.0, "the lines per mm of patch 5"),
        (("patches", 0, "box", "width_mm"), 0.0, "the width_mm of patch 1"),
        (("cells", 1, "run"), 0, "cells must be of different runs"),
        (("cells",), [GOOD["cells"][0]] * 3, "cells must be a list of 0 to 2"),
        (("cell_look",), "", "without a folder"),
        (("tones",), [0.9, 0.9], "must not sum to more than 1"),
        (("screen", "kind"), "dots", "Screen (kind)"),
        (("profile", "machine", "rated_w"), 10**400, "larger than any figure"),
        (("profile", "setting", "both_directions"), [], "must be true or false"),
        (("patches",), [{**GOOD["patches"][0], "box": GOOD["cells"][0]["box"]}] * 10, "more room"),
        (("pitch_mm",), ..., "damaged"),
    ],
)
def test_what_no_strip_has_is_named(place: tuple[str | int, ...], value: Any, words: str) -> None:
    with pytest.raises(InputError) as refused:
        load_strip(changed(place, value))
    assert words in str(refused.value)
    assert "damaged" in str(refused.value)


def test_a_pitch_too_fine_for_its_size_is_refused() -> None:
    large = {**GOOD, "size_mm": [3000.0, 3000.0], "pitch_mm": 0.01}
    with pytest.raises(InputError, match="too fine"):
        load_strip(json.dumps(large))
