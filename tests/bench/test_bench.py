"""The bench works, and its yardstick computes what the studio computes. No times are looked at."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from skimage import data

from engine import view
from engine.flow import Flow, prepare
from engine.grid import overview, whole_plate
from engine.photo import photo_from_array
from shared.recipe import Recipe

BENCH = Path(__file__).parent


@pytest.mark.parametrize(
    ("part", "rows"),
    [
        ("sliders", 26),
        ("repaint", 13),
        ("export", 4),
        ("curves", 5),
        ("agreement", 2),
        ("start", 1),
        ("loop", 9),
        ("modulation", 6),
    ],
)
def test_every_row_is_measured(part: str, rows: int) -> None:
    command = [sys.executable, str(BENCH / "run.py"), "--tiny", part]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    table = done.stdout.splitlines()[2:]
    assert len(table) == rows
    assert all(" yes" in line or " NO" in line for line in table)


@pytest.mark.parametrize("method", ["lightness", "mix", "layered"])
def test_the_plain_arithmetic_gives_the_same_pictures(
    method: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(str(BENCH))
    import plain

    recipe = Recipe().changed(grey__method=method, tone__bare_point=0.05, tone__least_frost=0.1)
    prepared = prepare(photo_from_array(data.astronaut(), "portrait"))
    flow, grid = Flow(prepared), overview(recipe.plate, 250)
    placed = plain.placed(prepared.levels, recipe, grid, 3)
    toned = plain.toned(plain.grey(placed, recipe), recipe.tone)
    formed = plain.formed(toned, recipe.tone, grid.pitch_mm)
    sharp = plain.sharpened(formed, recipe.detail, grid.pitch_mm)
    look = plain.look(sharp, recipe, grid)
    np.testing.assert_allclose(look, flow.look(recipe, grid), atol=0.02)
    ours = view.show(flow, recipe, "proof", grid)
    table = plain.proof_table(flow.aim(recipe))
    theirs = plain.proof_codes(look, table, plain.facets(grid))
    assert np.abs(ours.pixels.astype(int) - theirs.astype(int)).max() <= 2
    counts = plain.counts(look[plain.within_margin(recipe, grid)]).ravel()
    assert np.abs(np.cumsum(counts) - np.cumsum(ours.histogram)).max() <= 0.01 * look.size


@pytest.mark.parametrize("kind", ["diffusion", "bluenoise"])
def test_the_plain_arithmetic_asks_the_same_of_the_laser(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(str(BENCH))
    import plain

    recipe = Recipe().changed(
        plate__width_mm=60.0, plate__height_mm=80.0, screen__kind=kind, glass__compensate=0.8
    )
    flow = Flow(prepare(photo_from_array(data.astronaut(), "portrait")))
    grid = whole_plate(recipe.plate)
    theirs = plain.drive(flow.look(recipe, grid), flow.aim(recipe))
    np.testing.assert_allclose(theirs, flow.drive(recipe, grid), atol=0.002)
    assert theirs.std() > 0.1
