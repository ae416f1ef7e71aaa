"""Colour profiles: pictures with an embedded ICC profile as sRGB.

The intent is relative colorimetric with black point compensation: tones inside the gamut stay as
they are, white comes out white, and the deepest ink of a CMYK profile comes out black.
Colour goes through LittleCMS. Grey goes through the profile's own curve: Pillow gives LittleCMS
8 bits only, and that is up to ten levels off in the shadows of a curve that is steep there.
"""

import functools
import io
import struct

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from engine.colour import Floats, srgb_encode

INTENT = ImageCms.Intent.RELATIVE_COLORIMETRIC
FLAGS = ImageCms.Flags.BLACKPOINTCOMPENSATION
GREY = b"GRAY"

Levels = NDArray[np.uint16]


class UnusableProfileError(Exception):
    """The profile is damaged, of a rare kind, or made for another kind of picture."""


def to_srgb(image: Image.Image, icc: bytes) -> Image.Image:
    """An L, RGB or CMYK image as RGB in sRGB; an RGB image may be changed in place.

    Raises UnusableProfileError.
    """
    if image.mode == "L" and icc[16:20] == GREY:
        table = _grey_table(icc)[:: 65535 // 255]
        return image.point(np.rint(table / 257.0).astype(int).tolist()).convert("RGB")
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(icc))
        if image.mode == "L":
            image = image.convert("RGB")
        if profile.profile.xcolor_space.strip() != image.mode:
            raise UnusableProfileError("a profile for other colours")
        transform = ImageCms.buildTransform(profile, _srgb(), image.mode, "RGB", INTENT, FLAGS)
        if image.mode == "CMYK":
            return _applied(transform, image)
        probe = _probe()
        change = np.asarray(_applied(transform, probe), np.int16) - np.asarray(probe)
        if np.abs(change).max() > 1:
            transform.apply_in_place(image)
    except (ImageCms.PyCMSError, OSError, TypeError, ValueError) as error:
        raise UnusableProfileError(str(error)) from error
    return image


def lab_to_srgb(image: Image.Image) -> Image.Image:
    """An image in Pillow's mode LAB (CIE L*a*b*, D50) as RGB in sRGB."""
    lab = ImageCms.createProfile("LAB")
    return _applied(ImageCms.buildTransform(lab, _srgb(), "LAB", "RGB", INTENT, FLAGS), image)


def deep_grey_to_srgb(grey: Levels, icc: bytes) -> Levels:
    """16-bit grey (any shape) with a grey profile as sRGB encoded 16-bit grey.

    Raises UnusableProfileError.
    """
    return np.take(_grey_table(icc), grey)


def _grey_table(icc: bytes) -> Levels:
    """The sRGB encoded level for each of 65536 device levels.

    A profile within half an 8-bit level of sRGB changes nothing, so that bits are kept.
    """
    device = np.arange(65536) / 65535.0
    curve = _grey_curve(icc, device)
    if not np.isfinite(curve).all():
        raise UnusableProfileError("a curve that runs to infinity")
    encoded = srgb_encode(np.clip(curve, 0.0, 1.0))
    if np.abs(encoded - device).max() < 0.5 / 255.0:
        encoded = device
    levels: Levels = np.rint(encoded * 65535.0).astype(np.uint16)
    return levels


def _grey_curve(icc: bytes, x: Floats) -> Floats:
    """Luminance, 0 to 1, of device values, 0 to 1, by the tag kTRC (ICC.1:2022, 8.5 and 10)."""
    try:
        if icc[16:24] != GREY + b"XYZ ":
            raise UnusableProfileError("not a grey profile based on XYZ")
        (count,) = struct.unpack_from(">I", icc, 128)
        for index in range(min(count, 100)):
            signature, offset, size = struct.unpack_from(">4sII", icc, 132 + 12 * index)
            if signature == b"kTRC":
                return _tone_curve(icc[offset : offset + size], x)
    except (struct.error, ValueError, IndexError) as error:
        raise UnusableProfileError(str(error)) from error
    raise UnusableProfileError("no grey curve")


def _tone_curve(tag: bytes, x: Floats) -> Floats:
    """A curveType or parametricCurveType at `x` (ICC.1:2022, 10.6 and 10.18)."""
    if tag[:4] == b"para":
        return _parametric_curve(tag, x)
    if tag[:4] != b"curv":
        raise UnusableProfileError("an unknown kind of curve")
    (count,) = struct.unpack_from(">I", tag, 8)
    values = np.frombuffer(tag, ">u2", count, 12).astype(np.float64)
    if count == 0:
        return x
    if count == 1:
        return np.asarray(x ** float(values[0] / 256.0))
    return np.interp(x, np.linspace(0.0, 1.0, count), values / 65535.0)


def _parametric_curve(tag: bytes, x: Floats) -> Floats:
    """All five kinds as (a x + b)^g + e from d on, and c x + f below it."""
    (kind,) = struct.unpack_from(">H", tag, 8)
    if kind > 4:
        raise UnusableProfileError("an unknown kind of curve")
    count = (1, 3, 4, 5, 7)[kind]
    p = [value / 65536.0 for value in struct.unpack_from(f">{count}i", tag, 12)]
    g, a, b, c, d, e, f = p + [1.0, 0.0, 0.0, 0.0, 0.0, 0.0][count - 1 :]
    if kind in (1, 2):
        if a == 0.0:
            raise UnusableProfileError("a curve without a slope")
        c, d, e, f = 0.0, -b / a, c, c
    power = np.maximum(a * x + b, 0.0) ** g + e
    return np.asarray(np.where(x >= d, power, c * x + f))


@functools.cache
def _srgb() -> ImageCms.ImageCmsProfile:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))


@functools.cache
def _probe() -> Image.Image:
    """Six steps of each colour: what a profile does to these tells whether it is sRGB itself."""
    steps = np.arange(0, 256, 51, dtype=np.uint8)
    return Image.fromarray(np.stack(np.meshgrid(steps, steps, steps), -1).reshape(6, 36, 3))


def _applied(transform: ImageCms.ImageCmsTransform, image: Image.Image) -> Image.Image:
    result = ImageCms.applyTransform(image, transform)
    assert result is not None  # a new image is asked for
    return result
