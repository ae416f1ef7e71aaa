"""The virtual phone's photograph: where things lie in it, and what light and noise do to it."""

import numpy as np
import pytest

from tests.virtual_camera import photograph, placement
from tests.virtual_sheet import SETTINGS, SHEETS, Burnt, burn_at

FINE = SHEETS["fine"]
STRAIGHT = {"tilt_deg": (0.0, 0.0), "turn_deg": 0.0}
CLEAN = {"falloff": 0.0, "noise": 0.0, "quality": 100}


@pytest.fixture(scope="module")
def piece() -> Burnt:
    """Solid squares of 3 mm, one in each quarter of 40 x 30 mm, the first one as seen larger."""
    bitmap = np.full((300, 400), 255, np.uint8)
    for row, column in ((60, 80), (60, 290), (210, 80), (210, 290)):
        bitmap[row : row + 30, column : column + 30] = 0
    bitmap[50:110, 260:320] = 0  # mirrored, it is seen at the left: x 8 to 14 mm, y 5 to 11 mm
    return burn_at(FINE, bitmap, SETTINGS["fine"]["above"])


@pytest.fixture(scope="module")
def flat() -> Burnt:
    return Burnt(np.full((400, 400), 0.25, np.float32), 4, 0.1)


def linear(photo: np.ndarray) -> np.ndarray:
    """Green, decoded by IEC 61966-2-1."""
    value = photo[:, :, 1] / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize("px_per_mm", [6.0, 12.0])
def test_scale_and_surround_are_those_asked_for(flat: Burnt, px_per_mm: float) -> None:
    photo = photograph(flat, px_per_mm=px_per_mm, surround_mm=5.0, **STRAIGHT, **CLEAN)
    assert photo.dtype == np.uint8
    assert photo.shape == (round(20 * px_per_mm), round(20 * px_per_mm), 3)
    border = round(5 * px_per_mm) - 3
    assert photo[:border].max() < 45
    bright = linear(photo) > 0.5 * linear(photo).max()
    assert bright.sum() == pytest.approx((10 * px_per_mm) ** 2, rel=0.03)


@pytest.mark.parametrize("tilt", [(0.0, 0.0), (15.0, 0.0), (0.0, -15.0), (9.0, 12.0)])
@pytest.mark.parametrize("turn", [0.0, 20.0])
def test_each_point_lies_where_the_pinhole_puts_it(
    piece: Burnt, tilt: tuple[float, float], turn: float
) -> None:
    view = {"px_per_mm": 8.0, "tilt_deg": tilt, "turn_deg": turn, "distance_mm": 350.0}
    photo = photograph(piece, **view, **CLEAN, surround_mm=10.0)
    homography, (width, height) = placement(piece, *view.values(), 80.0)
    assert photo.shape == (height, width, 3)
    light = linear(photo)
    for x_mm, y_mm, reach in ((11.0, 8.0, 3.0), (30.5, 7.5, 1.5), (9.5, 22.5, 1.5)):
        corners = homography @ [
            [x_mm - reach, x_mm + reach, x_mm + reach, x_mm - reach],
            [y_mm - reach, y_mm - reach, y_mm + reach, y_mm + reach],
            [1.0] * 4,
        ]
        corners = corners[:2] / corners[2]
        left, top = np.floor(corners.min(axis=1)).astype(int) - 5
        right, bottom = np.ceil(corners.max(axis=1)).astype(int) + 5
        part = np.clip(light[top:bottom, left:right] - 0.1, 0.0, None)
        rows, columns = np.indices(part.shape) + 0.5
        centre = (part * columns).sum() / part.sum() + left, (part * rows).sum() / part.sum() + top
        expected = homography @ [x_mm, y_mm, 1.0]
        np.testing.assert_allclose(centre, expected[:2] / expected[2], atol=0.6)


def test_perspective_makes_the_far_side_shorter(flat: Burnt) -> None:
    homography, _ = placement(flat, 8.0, (15.0, 0.0), 0.0, 100.0, 0.0)
    corners = homography @ [[0, 10, 10, 0], [0, 0, 10, 10], [1, 1, 1, 1]]
    x = corners[0] / corners[2]
    # 5 mm x sin 15 degrees nearer and farther than the 100 mm of the middle.
    assert (x[1] - x[0]) / (x[2] - x[3]) == pytest.approx(101.2941 / 98.7059, rel=1e-4)


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 200.0])
def test_the_light_falls_off_across_the_frame(flat: Burnt, angle: float) -> None:
    photo = photograph(
        flat, surround_mm=0.0, light_from_deg=angle, **STRAIGHT, **{**CLEAN, "falloff": 0.4}
    )
    light = linear(photo)[3:-3, 3:-3]
    assert light.min() / light.max() == pytest.approx(0.6, abs=0.05)
    rows, columns = np.indices(light.shape) - (np.array(light.shape)[:, None, None] - 1) / 2
    x, y = (light * columns).mean(), -(light * rows).mean()
    assert np.degrees(np.arctan2(y, x)) % 360 == pytest.approx(angle, abs=3.0)


def test_noise_and_jpeg_are_those_of_a_sensor_in_fair_light(flat: Burnt) -> None:
    plain = {"surround_mm": 0.0, "falloff": 0.0, **STRAIGHT}
    clean = linear(photograph(flat, **plain, noise=0.0, quality=100))[5:-5, 5:-5]
    noisy = linear(photograph(flat, **plain, quality=100))[5:-5, 5:-5]
    usual = linear(photograph(flat, **plain))[5:-5, 5:-5]
    assert clean.std() < 0.002
    # 0.8 of 6000 electrons: 1.2 % of the level that saturates.
    assert 0.008 < noisy.std() < 0.015
    assert abs(usual.mean() - clean.mean()) < 0.005


def test_exposure_decides_what_saturates(flat: Burnt) -> None:
    plain = {"surround_mm": 0.0, **STRAIGHT, **CLEAN}
    fair = linear(photograph(flat, **plain, saturation_y=0.5))[5:-5, 5:-5]
    assert float(fair.mean()) == pytest.approx(0.5, abs=0.01)
    assert photograph(flat, **plain, saturation_y=0.2)[5:-5, 5:-5, 1].min() >= 253


def test_from_the_wrong_side_it_is_mirrored(piece: Burnt) -> None:
    front = photograph(piece, **STRAIGHT, **CLEAN)
    wrong = photograph(piece, **STRAIGHT, **CLEAN, etched_side=True)
    np.testing.assert_allclose(linear(wrong), linear(front)[:, ::-1], atol=0.05)
    width = front.shape[1]
    assert linear(front)[:, : width // 2].sum() > 1.2 * linear(front)[:, width // 2 :].sum()


def test_a_photograph_can_be_taken_again(piece: Burnt) -> None:
    np.testing.assert_array_equal(photograph(piece, seed=1), photograph(piece, seed=1))
    assert (photograph(piece, seed=1) != photograph(piece, seed=2)).any()
