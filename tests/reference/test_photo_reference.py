"""Colour management against colour-science, and real photographs against another reader.

The ICC profiles are put together here from published primaries and formulas (ICC.1:2022).
"""

import io
import itertools
import struct
from pathlib import Path

import colour
import numpy as np
import pytest
import skimage
import skimage.io
from numpy.typing import NDArray
from PIL import Image

from engine.photo import Photo, open_photo, photo_from_bytes

PICTURES = Path(skimage.__file__).parent / "data"
D50 = (0.9642, 1.0, 0.8249)  # the profile connection space, ICC.1:2022, 7.2.16
ADOBE_GAMMA = 563 / 256


def s15(*values: float) -> bytes:
    return struct.pack(f">{len(values)}i", *(round(value * 65536) for value in values))


def curve(*values: int) -> bytes:
    return b"curv\0\0\0\0" + struct.pack(f">I{len(values)}H", len(values), *values)


def parametric(kind: int, *values: float) -> bytes:
    return b"para\0\0\0\0" + struct.pack(">HH", kind, 0) + s15(*values)


def xyz(*values: float) -> bytes:
    return b"XYZ \0\0\0\0" + s15(*values)


def profile(device: bytes, space: bytes, pcs: bytes, tags: dict[bytes, bytes]) -> bytes:
    description = b"desc\0\0\0\0" + struct.pack(">I", 5) + b"Test\0" + bytes(78)
    tags = {b"desc": description, b"wtpt": xyz(*D50), **tags}
    table, body = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for signature, tag in tags.items():
        table += struct.pack(">4sII", signature, start + len(body), len(tag))
        body += tag + bytes(-len(tag) % 4)
    header = struct.pack(
        ">I4sI4s4s4s12x4s", start + len(body), b"lcms", 0x02400000, device, space, pcs, b"acsp"
    )
    header += bytes(28) + s15(*D50)
    return header + bytes(128 - len(header)) + table + body


def rgb_profile(space: colour.RGB_Colourspace, tone: bytes) -> bytes:
    """Primaries adapted from D65 to D50 by the Bradford matrix, as ICC.1:2022, annex E, asks."""
    white = colour.xy_to_XYZ(space.whitepoint)
    adapt = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        white, np.array(D50), transform="Bradford"
    )
    columns = (adapt @ space.matrix_RGB_to_XYZ).T
    tags = {b"rXYZ": xyz(*columns[0]), b"gXYZ": xyz(*columns[1]), b"bXYZ": xyz(*columns[2])}
    tags |= {b"rTRC": tone, b"gTRC": tone, b"bTRC": tone}
    return profile(b"mntr", b"RGB ", b"XYZ ", tags)


def grey_profile(tone: bytes) -> bytes:
    return profile(b"mntr", b"GRAY", b"XYZ ", {b"kTRC": tone})


def with_profile(pixels: NDArray[np.generic], icc: bytes, mode: str | None = None) -> Photo:
    file = io.BytesIO()
    Image.fromarray(pixels, mode).save(file, "TIFF", icc_profile=icc)
    return photo_from_bytes(file.getvalue(), name="test picture")


@pytest.fixture(scope="module")
def colours() -> NDArray[np.uint8]:
    """A grid of 216 colours of middling saturation and some greys: inside the gamut of sRGB."""
    steps = np.linspace(60, 200, 6).astype(np.uint8)
    grid = np.array(list(itertools.product(steps, steps, steps)), np.uint8)
    greys = np.repeat(np.arange(0, 256, 15, dtype=np.uint8)[:, np.newaxis], 3, axis=1)
    return np.concatenate([grid, greys])[np.newaxis]


def to_srgb(
    encoded: NDArray[np.uint8], space: colour.RGB_Colourspace, gamma: float | None
) -> NDArray[np.float64]:
    linear = (encoded / 255.0) ** gamma if gamma else colour.models.eotf_sRGB(encoded / 255.0)
    srgb = colour.RGB_COLOURSPACES["sRGB"]
    out = colour.RGB_to_RGB(linear, space, srgb, chromatic_adaptation_transform=None)
    return np.asarray(255.0 * colour.models.eotf_inverse_sRGB(np.clip(out, 0.0, 1.0)))


@pytest.mark.parametrize(
    ("name", "tone", "gamma"),
    [
        ("Adobe RGB (1998)", curve(563), ADOBE_GAMMA),
        ("Display P3", parametric(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045), None),
        ("sRGB", curve(round(1.8 * 256)), round(1.8 * 256) / 256),
    ],
)
def test_rgb_profiles_against_colour_science(
    colours: NDArray[np.uint8], name: str, tone: bytes, gamma: float | None
) -> None:
    """colour.RGB_to_RGB, all spaces with white D65: no adaptation. Clipped colours left out."""
    space = colour.RGB_COLOURSPACES[name]
    expected = to_srgb(colours, space, gamma)
    inside = ((expected > 0.0) & (expected < 255.0)).all(axis=-1)
    photo = with_profile(colours, rgb_profile(space, tone))
    assert photo.notes == ()
    assert inside.sum() > 120
    error = np.abs(photo.pixels - expected)[inside]
    assert error.max() <= 2.0
    assert error.mean() <= 0.5
    assert np.abs(photo.pixels.astype(int) - colours).max() >= 10


def test_swapped_primaries(colours: NDArray[np.uint8]) -> None:
    """A profile in which red and blue change places: the result is that of the swapped picture."""
    srgb = colour.RGB_COLOURSPACES["sRGB"]
    tone = parametric(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
    icc = rgb_profile(srgb, tone)
    swapped = icc.replace(b"rXYZ", b"tmpX").replace(b"bXYZ", b"rXYZ").replace(b"tmpX", b"bXYZ")
    photo = with_profile(colours, swapped)
    assert np.abs(photo.pixels.astype(int) - colours[..., ::-1]).max() <= 1


def test_an_embedded_srgb_profile_leaves_the_pixels_alone(colours: NDArray[np.uint8]) -> None:
    tone = parametric(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
    icc = rgb_profile(colour.RGB_COLOURSPACES["sRGB"], tone)
    assert np.array_equal(with_profile(colours, icc).pixels, colours)


def srgb_of_luminance(luminance: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(colour.models.eotf_inverse_sRGB(luminance))


X = np.linspace(0.0, 1.0, 4096)
GREY_CURVES = {
    "identity": (curve(), X),
    "gamma 2.2": (curve(563), X**ADOBE_GAMMA),
    "table": (curve(0, 6554, 26214, 65535), np.interp(X, [0, 1 / 3, 2 / 3, 1], [0, 0.1, 0.4, 1])),
    "kind 0": (parametric(0, 1.8), X**1.8),
    "kind 1": (parametric(1, 2.0, 1.25, -0.25), np.where(X >= 0.2, (1.25 * X - 0.25) ** 2, 0.0)),
    "kind 2": (
        parametric(2, 2.0, 0.9, -0.09, 0.1),
        np.where(X >= 0.1, (0.9 * X - 0.09) ** 2 + 0.1, 0.1),
    ),
    "kind 3": (
        parametric(3, 1 / 0.45, 1 / 1.099, 0.099 / 1.099, 1 / 4.5, 0.081),
        np.where(X >= 0.081, ((X + 0.099) / 1.099) ** (1 / 0.45), X / 4.5),
    ),
    "kind 4": (
        parametric(4, 2.0, 0.9, 0.0, 0.5, 0.1, 0.05, 0.02),
        np.where(X >= 0.1, (0.9 * X) ** 2 + 0.05, 0.5 * X + 0.02),
    ),
}


@pytest.mark.parametrize("name", GREY_CURVES)
def test_grey_profiles_with_16_bits_against_the_formula(name: str) -> None:
    """ICC.1:2022, 10.6 and 10.18 (tables 67 and 68), then the sRGB curve of colour-science."""
    tone, luminance = GREY_CURVES[name]
    stored = np.rint(X * 65535).astype(np.uint16)[np.newaxis]
    photo = with_profile(stored, grey_profile(tone))
    expected = 65535.0 * srgb_of_luminance(luminance)
    assert photo.notes == ()
    assert photo.pixels.dtype == np.uint16
    # Away from jumps; sRGB is up to 12.92 times as steep as luminance near black.
    error = np.abs(photo.pixels[0, :, 1] - expected)
    assert np.percentile(error, 99.5) <= 16.0
    assert np.ptp(photo.pixels, axis=2).max() == 0


@pytest.mark.parametrize("name", ["identity", "gamma 2.2", "table", "kind 0", "kind 3"])
def test_grey_profiles_with_8_bits_against_the_formula(name: str) -> None:
    tone, luminance = GREY_CURVES[name]
    stored = np.arange(256, dtype=np.uint8)[np.newaxis]
    photo = with_profile(stored, grey_profile(tone))
    expected = 255.0 * srgb_of_luminance(np.interp(stored[0] / 255.0, X, luminance))
    assert photo.pixels.dtype == np.uint8
    assert np.abs(photo.pixels[0, :, 1] - expected).max() <= 0.6


def test_ink_profile() -> None:
    """A CMYK profile by a table of two steps an ink (lut8Type, ICC.1:2022, 10.11): bare paper is
    L* 100, any black is L* 0, any other ink L* 40, which is 94.2 in sRGB (colour-science)."""
    identity = bytes(range(256))
    lightness = [
        0 if black else 255 if not cyan + magenta + yellow else 102
        for cyan, magenta, yellow, black in itertools.product((0, 1), repeat=4)
    ]
    table = b"mft1\0\0\0\0" + bytes([4, 3, 2, 0]) + s15(1, 0, 0, 0, 1, 0, 0, 0, 1)
    table += identity * 4 + b"".join(bytes([level, 128, 128]) for level in lightness) + identity * 3
    icc = profile(b"prtr", b"CMYK", b"Lab ", {b"A2B0": table, b"A2B1": table})
    inks = np.array([[[0, 0, 0, 0], [0, 0, 0, 255], [255, 0, 0, 0], [0, 255, 255, 0]]], np.uint8)
    photo = with_profile(inks, icc, "CMYK")
    grey = 255.0 * srgb_of_luminance(np.array(colour.colorimetry.luminance_CIE1976(40.0) / 100.0))
    assert grey == pytest.approx(94.2, abs=0.1)
    assert photo.notes == ()
    assert np.abs(photo.pixels[0].T - np.array([255.0, 0.0, grey, grey])).max() <= 2.0


def test_a_profile_beside_transparency(colours: NDArray[np.uint8]) -> None:
    icc = rgb_profile(colour.RGB_COLOURSPACES["Adobe RGB (1998)"], curve(563))
    opaque = with_profile(colours, icc).pixels
    rgba = np.dstack([colours, np.full(colours.shape[:2], 255, np.uint8)])
    rgba[0, 0, 3] = 0
    photo = with_profile(rgba, icc)
    assert np.array_equal(photo.pixels[0, 1:], opaque[0, 1:])
    assert not photo.pixels[0, 0].any()


def test_a_grey_picture_with_a_colour_profile() -> None:
    grey = np.arange(0, 256, 5, dtype=np.uint8)[np.newaxis]
    icc = rgb_profile(colour.RGB_COLOURSPACES["sRGB"], curve(256))
    photo = with_profile(grey, icc)
    expected = 255.0 * srgb_of_luminance(grey / 255.0)
    assert np.abs(photo.pixels - expected[..., np.newaxis]).max() <= 2.0


@pytest.mark.parametrize("name", ["astronaut.png", "chelsea.png", "coffee.png"])
def test_real_colour_photographs(name: str) -> None:
    """Photographs that come with scikit-image, decoded by its own reader."""
    assert np.array_equal(open_photo(PICTURES / name).pixels, skimage.io.imread(PICTURES / name))


def test_a_real_grey_photograph() -> None:
    photo = open_photo(PICTURES / "camera.png")
    assert (photo.rows, photo.columns) == (512, 512)
    assert np.array_equal(photo.pixels[..., 2], skimage.io.imread(PICTURES / "camera.png"))


def test_a_real_jpeg_in_adobe_rgb() -> None:
    """The rocket carries an Adobe RGB (1998) profile: colour-science from scikit-image's pixels."""
    photo = open_photo(PICTURES / "rocket.jpg")
    space = colour.RGB_COLOURSPACES["Adobe RGB (1998)"]
    expected = to_srgb(skimage.io.imread(PICTURES / "rocket.jpg"), space, ADOBE_GAMMA)
    assert photo.pixels.shape == expected.shape == (427, 640, 3)
    inside = ((expected > 0.0) & (expected < 255.0)).all(axis=-1)
    assert inside.mean() > 0.5
    error = np.abs(photo.pixels - expected)[inside]
    assert error.mean() <= 0.6
    assert np.percentile(error, 99.9) <= 3.0


def test_a_real_scan_with_a_dot_gain_profile() -> None:
    """The page carries a grey profile for 20 % dot gain at mid-tone, whose curve is a table.

    By Murray and Davies a tone value of 50 % printed as 70 % reflects 30 % of the light.
    """
    stored = skimage.io.imread(PICTURES / "page.png")
    photo = open_photo(PICTURES / "page.png")
    middle = photo.pixels[np.abs(stored.astype(int) - 128) <= 1]
    assert middle.size > 30
    assert middle.mean() == pytest.approx(255.0 * srgb_of_luminance(np.array(0.30)), abs=6.0)
