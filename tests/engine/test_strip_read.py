"""Good photographs of a strip laid out by hand: read right on all virtual sheets."""

import attrs
import cv2
import numpy as np
import pytest

from engine.strip.read import read_photo
from engine.strip.read_checks import ODD, calm_patches
from engine.strip.read_patches import Field
from engine.strip.rectify import Samples
from engine.strip.refuse import Refusal
from shared.errors import Cancelled
from shared.strip import Box, Patch, Strip
from tests.bad_photos import covered
from tests.virtual_camera import photograph
from tests.virtual_sheet import SHEETS, Burnt
from tests.virtual_strip import burnt_strip, hand_strip, truth

Piece = tuple[Strip, Burnt]
# px/mm, tilt, turn, from where the light comes
SHOTS = (
    (6.0, (15.0, -15.0), 2.0, 30.0),
    (8.0, (7.0, -6.0), 93.0, 200.0),
    (9.0, (0.0, 15.0), -88.0, 120.0),
    (12.0, (-15.0, 0.0), 181.0, 300.0),
)


@pytest.fixture(scope="module", params=list(SHEETS))
def piece(request: pytest.FixtureRequest) -> Piece:
    strip = hand_strip(request.param)
    return strip, burnt_strip(strip, SHEETS[request.param])


@pytest.fixture(scope="module")
def fine() -> Piece:
    strip = hand_strip("fine")
    return strip, burnt_strip(strip, SHEETS["fine"])


@pytest.mark.parametrize("shot", SHOTS)
def test_patches_are_read_within_a_hundredth(piece: Piece, shot: tuple) -> None:
    strip, burnt = piece
    px_per_mm, tilt, turn, light = shot
    photo = photograph(
        burnt,
        px_per_mm=px_per_mm,
        tilt_deg=tilt,
        turn_deg=turn,
        light_from_deg=light,
        seed=int(px_per_mm),
    )
    reading = read_photo(photo, strip)
    off = reading.frost() - truth(burnt, strip)
    assert not np.isnan(off).any()
    assert np.sqrt(np.mean(off**2)) < 0.005
    assert np.abs(off).max() < 0.02
    assert reading.turn_deg == pytest.approx((turn + 180.0) % 360.0 - 180.0, abs=8.0)
    assert reading.tilt_deg == pytest.approx(np.hypot(*tilt), abs=1.5)
    assert 0.8 * px_per_mm < reading.px_per_mm <= 1.01 * px_per_mm


def test_bare_glass_is_told_as_a_share_of_the_solids(fine: Piece) -> None:
    strip, burnt = fine
    reading = read_photo(photograph(burnt), strip)
    assert reading.bare_over_solid == pytest.approx(0.015 / 0.33, abs=0.006)


def test_standard_errors_tell_how_far_two_photos_differ(fine: Piece) -> None:
    strip, burnt = fine
    noisy = [read_photo(photograph(burnt, noise=4.0, seed=seed), strip) for seed in (1, 2)]
    apart = noisy[0].frost() - noisy[1].frost()
    said = np.array([patch.standard_error for patch in noisy[0].patches])
    assert np.sqrt(np.mean(apart**2)) < 1.5 * np.sqrt(2.0) * np.sqrt(np.mean(said**2))


def test_lines_lose_modulation_as_they_get_finer_and_stay_below_the_ideal(fine: Piece) -> None:
    strip, burnt = fine
    reading = read_photo(photograph(burnt, px_per_mm=12.0), strip)
    for patch, found in zip(strip.patches, reading.patches, strict=True):
        if patch.kind != "lines":
            assert found.modulation is None
            continue
        assert found.modulation is not None
        assert found.modulation_error is not None
        glass = _modulation_on_glass(burnt, patch.box, patch.lines_per_mm, patch.upright)
        assert abs(found.modulation - glass) < found.modulation_error + 0.03
        assert found.modulation <= 4.0 / np.pi * 1.05


def test_a_cell_is_seen_as_it_is_on_the_glass(fine: Piece) -> None:
    strip, burnt = fine
    reading = read_photo(photograph(burnt, turn_deg=90.0), strip, cell_pitch_mm=0.2)
    cell, box = reading.cells[0], strip.cells[0].box
    assert cell.dtype == np.float32
    assert cell.shape == (round(box.height_mm / 0.2), round(box.width_mm / 0.2))
    glass = _frost(burnt, box)
    for part in np.linspace(0, 1, 5)[:-1]:
        seen = cell[:, int(part * cell.shape[1]) :][:, :15].mean()
        there = glass[:, int(part * glass.shape[1]) :][:, : 15 * 8].mean()
        assert seen == pytest.approx(there, abs=0.02)


def test_the_picture_is_upright_and_drawn_upon(fine: Piece) -> None:
    strip, burnt = fine
    reading = read_photo(photograph(burnt, turn_deg=93.0), strip)
    scale = reading.picture_px_per_mm
    assert reading.picture.dtype == np.uint8
    assert reading.picture.shape == (
        round(strip.size_mm[1] * scale),
        round(strip.size_mm[0] * scale),
        3,
    )
    solid = next(p for p in strip.patches if p.kind == "solid").box
    x, y = (solid.left_mm + 0.3) * scale, (solid.top_mm + 0.3) * scale
    assert reading.picture[int(y), int(x)].min() > 120
    coloured = np.ptp(reading.picture.astype(int), axis=2) > 60
    assert coloured.sum() > 40 * len(strip.patches)


def test_sixteen_bits_read_the_same(fine: Piece) -> None:
    strip, burnt = fine
    photo = photograph(burnt)
    eight = read_photo(photo, strip).frost()
    sixteen = read_photo(photo.astype(np.uint16) * 257, strip).frost()
    np.testing.assert_allclose(sixteen, eight, atol=1e-3)


def test_one_spoilt_patch_is_left_out_and_told(fine: Piece) -> None:
    strip, burnt = fine
    spoilt = next(
        i for i, p in enumerate(strip.patches) if p.kind == "solid" and 30 < p.box.left_mm < 60
    )
    luminance = burnt.luminance.copy()
    luminance[_place(burnt, strip.patches[spoilt].box)] = 0.2
    reading = read_photo(photograph(_with_luminance(burnt, luminance)), strip)
    assert [i for i, p in enumerate(reading.patches) if not p.counts] == [spoilt]
    assert reading.patches[spoilt].flags == (ODD,)
    assert "left out" in reading.notes[0]
    off = np.delete(reading.frost() - truth(burnt, strip), spoilt)
    assert np.sqrt(np.mean(off**2)) < 0.005


def test_the_photo_is_not_changed(fine: Piece) -> None:
    strip, burnt = fine
    photo = photograph(burnt)
    before = photo.copy()
    read_photo(photo, strip)
    np.testing.assert_array_equal(photo, before)


@pytest.mark.parametrize(
    "pixels", [np.zeros((50, 50), np.uint8), np.zeros((50, 50, 3), np.float32)]
)
def test_other_arrays_are_a_mistake_of_the_caller(fine: Piece, pixels: np.ndarray) -> None:
    with pytest.raises(ValueError, match="not a photo"):
        read_photo(pixels, fine[0])


def test_frost_counts_from_the_setting_that_frosts_most(fine: Piece) -> None:
    strip, burnt = fine
    patches, luminance = list(strip.patches), burnt.luminance.copy()
    solid = [i for i, p in enumerate(patches) if p.kind == "solid"]
    for place, i in enumerate(solid):
        part = luminance[_place(burnt, patches[i].box)]
        if place < 5:
            part[:] = 0.015 + 0.4 * (part - 0.015)
        else:
            patches[i] = attrs.evolve(patches[i], run=1)
    two = attrs.evolve(strip, runs=strip.runs * 2, patches=tuple(patches))
    reading = read_photo(photograph(_with_luminance(burnt, luminance)), two)
    frost = np.array([reading.patches[i].frost for i in solid])
    assert frost[:5].mean() == pytest.approx(0.4, abs=0.01)
    assert frost[5:].mean() == pytest.approx(1.0, abs=0.01)
    assert reading.bare_over_solid == pytest.approx(0.015 / 0.33, abs=0.006)


def test_edges_of_a_weaker_setting_are_as_high_as_it_frosts(fine: Piece) -> None:
    strip, burnt = fine
    patches, luminance = list(strip.patches), burnt.luminance.copy()
    rng = np.random.default_rng(7)
    solid = [i for i, p in enumerate(patches) if p.kind == "solid"]
    for place, i in enumerate(solid):
        part = luminance[_place(burnt, patches[i].box)]
        if place < 3:
            patches[i] = attrs.evolve(patches[i], run=1)
            part[:] = 0.015 + 0.8 * (part - 0.015)
        else:  # flaked by a strong setting
            part *= np.repeat(np.repeat(rng.normal(1.0, 0.1, (18, 18)), 10, 0), 10, 1)
    two = attrs.evolve(strip, runs=strip.runs * 2, patches=tuple(patches))
    reading = read_photo(photograph(_with_luminance(burnt, luminance)), two)
    weaker = [reading.patches[i].frost for i in solid[:3]]
    assert np.mean(weaker) == pytest.approx(0.8, abs=0.02)


def test_solids_that_flaked_altogether_tell_nothing_of_the_photo() -> None:
    rng = np.random.default_rng(2)
    settings = ((0.9, 0.12), (0.4, 0.01), (0.85, 0.02), (0.8, 0.02))  # light, unevenness
    patches, fields = [], []
    for run, (light, uneven) in enumerate(settings):
        for _ in range(2):
            level = light * rng.normal(1.0, uneven, 400)
            kept = np.ones(400, bool)
            patches.append(Patch("solid", Box(0.0, 0.0, 5.0, 5.0), run, drive=1.0))
            fields.append(Field(Samples(level, level, level, level), kept, float(level.mean())))
    assert calm_patches(tuple(patches), fields) == [4, 5, 6, 7]


def test_what_looks_like_a_marker_by_chance_is_left_alone(fine: Piece) -> None:
    strip, burnt = fine
    photo = photograph(burnt, surround_mm=30.0)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    code = 255 - cv2.aruco.generateImageMarker(dictionary, strip.markers[0].id, 84)
    photo[-140:-56, -140:-56] = (code // 2 + 20)[:, :, None]
    off = read_photo(photo, strip).frost() - truth(burnt, strip)
    assert np.sqrt(np.mean(off**2)) < 0.005


def test_a_shadow_on_the_surround_does_no_harm(fine: Piece) -> None:
    strip, burnt = fine
    photo = covered(photograph(burnt, surround_mm=20.0), 0.0, 0.0, 0.08, 3)
    off = read_photo(photo, strip).frost() - truth(burnt, strip)
    assert np.sqrt(np.mean(off**2)) < 0.005


@pytest.mark.parametrize("k1", [-0.1, -0.03, 0.05, 0.1])
def test_through_a_lens_that_bends_lines_patches_are_read_as_well(fine: Piece, k1: float) -> None:
    strip, burnt = fine
    reading = read_photo(photograph(burnt, k1=k1, surround_mm=20.0), strip, cell_pitch_mm=0.2)
    off = reading.frost() - truth(burnt, strip)
    assert np.sqrt(np.mean(off**2)) < 0.005
    solid = next(p for p in strip.patches if p.kind == "solid").box
    x, y = (mm * reading.picture_px_per_mm for mm in (solid.left_mm + 0.3, solid.top_mm + 0.3))
    assert reading.picture[int(y), int(x)].min() > 120


def test_a_cropped_photo_through_such_a_lens_is_read(fine: Piece) -> None:
    strip, burnt = fine
    photo = photograph(burnt, k1=-0.06, surround_mm=25.0)[:, 160:]
    off = read_photo(photo, strip).frost() - truth(burnt, strip)
    assert np.sqrt(np.mean(off**2)) < 0.005


def test_progress_is_told_and_can_end_the_reading(fine: Piece) -> None:
    strip, burnt = fine
    photo = photograph(burnt)
    shares: list[float] = []
    read_photo(photo, strip, progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert max(np.diff(shares)) < 0.21

    def stop(share: float) -> None:
        if share > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        read_photo(photo, strip, progress=stop)


def test_progress_is_told_where_there_is_no_strip(fine: Piece) -> None:
    shares: list[float] = []
    with pytest.raises(Refusal):
        read_photo(np.full((600, 800, 3), 90, np.uint8), fine[0], progress=shares.append)
    assert len(shares) > 2
    assert shares == sorted(shares)


def test_a_large_photo_is_searched_in_a_smaller_one(fine: Piece) -> None:
    strip, burnt = fine
    photo = photograph(burnt, px_per_mm=6.0, surround_mm=180.0)
    assert max(photo.shape) > 2600
    off = read_photo(photo, strip).frost() - truth(burnt, strip)
    assert np.sqrt(np.mean(off**2)) < 0.005


def _with_luminance(burnt: Burnt, luminance: np.ndarray) -> Burnt:
    return Burnt(luminance, burnt.sub, burnt.pitch_mm)


def _frost(burnt: Burnt, box: Box) -> np.ndarray:
    """0 bare to 1 full frost on the sheet called fine, each pixel of the sheet."""
    return (burnt.luminance[_place(burnt, box)] - 0.015) / (0.979 * 0.315)


def _place(burnt: Burnt, box: Box) -> tuple[slice, slice]:
    sides = (box.top_mm, box.top_mm + box.height_mm, box.left_mm, box.left_mm + box.width_mm)
    top, bottom, left, right = (round(mm / burnt.pixel_mm) for mm in sides)
    return slice(top, bottom), slice(left, right)


def _modulation_on_glass(burnt: Burnt, box: Box, per_mm: float, upright: bool) -> float:
    frost = _frost(burnt, box)[24:-24, 24:-24].mean(axis=0 if upright else 1)
    place = np.arange(len(frost)) * burnt.pixel_mm
    whole = int(place[-1] * per_mm) / per_mm
    kept = place < whole
    return float(4.0 * abs(np.mean(frost[kept] * np.exp(2j * np.pi * per_mm * place[kept]))))
