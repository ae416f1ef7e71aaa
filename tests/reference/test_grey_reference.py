"""Every way to grey against printed patches, other libraries and real photographs."""

import attrs
import colour as colour_science
import cv2
import numpy as np
import pytest
import skimage.color
from numpy.typing import NDArray
from PIL import Image
from skimage import data

from engine import colour, grey
from shared.operators import Grey

METHODS = [option.value for option in attrs.fields(Grey).method.metadata["info"].options]
PHOTOS = ("astronaut", "chelsea", "coffee", "rocket")
# ColorChecker dark and light skin in 8-bit sRGB as widely printed (from memory), and as they follow
# from the xyY of colour-science's "ColorChecker 2005" (McCamy, Marcus and Davidson 1976).
DARK, LIGHT = (115, 82, 68), (194, 150, 130)
COMPUTED_DARK, COMPUTED_LIGHT = (115, 81, 67), (199, 147, 129)


def _photo(name: str) -> NDArray[np.uint8]:
    return np.asarray(getattr(data, name)()[..., :3])


def _floats(photo: NDArray[np.uint8]) -> NDArray[np.float32]:
    return photo.astype(np.float32) / 255.0


def _sample(photo: NDArray[np.uint8]) -> NDArray[np.float32]:
    scale = 400.0 / max(photo.shape[:2])
    return cv2.resize(_floats(photo), None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)


def _grey(method: str, photo: NDArray[np.uint8]) -> NDArray[np.float32]:
    return grey.apply(grey.resolve(Grey(method=method), _sample(photo)), _floats(photo))


def _chart() -> NDArray[np.float32]:
    """The 24 patches of the ColorChecker in 8-bit sRGB, 12 pixels each, 4 rows of 6."""
    checker = colour_science.CCS_COLOURCHECKERS["ColorChecker 2005"]
    xyz = colour_science.xyY_to_XYZ(np.array(list(checker.data.values())))
    rgb = colour_science.XYZ_to_sRGB(xyz, checker.illuminant, apply_cctf_encoding=True)
    codes = np.round(255.0 * np.clip(rgb, 0.0, 1.0)).reshape(4, 6, 3)
    return (codes / 255.0).repeat(12, axis=0).repeat(12, axis=1).astype(np.float32)


def _skin(method: str) -> tuple[float, float]:
    """Tones of dark and light skin, each by the mix that suits the whole chart."""
    mix = grey.resolve(Grey(method=method), _chart())
    tones = grey.apply(mix, np.array([[DARK, LIGHT]], np.float32) / 255.0)[0]
    return float(tones[0]), float(tones[1])


def _as_lightness(tone: float) -> float:
    return float(colour.lightness_from_luminance(colour.srgb_decode(tone)))


def test_skin_patches_are_where_colour_science_puts_them() -> None:
    """colour-science's chart adapted from D50 to D65, and the L* printed for it (37.54 and 64.66,
    under D50)."""
    chart = _chart()[:1, [0, 12]]
    np.testing.assert_allclose(255.0 * chart[0], [COMPUTED_DARK, COMPUTED_LIGHT], atol=1.001)
    tones = 100.0 * grey.apply(grey.Mix("lightness"), chart)[0]
    np.testing.assert_allclose(tones, [37.54, 64.66], atol=1.2)


def test_skin_keeps_its_separation_in_the_default_grey() -> None:
    """Worked out from the formulas of CIE 15: L* 38.02 and 65.67, 27.6 apart."""
    assert Grey().method == "lightness"
    dark, light = _skin("lightness")
    assert 100.0 * dark == pytest.approx(38.02, abs=0.02)
    assert 100.0 * light == pytest.approx(65.67, abs=0.02)
    assert 100.0 * (light - dark) == pytest.approx(27.6, abs=1.0)


@pytest.mark.parametrize(
    ("method", "dark", "light"),
    [
        ("luma601", 90.27, 160.88),
        ("luma709", 88.00, 157.91),
        ("red", 115, 194),
        ("green", 82, 150),
        ("blue", 68, 130),
        ("mix", 0.4 * 115 + 0.5 * 82 + 0.1 * 68, 0.4 * 194 + 0.5 * 150 + 0.1 * 130),
        # W3C overlay of the green record on itself at one half: 2 v v below 0.5, else the same
        # seen as a negative.
        (
            "layered",
            0.5 * 82 + 0.5 * 2 * 82 * 82 / 255,
            0.5 * 150 + 0.5 * (255 - 2 * (255 - 150) ** 2 / 255),
        ),
    ],
)
def test_skin_codes_of_the_plain_methods(method: str, dark: float, light: float) -> None:
    """Weighted sums of the encoded records by hand; BT.601 and BT.709 weights."""
    assert [255.0 * tone for tone in _skin(method)] == pytest.approx([dark, light], abs=0.01)


@pytest.mark.parametrize("method", ["luma601", "luma709", "green", "mix"])
def test_skin_keeps_its_separation_in_fixed_mixes(method: str) -> None:
    """Common practice: dark and light skin stay about as far apart as their L* says."""
    dark, light = _skin(method)
    assert _as_lightness(light) - _as_lightness(dark) == pytest.approx(27.6, abs=2.0)


@pytest.mark.parametrize("method", ["contrast", "skin"])
def test_solved_mixes_may_widen_the_separation_of_skin_but_not_lose_it(method: str) -> None:
    """Common practice; CIE Lab puts the two patches about 28 apart, chroma counted."""
    dark, light = _skin(method)
    assert 25.0 < _as_lightness(light) - _as_lightness(dark) < 40.0


def test_luma_is_not_luminance() -> None:
    """Luma sums encoded values, luminance linear light; on skin the two differ visibly."""
    luma, lightness = _skin("luma709")[1], _skin("lightness")[1]
    assert abs(_as_lightness(luma) - 100.0 * lightness) > 0.5


@pytest.mark.parametrize("name", PHOTOS)
def test_lumas_agree_with_other_libraries(name: str) -> None:
    """OpenCV RGB2GRAY and Pillow "L" (BT.601), within a code; scikit-image rgb2gray (BT.709 with
    0.2125, 0.7154, 0.0721), within 0.0003."""
    photo = _photo(name)
    luma = 255.0 * _grey("luma601", photo)
    np.testing.assert_allclose(luma, cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY), atol=0.6)
    np.testing.assert_allclose(luma, np.asarray(Image.fromarray(photo).convert("L")), atol=1.0)
    np.testing.assert_allclose(_grey("luma709", photo), skimage.color.rgb2gray(photo), atol=3e-4)


@pytest.mark.parametrize("name", PHOTOS)
def test_lightness_agrees_with_another_library(name: str) -> None:
    """scikit-image rgb2lab; its matrix has more digits than the standard's rounded one."""
    photo = _photo(name)[::2, ::2]
    wanted = skimage.color.rgb2lab(photo)[..., 0] / 100.0
    np.testing.assert_allclose(_grey("lightness", photo), wanted, atol=3e-4)


@pytest.mark.parametrize("name", PHOTOS)
def test_records_agree_with_another_library(name: str) -> None:
    """Pillow's split of a picture into its bands."""
    photo = _photo(name)
    for method, band in zip(grey.RECORDS, Image.fromarray(photo).split(), strict=True):
        np.testing.assert_allclose(255.0 * _grey(method, photo), np.asarray(band), atol=1e-3)


def _kept_contrast(photo: NDArray[np.uint8], tones: NDArray[np.float32], limit: float) -> float:
    """CCPR (Lu, Xu and Jia 2012, from memory): of the pairs of pixels whose colours are at least
    `limit` apart in CIE Lab, the share whose greys are too."""
    lab = cv2.cvtColor(_floats(photo), cv2.COLOR_RGB2Lab).reshape(-1, 3)
    one, other = np.random.default_rng(0).integers(0, len(lab), (2, 40000))
    apart = np.sqrt(((lab[one] - lab[other]) ** 2).sum(axis=1)) >= limit
    points = 100.0 * tones.ravel()
    return float((np.abs(points[one] - points[other]) >= limit)[apart].mean())


@pytest.mark.parametrize("name", PHOTOS)
def test_contrast_keeping_grey_resembles_another_implementation(name: str) -> None:
    """OpenCV's decolor, after the same paper. It is bound neither to neutrals nor to the range and
    looks at neighbours alone, so the greys only correlate, and keep about as many pairs apart."""
    photo = _photo(name)
    ours = _grey("contrast", photo)
    theirs = cv2.decolor(np.ascontiguousarray(photo[..., ::-1]))[0].astype(np.float32) / 255.0
    assert np.corrcoef(ours.ravel(), theirs.ravel())[0, 1] > 0.85
    assert _kept_contrast(photo, ours, 10.0) > _kept_contrast(photo, theirs, 10.0) - 0.04


def test_contrast_keeping_grey_keeps_more_pairs_apart_on_the_whole() -> None:
    """CCPR averaged over limits of 5 to 20 and all photographs: above lightness, and not below
    OpenCV's decolor."""
    limits = (5.0, 10.0, 15.0, 20.0)
    kept = {"ours": 0.0, "theirs": 0.0, "lightness": 0.0}
    for name in PHOTOS:
        photo = _photo(name)
        bgr = np.ascontiguousarray(photo[..., ::-1])
        greys = {
            "ours": _grey("contrast", photo),
            "theirs": cv2.decolor(bgr)[0].astype(np.float32) / 255.0,
            "lightness": _grey("lightness", photo),
        }
        for who, tones in greys.items():
            kept[who] += sum(_kept_contrast(photo, tones, limit) for limit in limits)
    assert kept["ours"] > kept["lightness"]
    assert kept["ours"] > kept["theirs"] - 0.005 * len(limits) * len(PHOTOS)


@pytest.mark.parametrize("name", PHOTOS)
def test_contrast_keeping_grey_hardly_clips(name: str) -> None:
    """Our own limit, common practice in print: a mix adds at most a few percent of lost tones."""
    photo = _photo(name)
    ours, plain = grey.facts(_grey("contrast", photo)), grey.facts(_grey("lightness", photo))
    assert ours.clipped_dark - plain.clipped_dark < 0.03
    assert ours.clipped_light - plain.clipped_light < 0.03


def test_skin_keeping_grey_shows_more_of_a_face_without_clipping_it() -> None:
    """A real face (NASA's portrait of Eileen Collins, as scikit-image carries it): more gradient
    energy in the face than luma and lightness have, and nothing clipped there."""
    photo = _photo("astronaut")
    face = (slice(90, 165), slice(190, 262))
    area = (190 / 512, 90 / 512, 262 / 512, 165 / 512)
    mix = grey.resolve(Grey(method="skin", area=area), _sample(photo))
    ours = grey.apply(mix, _floats(photo))[face]
    assert grey.facts(ours).clipped_light < 0.005
    assert grey.facts(ours).clipped_dark < 0.01
    for method in ("lightness", "luma601"):
        assert _gradient_energy(ours) > 1.05 * _gradient_energy(_grey(method, photo)[face])


def _gradient_energy(tones: NDArray[np.float32]) -> float:
    coarse = cv2.resize(tones, None, fx=400 / 512, fy=400 / 512, interpolation=cv2.INTER_AREA)
    across, down = np.diff(coarse, axis=1), np.diff(coarse, axis=0)
    return float((across**2).mean() + (down**2).mean())
