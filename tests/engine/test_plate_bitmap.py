"""The plate bitmap: right size, handedness and polarity, whatever the facts."""

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis.extra import numpy as hnp
from numpy.typing import NDArray

from engine import burning
from engine.drive import aim_of, frost_wanted
from engine.flow import prepare
from engine.photo import photo_from_array
from engine.plate_bitmap import burn, for_machine
from shared.errors import Cancelled
from shared.plate import Plate
from shared.profile import GENERIC
from shared.recipe import Recipe


def _left_light() -> NDArray[np.uint8]:
    """Light on the left half, dark on the right."""
    pixels = np.zeros((300, 240, 3), np.uint8)
    pixels[:, :120] = 255
    return pixels


HALVES = prepare(photo_from_array(_left_light(), "halves"))
PLAIN = Recipe().with_values(
    {
        "plate.width_mm": 48.0,
        "plate.height_mm": 60.0,
        "plate.margin_mm": 4.0,
        "screen.kind": "continuous",
        "tone.lift": 0.0,
        "tone.local": 0.0,
        "detail.amount": 0.0,
    }
)


@pytest.mark.parametrize(
    ("etched", "mark", "burnt_side"),
    [
        ("front", "light", "left"),
        ("back", "light", "right"),
        ("front", "dark", "right"),
        ("back", "dark", "left"),
    ],
)
def test_the_laser_burns_where_the_facts_ask(etched: str, mark: str, burnt_side: str) -> None:
    recipe = PLAIN.changed(plate__etched=etched, plate__mark=mark)
    bitmap = burn(HALVES, recipe).bitmap
    assert bitmap.pixels.shape == (600, 480)
    left, right = bitmap.pixels[300, 60:200], bitmap.pixels[300, 280:420]
    burnt, spared = (left, right) if burnt_side == "left" else (right, left)
    assert burnt.max() == 0
    assert spared.min() == 255
    assert (bitmap.pixels[:38] == 255).all(), "the margin is never burnt"


@pytest.mark.parametrize(
    ("kind", "eight_bit", "bits"),
    [
        ("continuous", False, 8),
        ("diffusion", False, 1),
        ("diffusion", True, 8),
        ("bluenoise", False, 1),
        ("threshold", False, 1),
    ],
)
def test_dots_are_one_bit_unless_asked_otherwise(kind: str, eight_bit: bool, bits: int) -> None:
    recipe = PLAIN.changed(screen__kind=kind, output__eight_bit=eight_bit)
    bitmap = burn(HALVES, recipe).bitmap
    assert bitmap.bits == bits
    if kind != "continuous":
        assert set(np.unique(bitmap.pixels)) <= {0, 255}


@given(hnp.arrays(np.uint8, hnp.array_shapes(min_dims=2, max_dims=2, max_side=20)))
def test_turned_for_the_machine_twice_is_the_original(dots: NDArray[np.uint8]) -> None:
    plate = Plate(etched="back")
    np.testing.assert_array_equal(for_machine(for_machine(dots, plate), plate), dots)


def test_bands_do_not_show(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(8)
    noise = prepare(photo_from_array(rng.integers(0, 256, (500, 400, 3), dtype=np.uint8), "n"))
    recipe = PLAIN.changed(tone__local=0.5, detail__amount=2.0)
    whole = burn(noise, recipe)
    monkeypatch.setattr("engine.plate_bitmap._BAND_PIXELS", 480 * 90)
    banded = burn(noise, recipe)
    apart = np.abs(whole.look.astype(int) - banded.look.astype(int))
    assert apart.max() <= 65535 * 0.01


@pytest.mark.parametrize("kind", ["continuous", "diffusion", "bluenoise"])
def test_the_burnt_frost_is_the_one_that_the_look_asks_for(kind: str) -> None:
    grey = prepare(photo_from_array(np.full((300, 240, 3), 119, np.uint8), "grey"))
    recipe = PLAIN.changed(screen__kind=kind)
    found = burn(grey, recipe)
    wanted = frost_wanted(found.look[300:301, 200:201] / np.float32(65535), aim_of(recipe, GENERIC))
    frost = found.frost()[60:540, 60:420].mean()
    assert frost == pytest.approx(float(wanted[0, 0]), abs=0.01)


def test_work_reports_and_can_be_stopped() -> None:
    seen: list[float] = []
    burn(HALVES, PLAIN, progress=seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0

    def stop(_: float) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        burn(HALVES, PLAIN, progress=stop)


def test_shares_count_the_picture_and_not_the_margin() -> None:
    shares = burn(HALVES, PLAIN).shares
    assert shares.bare == pytest.approx(0.5, abs=0.01)
    assert shares.full == pytest.approx(0.5, abs=0.01)


def test_a_photo_that_misses_the_plate_burns_nothing() -> None:
    found = burn(HALVES, PLAIN.changed(placement__centre_x=-0.5))
    assert not found.dots.any()
    assert (found.shares.bare, found.shares.full) == (0.0, 0.0)


@pytest.mark.parametrize("etched", ["back", "front"])
@pytest.mark.parametrize("both", [True, False])
def test_the_lag_in_the_proof_runs_as_the_machine_runs(etched: str, both: bool) -> None:
    slow = attrs.evolve(
        GENERIC,
        machine=attrs.evolve(GENERIC.machine, lag_ms=1.0),
        setting=attrs.evolve(GENERIC.setting, both_directions=both),
    )
    found = burn(HALVES, PLAIN.changed(plate__etched=etched), slow)
    seen_by_machine = 255 - found.bitmap.pixels
    burnt = burning.burn_codes(seen_by_machine, slow, found.recipe.plate.pitch_mm)
    from_front = burnt[:, ::-1] if etched == "back" else burnt
    np.testing.assert_allclose(found.frost(slow), from_front, atol=2e-3)


def test_the_proof_is_seen_from_the_front() -> None:
    proof = burn(HALVES, PLAIN).proof()
    assert proof[300, 100] > 200
    assert proof[300, 380] < 80


@pytest.mark.parametrize("mark", ["light", "dark"])
def test_line_art_cuts_the_look_at_its_level(mark: str) -> None:
    ramp = np.repeat(np.linspace(0, 255, 240).astype(np.uint8)[None, :, None], 300, axis=0)
    prepared = prepare(photo_from_array(np.repeat(ramp, 3, axis=2), "ramp"))
    recipe = PLAIN.changed(screen__kind="threshold", screen__level=0.3, plate__mark=mark)
    found = burn(prepared, recipe)
    light = found.look[60:540, 60:420] >= 0.3 * 65535
    burnt = found.dots[60:540, 60:420] == 255
    np.testing.assert_array_equal(burnt, light if mark == "light" else ~light)
