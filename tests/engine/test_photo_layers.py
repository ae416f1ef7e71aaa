"""Inks, transparency and frames of a photo."""

import struct
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.engine.test_photo_formats import RGB, chunk, encoded, png, read

INKS = np.array(
    [
        [[0, 0, 0, 0], [0, 0, 0, 255], [255, 0, 0, 0]],
        [[0, 255, 0, 0], [0, 0, 255, 0], [0, 0, 0, 128]],
    ],
    np.uint8,
)
INKS_SHOWN = np.array(
    [
        [[255, 255, 255], [0, 0, 0], [0, 255, 255]],
        [[255, 0, 255], [255, 255, 0], [127, 127, 127]],
    ]
)


class TestInk:
    """CMYK without a profile, by the plain formula (1 - ink) x (1 - black)."""

    def test_tiff(self) -> None:
        photo = read(encoded(Image.fromarray(INKS, "CMYK"), "TIFF"))
        assert np.abs(photo.pixels.astype(int) - INKS_SHOWN).max() <= 1
        assert any("CMYK" in note for note in photo.notes)

    def test_jpeg_with_the_inverted_inks_of_the_adobe_marker(self) -> None:
        large = Image.fromarray(np.kron(INKS, np.ones((16, 16, 1), np.uint8)), "CMYK")
        data = encoded(large, "JPEG", quality=98)
        assert b"Adobe" in data[:200]
        photo = read(data)
        assert np.abs(photo.pixels[8::16, 8::16].astype(int) - INKS_SHOWN).max() <= 6


class TestTransparency:
    def test_colour_is_blended_with_the_matte(self) -> None:
        rgba = np.dstack([RGB, np.array([[255, 128, 0], [0, 64, 255]], np.uint8)])
        share = rgba[..., 3:] / 255.0
        expected = np.rint(RGB * share + np.array([0x80, 0x40, 0x20]) * (1.0 - share))
        for file_format in ("PNG", "TIFF"):
            photo = read(encoded(Image.fromarray(rgba), file_format), matte="#804020")
            assert np.abs(photo.pixels - expected).max() <= 1
            assert np.array_equal(photo.pixels[0, 2], [0x80, 0x40, 0x20])
            assert any("see-through" in note for note in photo.notes)

    def test_grey_is_blended_with_the_matte(self) -> None:
        la = np.array([[[200, 255], [200, 0], [200, 51]]], np.uint8)
        photo = read(encoded(Image.fromarray(la, "LA"), "PNG"), matte="#ff0000")
        assert np.array_equal(photo.pixels, [[[200, 200, 200], [255, 0, 0], [244, 40, 40]]])

    def test_an_opaque_alpha_changes_nothing(self) -> None:
        rgba = np.dstack([RGB, np.full((2, 3), 255, np.uint8)])
        photo = read(encoded(Image.fromarray(rgba), "WEBP", lossless=True), matte="#123456")
        assert np.array_equal(photo.pixels, RGB)
        assert photo.notes == ()

    def test_webp_is_blended(self) -> None:
        rgba = np.dstack([RGB, np.zeros((2, 3), np.uint8)])
        photo = read(encoded(Image.fromarray(rgba), "WEBP", lossless=True), matte="#123456")
        assert np.array_equal(photo.pixels, np.full((2, 3, 3), [0x12, 0x34, 0x56]))

    @pytest.mark.parametrize("file_format", ["PNG", "GIF"])
    def test_palette_with_one_see_through_entry(self, file_format: str) -> None:
        image = Image.fromarray(np.array([[0, 1, 2]], np.uint8), "P")
        image.putpalette([10, 20, 30, 40, 50, 60, 70, 80, 90])
        photo = read(encoded(image, file_format, transparency=1), matte="#ffffff")
        assert np.array_equal(photo.pixels, [[[10, 20, 30], [255, 255, 255], [70, 80, 90]]])

    def test_palette_with_an_opacity_for_each_entry(self) -> None:
        image = Image.fromarray(np.array([[0, 1, 2]], np.uint8), "P")
        image.putpalette([100, 100, 100] * 3)
        photo = read(encoded(image, "PNG", transparency=bytes([0, 51, 255])), matte="#ffffff")
        assert photo.pixels[0, :, 0].tolist() == [255, 224, 100]

    def test_palette_with_alpha_in_tiff(self) -> None:
        image = Image.new("PA", (2, 1))
        image.putpalette([10, 20, 30, 40, 50, 60])
        image.putdata([(0, 255), (1, 0)])
        rgba = image.convert("RGBA")
        photo = read(encoded(rgba, "TIFF"), matte="#ffffff")
        assert np.array_equal(photo.pixels, [[[10, 20, 30], [255, 255, 255]]])

    def test_one_colour_of_a_png_is_see_through(self) -> None:
        photo = read(encoded(Image.fromarray(RGB), "PNG", transparency=(0, 255, 0)))
        assert photo.pixels[0, 1].tolist() == [0, 0, 0]
        assert photo.pixels[1, 2].tolist() == [255, 255, 255]

    @pytest.mark.parametrize(
        ("depth", "line", "level"),
        [(1, b"\0\x40", 1), (2, b"\0\x30", 3), (4, b"\0\x0f", 15), (8, b"\0\0\xff", 255)],
    )
    def test_one_level_of_a_grey_png_is_see_through(
        self, depth: int, line: bytes, level: int
    ) -> None:
        key = chunk(b"tRNS", struct.pack(">H", level))
        photo = read(png(2, 1, depth, 0, line, key), matte="#336699")
        assert np.array_equal(photo.pixels, [[[0, 0, 0], [0x33, 0x66, 0x99]]])

    def test_one_colour_of_a_16_bit_png_is_see_through(self) -> None:
        key = chunk(b"tRNS", struct.pack(">HHH", 0x1234, 2, 0xFFFF))
        lines = b"\0" + np.array([0x1234, 2, 0xFFFF, 0x8000, 2, 0xFFFF], ">u2").tobytes()
        photo = read(png(2, 1, 16, 2, lines, key), matte="#ff8000")
        assert np.array_equal(photo.pixels, [[[255, 128, 0], [128, 0, 255]]])

    def test_one_level_of_a_16_bit_grey_png_is_see_through(self) -> None:
        key = chunk(b"tRNS", struct.pack(">H", 4660))
        lines = b"\0" + np.array([4660, 4661], ">u2").tobytes()
        photo = read(png(2, 1, 16, 0, lines, key), matte="#ff8000")
        assert np.array_equal(photo.pixels, [[[65535, 128 * 257, 0], [4661] * 3]])


class TestFrames:
    @pytest.mark.parametrize("file_format", ["GIF", "PNG", "WEBP", "AVIF"])
    def test_the_first_frame_of_an_animation_is_used(self, file_format: str) -> None:
        frames = [Image.new("RGB", (16, 16), colour) for colour in ("red", "blue", "lime")]
        options: dict[str, Any] = {"lossless": True} if file_format == "WEBP" else {}
        data = encoded(frames[0], file_format, save_all=True, append_images=frames[1:], **options)
        photo = read(data)
        assert np.abs(photo.pixels.astype(int) - [255, 0, 0]).max() <= 6
        assert photo.notes == ("It is an animation; the first frame is used.",)

    def test_the_first_page_of_a_tiff_is_used(self) -> None:
        pages = [Image.new("RGB", (4, 4), colour) for colour in ("red", "blue")]
        photo = read(encoded(pages[0], "TIFF", save_all=True, append_images=pages[1:]))
        assert np.array_equal(photo.pixels[0, 0], [255, 0, 0])
        assert photo.notes == ("It holds several pages; the first is used.",)
