"""Pixels: what Pillow decoded, in any of its modes, as rows x columns x 3 in sRGB.

See-through parts are blended with the matte in sRGB encoded values, as browsers and viewers do.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, TiffImagePlugin

from engine import photo_profile
from shared.errors import PhotoError

STRIP_ROWS = 256
"""Pixels leave Pillow in strips, so that no second copy of the whole picture is made."""

NOTE_PROFILE = "Its colour profile cannot be used; the colours are taken as sRGB."
NOTE_INK = "Its ink colours (CMYK) have no usable profile and are converted by the plain formula."
NOTE_SEE_THROUGH = "Its see-through parts show the colour set behind transparency."


def pixels_of(
    image: Image.Image, matte: tuple[int, int, int], name: str
) -> tuple[NDArray[Any], list[str]]:
    """The pixels, uint16 for grey with more than 8 bits and uint8 for all else, and notes.

    The image must be loaded and is of no use afterwards.
    """
    if image.mode in ("I", "F") or image.mode.startswith("I;16"):
        return _deep_pixels(image, matte, name)
    return _plain_pixels(image, matte)


def _plain_pixels(
    image: Image.Image, matte: tuple[int, int, int]
) -> tuple[NDArray[np.uint8], list[str]]:
    """Rows x columns x 3 of a picture that Pillow holds with 8 bits or fewer."""
    icc = image.info.get("icc_profile")
    notes: list[str] = []
    colour, alpha = _without_alpha(image)
    del image
    if colour.mode == "LAB":
        colour = photo_profile.lab_to_srgb(colour)
    elif icc:
        try:
            colour = photo_profile.to_srgb(colour, icc)
        except photo_profile.UnusableProfileError:
            notes.append(NOTE_PROFILE)
    if colour.mode == "CMYK":
        notes = [NOTE_INK]
    if colour.mode != "RGB":
        colour = colour.convert("RGB")
    if alpha is not None:
        notes.append(NOTE_SEE_THROUGH)
    pixels = np.empty((colour.height, colour.width, 3), np.uint8)
    for top in range(0, colour.height, STRIP_ROWS):
        box = (0, top, colour.width, min(top + STRIP_ROWS, colour.height))
        strip = np.asarray(colour.crop(box))
        if alpha is not None:
            strip = _over(strip, np.asarray(alpha.crop(box)), matte)
        pixels[top : box[3]] = strip
    return pixels, notes


def _without_alpha(image: Image.Image) -> tuple[Image.Image, Image.Image | None]:
    """The colours (L, RGB, CMYK or LAB) and the opacity (L), which is None where all is opaque."""
    if image.mode == "1":
        transparent = image.info.get("transparency")
        image = image.convert("L")
        if transparent is not None:
            image.info["transparency"] = 255 if transparent else 0
    grey = image.mode in ("L", "LA", "La")
    if image.has_transparency_data:
        image = image.convert("LA" if grey else "RGBA")
        alpha = image.getchannel("A")
        if alpha.getextrema() == (255, 255):
            return image.convert("L" if grey else "RGB"), None
        return image.convert("L" if grey else "RGB"), alpha
    if image.mode in ("L", "RGB", "CMYK", "LAB"):
        return image, None
    return image.convert("RGB"), None


def _over(
    colour: NDArray[np.uint8], alpha: NDArray[np.uint8], matte: tuple[int, int, int]
) -> NDArray[np.uint8]:
    """Colour (rows x columns x 3) over the matte; alpha is rows x columns."""
    opacity = alpha[..., np.newaxis].astype(np.uint16)
    blend = colour * opacity + np.array(matte, np.uint16) * (255 - opacity)
    return ((blend + 127) // 255).astype(np.uint8)


def _deep_pixels(
    image: Image.Image, matte: tuple[int, int, int], name: str
) -> tuple[NDArray[np.uint16], list[str]]:
    """Rows x columns x 3 of grey with more than 8 bits."""
    if image.mode.startswith("I;16"):
        raw, notes = _sixteen_bits(image), list[str]()
    else:
        raw, notes = _scaled(_numbers(image), name)
    grey = raw
    if icc := image.info.get("icc_profile"):
        try:
            grey = photo_profile.deep_grey_to_srgb(raw, icc)
        except photo_profile.UnusableProfileError:
            notes.append(NOTE_PROFILE)
    pixels = np.repeat(grey[..., np.newaxis], 3, axis=2)
    transparent = image.info.get("transparency")
    if isinstance(transparent, int):
        pixels[raw == transparent] = np.array(matte, np.uint16) * 257
        notes.append(NOTE_SEE_THROUGH)
    return pixels, notes


def _sixteen_bits(image: Image.Image) -> NDArray[np.uint16]:
    grey: NDArray[np.uint16] = np.asarray(image).astype(np.uint16)
    tags = tiff_tags(image)
    if first(tags.get(TiffImagePlugin.BITSPERSAMPLE)) == 12:
        grey = grey * np.uint16(16) + grey // np.uint16(256)
    if tags.get(TiffImagePlugin.PHOTOMETRIC_INTERPRETATION) == 0:  # TIFF 6.0: 0 is white
        grey = np.invert(grey)
    return grey


def _numbers(image: Image.Image) -> NDArray[Any]:
    """The values of a mode I or F picture; 32-bit whole numbers are unsigned unless it says so."""
    numbers = np.asarray(image)
    tags = tiff_tags(image)
    unsigned = first(tags.get(TiffImagePlugin.SAMPLEFORMAT, 1)) == 1
    if image.mode == "I" and unsigned and numbers.min() < 0:
        return numbers.view(np.uint32)
    return numbers


def _scaled(numbers: NDArray[Any], name: str) -> tuple[NDArray[np.uint16], list[str]]:
    """Whole or real numbers as 16-bit grey; white is the least usual maximum that holds them."""
    low, high = float(numbers.min()), float(numbers.max())
    if not (np.isfinite(low) and np.isfinite(high)):
        raise PhotoError(
            f"{name} holds values that are not finite numbers; save it as 8-bit or 16-bit PNG."
        )
    if numbers.dtype.kind == "f":
        usual = (1.0, 255.0, 65535.0)
    else:
        usual = (65535.0, float(2**31 - 1), float(2**32 - 1))
    white = next((value for value in usual if high <= value), high)
    grey = np.rint(np.clip(numbers * (65535.0 / white), 0.0, 65535.0)).astype(np.uint16)
    note = f"It holds plain numbers from {low:g} to {high:g}; {white:g} is taken as white."
    return grey, [note]


def tiff_tags(image: Image.Image) -> dict[int, Any]:
    """The tags of a TIFF image; none for other formats."""
    return dict(getattr(image, "tag_v2", {}))


def first(value: Any) -> Any:
    """The first of several values, or the only one."""
    return value[0] if isinstance(value, tuple) else value
