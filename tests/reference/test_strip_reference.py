"""Reading a strip against known geometry and published densitometry."""

import attrs
import cv2
import numpy as np
import pytest

from engine.strip.even import Light
from engine.strip.find import _corners_mm, _view, find_strip
from engine.strip.read import read_photo
from engine.strip.rectify import encoded_grey
from shared.strip import Strip
from tests.virtual_camera import photograph, placement
from tests.virtual_sheet import Burnt
from tests.virtual_strip import hand_strip, ideal


@pytest.fixture(scope="module")
def strip() -> Strip:
    return hand_strip()


@pytest.fixture(scope="module")
def sheet(strip: Strip) -> Burnt:
    return ideal(strip)


def centres(strip: Strip) -> np.ndarray:
    """2 x patches, mm."""
    boxes = [patch.box for patch in strip.patches]
    return np.array([(b.left_mm + b.width_mm / 2, b.top_mm + b.height_mm / 2) for b in boxes]).T


def mapped(homography: np.ndarray, points: np.ndarray) -> np.ndarray:
    x, y, w = homography @ np.vstack([points, np.ones(points.shape[1])])
    return np.array([x / w, y / w])


@pytest.mark.parametrize("tilt", [(0.0, 0.0), (15.0, 0.0), (12.0, -15.0)])
@pytest.mark.parametrize("turn", [2.0, 92.0, 178.0, -95.0])
@pytest.mark.parametrize("px_per_mm", [6.0, 12.0])
def test_patch_centres_lie_where_the_pinhole_puts_them(
    strip: Strip, sheet: Burnt, tilt: tuple[float, float], turn: float, px_per_mm: float
) -> None:
    """Pinhole geometry: Hartley & Zisserman, Multiple View Geometry, chapter 6."""
    photo = photograph(sheet, px_per_mm=px_per_mm, tilt_deg=tilt, turn_deg=turn)
    known, _ = placement(sheet, px_per_mm, tilt, turn, 350.0, 10.0 * px_per_mm)
    view = find_strip(encoded_grey(photo), strip)
    off = np.array(view.pixels(*centres(strip))) - mapped(known, centres(strip))
    assert np.hypot(*off).max() < 0.25


def test_noise_of_three_tenths_of_a_pixel_moves_centres_by_less_than_half(
    strip: Strip, sheet: Burnt
) -> None:
    """Known homography and 0.3 px of noise on each coordinate of each corner (Hartley & Zisserman,
    chapter 4, on the normalised DLT); three trials in a hundred may reach further at one patch."""
    known, _ = placement(sheet, 8.0, (15.0, -10.0), 20.0, 350.0, 80.0)
    rng = np.random.default_rng(1)
    worst = []
    for _ in range(100):
        seen = {
            marker.id: mapped(known, _corners_mm(marker.box).T).T + rng.normal(0, 0.3, (4, 2))
            for marker in strip.markers
        }
        view = _view(seen, strip)
        off = np.array(view.pixels(*centres(strip))) - mapped(known, centres(strip))
        worst.append(np.hypot(*off).max())
    assert np.quantile(worst, 0.97) < 0.5


def test_dlt_agrees_with_numpy_on_exact_points(strip: Strip) -> None:
    """Four points fix a homography; solved as 8 linear equations by numpy."""
    corners = _corners_mm(strip.markers[0].box)
    photo = np.array([[100.0, 110.0], [171.0, 108.0], [175.0, 190.0], [98.0, 186.0]])
    rows = []
    for (x, y), (u, v) in zip(corners, photo, strict=True):
        rows += [
            [x, y, 1, 0, 0, 0, -u * x, -u * y],
            [0, 0, 0, x, y, 1, -v * x, -v * y],
        ]
    solved = np.append(np.linalg.solve(np.array(rows), photo.ravel()), 1.0).reshape(3, 3)
    found = _view({strip.markers[0].id: photo}, strip).to_photo
    np.testing.assert_allclose(found / found[2, 2], solved, rtol=1e-6, atol=1e-7)


@pytest.mark.parametrize("number", [0, 4, 23, 49])
def test_marker_numbers_follow_the_open_dictionary(number: int) -> None:
    """OpenCV's DICT_4X4_50: 50 markers of 4 x 4 bits, drawn with one module of border."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    code = cv2.aruco.generateImageMarker(dictionary, number, 6)
    assert not code[0].any()
    assert not code[-1].any()
    assert not code[:, 0].any()
    assert code[1:5, 1:5].any()


def test_murray_davies_in_density() -> None:
    """Murray 1936: a = (1 - 10^-(Dt - D0)) / (1 - 10^-(Ds - D0)); D0 .06, Dt .36, Ds 1.46 give
    .519494 of dark dots, so .480506 of light between them."""
    paper, tint, solid = 10.0 ** -np.array([0.06, 0.36, 1.46])
    light = Light(
        (10.0, 10.0),
        np.array([solid, 0, 0, 0, 0, 0]),
        np.array([np.log(paper - solid)] + [0.0] * 5),
    )
    frost = light.frost(np.array([3.0]), np.array([7.0]), np.array([tint]))
    assert frost[0] == pytest.approx(1.0 - 0.519494, abs=1e-6)


@pytest.mark.parametrize(("area", "reflectance"), [(0.25, 0.1175), (0.5, 0.195), (0.75, 0.2725)])
def test_murray_davies_through_a_photograph(strip: Strip, area: float, reflectance: float) -> None:
    """Light dots on dark glass of .04 and .35 (Murray-Davies, n = 1): the photographed tint gives
    its area back, in uneven light."""
    sheet = ideal(strip, bare_y=0.04, frost_y=0.35)
    tinted = [i for i, patch in enumerate(strip.patches) if patch.kind == "power"][3:9]
    luminance = sheet.luminance.copy()
    for i in tinted:
        box = strip.patches[i].box
        rows = slice(round(box.top_mm * 40), round((box.top_mm + box.height_mm) * 40))
        columns = slice(round(box.left_mm * 40), round((box.left_mm + box.width_mm) * 40))
        luminance[rows, columns] = reflectance
    patches = list(strip.patches)
    for i in tinted:
        patches[i] = attrs.evolve(patches[i], drive=0.4999)
    same = attrs.evolve(strip, patches=patches)
    reading = read_photo(photograph(Burnt(luminance, sheet.sub, sheet.pitch_mm)), same)
    for i in tinted:
        assert reading.patches[i].frost == pytest.approx(area, abs=0.006)
