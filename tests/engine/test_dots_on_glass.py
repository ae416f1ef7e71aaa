"""Dots that follow a measured glass."""

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from skimage import data

from engine import drive, screens
from engine.burnt import frost_of_dots
from engine.dots_on_glass import follow, follows
from engine.drive import Aim, aim_of
from engine.screens.settling import BLOCK_ROWS
from engine.strip.judge_error import seen_lightness
from shared.errors import Cancelled
from shared.profile import GENERIC, GlassProfile
from shared.recipe import Recipe
from tests.dots_parts import gained

PITCH = 0.1
LAGGING = attrs.evolve(
    GENERIC,
    machine=attrs.evolve(GENERIC.machine, lag_ms=0.2),
    setting=attrs.evolve(GENERIC.setting, power_max_pct=36.0, power_min_pct=12.0),
)


def aim_for(kind: str, profile: GlassProfile, **screen: bool) -> Aim:
    wish = {f"screen__{name}": value for name, value in screen.items()}
    return aim_of(Recipe().changed(screen__kind=kind, plate__pitch_mm=PITCH, **wish), profile)


def look(rows: int = 300, columns: int = 260) -> NDArray[np.uint16]:
    """A part of a photograph."""
    return data.camera()[80 : 80 + rows, 120 : 120 + columns].astype(np.uint16) * 257


def made(aim: Aim, shown: NDArray[np.uint16]) -> tuple[NDArray[np.uint8], NDArray[np.float32]]:
    """Dots as the screen places them, and the drive that they were made from."""
    asked = drive.frost_asked(shown / np.float32(65535.0), aim, PITCH)
    asked = drive.drive_of_frost(asked, aim)
    return screens.screen(asked, aim.screen, pitch_mm=PITCH), asked


def error(
    dots: NDArray[np.uint8], shown: NDArray[np.uint16], aim: Aim, *, mirrored: bool = False
) -> float:
    """Mean difference in L*, as seen, of the burnt dots and what is wanted."""
    burnt = frost_of_dots(dots, aim.profile, aim.screen, PITCH, mirrored=mirrored)
    wanted = drive.frost_wanted(shown / np.float32(65535.0), aim)
    found, meant = (seen_lightness(frost, aim.ends, PITCH) for frost in (burnt, wanted))
    return float(np.abs(found - meant).mean())


@pytest.mark.parametrize(("kind", "most"), [("diffusion", 0.85), ("mixed", 0.99)])
def test_the_burnt_picture_comes_nearer_to_what_is_wanted(kind: str, most: float) -> None:
    aim = aim_for(kind, gained(kind, 0.9, LAGGING))
    dots, asked = made(aim, look())
    before = error(dots, look(), aim)
    follow(dots, look(), asked, aim)
    assert error(dots, look(), aim) < most * before


def test_the_lag_is_made_good_in_the_direction_that_the_machine_runs() -> None:
    aim = aim_for("diffusion", gained("diffusion", 0.9, LAGGING))
    dots, asked = made(aim, look())
    follow(dots, look(), asked, aim, mirrored=True)
    right, wrong = (error(dots, look(), aim, mirrored=way) for way in (True, False))
    assert right < 0.9 * wrong


@pytest.mark.parametrize(("kind", "covering"), [("diffusion", 1.0), ("mixed", 0.5)])
def test_what_burns_anyway_and_what_never_burns_stays(kind: str, covering: float) -> None:
    aim = aim_for(kind, gained(kind, 0.9, LAGGING))
    shown = look()
    shown[:40], shown[40:80] = 0, 65535
    dots, asked = made(aim, shown)
    before = dots.copy()
    follow(dots, shown, asked, aim)
    fixed = (asked <= 0.0) | (asked >= covering)
    assert fixed.mean() > 0.1
    np.testing.assert_array_equal(dots[fixed], before[fixed])
    assert (dots != before).any()
    assert set(np.unique(dots[~fixed])) == set(np.unique(before[~fixed]))


@pytest.mark.parametrize(
    "aim",
    [
        aim_for("diffusion", LAGGING),
        aim_for("diffusion", gained("mixed", 0.9, LAGGING)),
        aim_for("diffusion", gained("diffusion", 0.9, LAGGING), serpentine=False),
        aim_for("bluenoise", gained("bluenoise", 0.9, LAGGING)),
    ],
    ids=["not measured", "another screen measured", "plain scheme", "another kind of screen"],
)
def test_other_dots_stay_as_the_screen_placed_them(aim: Aim) -> None:
    assert not follows(aim)
    dots, asked = made(aim, look(60, 60))
    before = dots.copy()
    follow(dots, look(60, 60), asked, aim)
    np.testing.assert_array_equal(dots, before)


@given(
    kind=st.sampled_from(["diffusion", "mixed"]),
    power=st.floats(0.3, 3.0),
    lag=st.floats(0.0, 0.5),
    low=st.integers(0, 60_000),
    span=st.integers(0, 65_535),
)
def test_on_any_glass_the_same_kinds_of_dots_come_out(kind, power, lag, low, span) -> None:
    machine = attrs.evolve(GENERIC.machine, lag_ms=lag)
    aim = aim_for(kind, gained(kind, power, attrs.evolve(LAGGING, machine=machine)))
    shown = np.minimum(low + look(40, 50) / 65535.0 * span, 65535.0).astype(np.uint16)
    dots, asked = made(aim, shown)
    before = dots.copy()
    follow(dots, shown, asked, aim)
    free = (asked > 0.0) & (asked < (1.0 if kind == "diffusion" else 0.5))
    np.testing.assert_array_equal(dots[~free], before[~free])
    assert set(np.unique(dots[free])) <= {0, 255 if kind == "diffusion" else 1}


def test_two_runs_give_the_same_dots() -> None:
    aim = aim_for("diffusion", gained("diffusion", 0.9, LAGGING))
    both = []
    for _ in range(2):
        dots, asked = made(aim, look(80, 90))
        follow(dots, look(80, 90), asked, aim)
        both.append(dots)
    np.testing.assert_array_equal(*both)


def test_an_odd_block_of_rows_and_none_at_all_are_followed() -> None:
    aim = aim_for("diffusion", gained("diffusion", 0.9, LAGGING))
    shown = look(BLOCK_ROWS + 3, 41)
    dots, asked = made(aim, shown)
    before = error(dots, shown, aim)
    follow(dots, shown, asked, aim)
    assert error(dots, shown, aim) < before
    follow(dots[:0], shown[:0], asked[:0], aim)


def test_progress_rises_to_the_whole_and_may_end_the_work() -> None:
    aim = aim_for("diffusion", gained("diffusion", 0.9, LAGGING))
    shown = look(BLOCK_ROWS + 40, 60)
    dots, asked = made(aim, shown)
    seen: list[float] = []
    follow(dots, shown, asked, aim, progress=seen.append)
    assert seen == sorted(seen)
    assert len(seen) > 4
    assert seen[-1] == 1.0

    def stop(_: float) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        follow(dots, shown, asked, aim, progress=stop)
