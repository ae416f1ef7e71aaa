"""A first strip whose settings are far too strong, so that frost flakes off: it is read all the
same, and which setting would serve is told."""

import re

import attrs
import numpy as np
import pytest

from engine.response import flaked
from engine.strip.fit_values import measured_of
from engine.strip.judge import Judgement, judge
from engine.strip.make import Plan
from engine.strip.read import read_photo
from engine.strip.read_checks import all_flaked, calm_patches
from engine.strip.read_patches import Field
from engine.strip.rectify import Samples
from engine.strip.refuse import Refusal
from engine.strip.true_reason import true_reasons
from shared.profile import Response
from shared.strip import Box, Patch, Run, Strip
from tests.bad_photos import doubled
from tests.strip_loop import piece
from tests.strip_parts import RUNS, TRUE, measured_on, strip_of
from tests.virtual_camera import photograph
from tests.virtual_sheet import SHEETS, Burnt

LOOK = np.full((60, 60), 30000, np.uint16)
FLAKING = attrs.evolve(TRUE, response=Response(flaking_j_mm2=1.0))
STRONG = (Run("a.png", 90.0, 10.0, 150.0, (0.0, 0.0)), Run("b.png", 75.0, 12.0, 120.0, (0.0, 0.0)))


@pytest.fixture(scope="module")
def strong() -> tuple[Strip, Burnt]:
    """Solids of both settings have flaked; less of their power has not."""
    plan = Plan(((80.0, 15.0), (100.0, 20.0)), (150.0,), ("diffusion",), size_mm=(110.0, 150.0))
    return piece(plan, SHEETS["fine"])


def test_a_strip_whose_solids_have_all_flaked_is_read(strong: tuple[Strip, Burnt]) -> None:
    strip, burnt = strong
    reading = read_photo(photograph(burnt), strip)
    frost, kinds = reading.frost(), np.array([patch.kind for patch in strip.patches])
    solids = np.median(frost[kinds == "solid"])
    assert solids < 0.9
    assert 0.95 < np.nanmax(frost[kinds == "power"]) < 1.1
    found = judge(strip, measured_of(reading, strip), LOOK, reading)
    most, _, speed = named(warned(found))
    assert 0.8 < fluence_of(most, speed, strip) < SHEETS["fine"].flaking_j_mm2


def test_a_bad_photo_of_such_a_strip_is_still_refused(strong: tuple[Strip, Burnt]) -> None:
    strip, burnt = strong
    with pytest.raises(Refusal) as refused:
        read_photo(doubled(photograph(burnt), 20, 9), strip)
    assert refused.value.reason == "moved"


@pytest.mark.parametrize("screen", ["diffusion", "mixed", "continuous"])
def test_the_setting_that_is_named_just_does_not_flake(screen: str) -> None:
    strip = strip_of(STRONG, screen=screen)
    found = judge(strip, measured_on(strip, FLAKING, 0.002), LOOK)
    if screen != "diffusion":  # their powers go only as far as frost grows
        assert not warned(found)
        return
    assert found.chosen.reason.startswith("At its greatest power frost flakes off: ")
    most, least, speed = named(warned(found))
    assert 0.7 < fluence_of(most, speed, strip) < 1.15
    assert FLAKING.machine.firing_floor_pct <= least < most
    assert speed <= FLAKING.machine.fastest_mm_s


def test_powers_are_lowered_where_the_machine_cannot_go_faster() -> None:
    slow = attrs.evolve(FLAKING, machine=attrs.evolve(FLAKING.machine, fastest_mm_s=160.0))
    strip = strip_of(STRONG)
    strip.profile["machine"]["fastest_mm_s"] = 160.0
    most, _, speed = named(warned(judge(strip, measured_on(strip, slow, 0.002), LOOK)))
    assert speed == 160.0
    assert most < 60.0


def test_a_setting_that_hardly_flakes_is_not_warned_of() -> None:
    strip = strip_of(RUNS)
    found = judge(strip, measured_on(strip, FLAKING, 0.002), LOOK)
    setting = found.profile.setting
    assert flaked(found.profile.fluence_j_mm2(setting.power_max_pct), found.profile) < 0.07
    assert not warned(found)


def warned(found: Judgement) -> str:
    return next((sentence for sentence in found.warnings if "flakes off again" in sentence), "")


def named(sentence: str) -> tuple[float, ...]:
    """Greatest and least power and speed that a warning names."""
    found = re.search(r"about ([\d.]+)/([\d.]+) % at ([\d.]+) mm/s", sentence)
    assert found
    return tuple(float(figure) for figure in found.groups())


def fluence_of(power_pct: float, speed_mm_s: float, strip: Strip) -> float:
    """J/mm2."""
    watts = float(strip.profile["machine"]["rated_w"]) * power_pct / 100.0
    return watts / (speed_mm_s * strip.pitch_mm)


def patches_with(figures: list[tuple[str, float, float]]) -> tuple[tuple[Patch, ...], list[Field]]:
    """Two patches for each kind, light and unevenness."""
    rng = np.random.default_rng(2)
    patches, fields = [], []
    for number, (kind, light, uneven) in enumerate(figures):
        for _ in range(2):
            level = light * rng.normal(1.0, uneven, 400)
            patches.append(Patch(kind, Box(0.0, 0.0, 5.0, 5.0), 0, drive=1.0 / (number + 1)))
            kept = np.ones(400, bool)
            fields.append(Field(Samples(level, level, level, level), kept, float(level.mean())))
    return tuple(patches), fields


@pytest.mark.parametrize(("light", "uneven"), [(0.75, 0.2), (0.4, 0.01)])
def test_less_power_tells_of_the_photo_where_solids_flaked(light: float, uneven: float) -> None:
    figures = [("solid", light, uneven), ("power", 0.9, 0.02), ("power", 0.3, 0.01)]
    assert calm_patches(*patches_with(figures)) == [2, 3]


def test_solids_alone_tell_of_it_where_they_did_not() -> None:
    figures = [("solid", 0.88, 0.03), ("power", 0.9, 0.02), ("power", 0.85, 0.02)]
    patches, fields = patches_with(figures)
    assert calm_patches(patches, fields) == [0, 1]
    assert not all_flaked(patches, fields)


def test_ragged_frost_is_the_reason_where_every_setting_flaked() -> None:
    assert all_flaked(*patches_with([("solid", 0.5, 0.2), ("power", 0.9, 0.02)]))
    grey = np.zeros((40, 40), np.uint8)
    for flaked_all, reason in ((True, "flaked"), (False, "moved")):
        with (
            pytest.raises(Refusal) as refused,
            true_reasons(grey, None, lambda: None, flaked=flaked_all),  # type: ignore[arg-type]
        ):
            raise Refusal("moved")
        assert refused.value.reason == reason
