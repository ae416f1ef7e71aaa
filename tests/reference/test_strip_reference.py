"""Reading a strip against known geometry and published densitometry."""

from collections.abc import Callable

import attrs
import cv2
import numpy as np
import pytest

from engine.strip.even import Light
from engine.strip.exposures import tones_from
from engine.strip.find import find_strip
from engine.strip.find_view import Lens, corners_mm, view_of
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
    view = find_strip(encoded_grey(photo), strip, lambda _: None)
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
        on_strip = np.concatenate([corners_mm(marker.box) for marker in strip.markers])
        seen = mapped(known, on_strip.T).T + rng.normal(0, 0.3, on_strip.shape)
        view = view_of(on_strip, seen, strip.size_mm)
        off = np.array(view.pixels(*centres(strip))) - mapped(known, centres(strip))
        worst.append(np.hypot(*off).max())
    assert np.quantile(worst, 0.97) < 0.5


@pytest.mark.parametrize("k1", [-0.1, -0.03, 0.05, 0.1])
def test_a_lens_of_known_distortion_is_found_and_taken_off(
    strip: Strip, sheet: Burnt, k1: float
) -> None:
    """First radial term of Brown, Photogrammetric Engineering 37(8), 1971, on a pinhole's picture;
    radii count in half diagonals. Patch centres within half a tenth of a millimetre."""
    tilt, border = (10.0, -7.0), 20.0
    photo = photograph(sheet, tilt_deg=tilt, turn_deg=95.0, k1=k1, surround_mm=border)
    known, size = placement(sheet, 8.0, tilt, 95.0, 350.0, border * 8.0)
    middle, radius = np.array(size)[:, None] / 2.0, np.hypot(*size) / 2.0
    away = (mapped(known, centres(strip)) - middle) / radius
    true = middle + radius * away * (1.0 + k1 * np.sum(away**2, axis=0))
    view = find_strip(encoded_grey(photo), strip, lambda _: None)
    off = np.array(view.pixels(*centres(strip))) - true
    assert np.hypot(*off).max() < 0.05 * 8.0
    assert view.lens.k1 == pytest.approx(k1, abs=0.005)


@pytest.mark.parametrize("k1", [-0.2, -0.1, 0.1, 0.2])
def test_lens_and_its_inverse_agree(k1: float) -> None:
    """The same formula, there and back, as far out as barrel distortion of a fifth shows anything:
    d/dr (r - r^3 / 5) vanishes at r = 1.29."""
    lens = Lens(k1, (400.0, 300.0), 500.0)
    x, y = np.meshgrid(np.linspace(40.0, 760.0, 9), np.linspace(100.0, 500.0, 7))
    np.testing.assert_allclose(lens.bent(*lens.straight(x, y)), (x, y), atol=1e-6)
    assert np.isfinite(lens.straight(np.array([0.0, 9000.0]), np.array([0.0, 9000.0]))).all()


def test_dlt_agrees_with_numpy_on_exact_points(strip: Strip) -> None:
    """Four points fix a homography; solved as 8 linear equations by numpy."""
    corners = corners_mm(strip.markers[0].box)
    photo = np.array([[100.0, 110.0], [171.0, 108.0], [175.0, 190.0], [98.0, 186.0]])
    rows = []
    for (x, y), (u, v) in zip(corners, photo, strict=True):
        rows += [
            [x, y, 1, 0, 0, 0, -u * x, -u * y],
            [0, 0, 0, x, y, 1, -v * x, -v * y],
        ]
    solved = np.append(np.linalg.solve(np.array(rows), photo.ravel()), 1.0).reshape(3, 3)
    found = view_of(corners, photo, strip.size_mm).to_photo
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


def bt709(light: np.ndarray) -> np.ndarray:
    """The transfer characteristic of ITU-R BT.709-6, item 1.2."""
    return np.where(light < 0.018, 4.5 * light, 1.099 * np.maximum(light, 1e-9) ** 0.45 - 0.099)


@pytest.mark.parametrize("share", [0.35, 0.5, 0.7])
@pytest.mark.parametrize("curve", [bt709, np.sqrt, lambda light: light ** (1.0 / 1.8)])
def test_a_camera_curve_is_found_from_two_exposures(
    curve: Callable[[np.ndarray], np.ndarray], share: float
) -> None:
    """ITU-R BT.709-6 and two plain powers, 1/2 and 1/1.8 (common practice for displays), by the
    method of Debevec and Malik, SIGGRAPH 1997: ratios of light come back as they were."""
    rng = np.random.default_rng(4)
    light, x, y = rng.uniform(0.02**0.5, 0.9**0.5, 120) ** 2, *rng.uniform(0.0, 100.0, (2, 120))
    seen = np.stack([curve(light), curve(share * light)])
    rounded = seen + rng.normal(0.0, 0.1 / 255.0, seen.shape)
    tones = tones_from(rounded, x, y, share)
    found = tones.light(seen[0])
    off = np.log(found / light)
    assert np.abs(off - np.median(off)).max() < 0.04
    assert np.sqrt(np.mean((off - np.median(off)) ** 2)) < 0.015
