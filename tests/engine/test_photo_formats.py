"""Every container, mode and orientation as upright sRGB pixels."""

import io
import struct
import zlib
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageCms

from engine.photo import Photo, photo_from_bytes
from shared.errors import PhotoError

EXACT = ("PNG", "TIFF", "BMP", "WEBP", "GIF")
RGB = np.array(
    [
        [[255, 0, 0], [0, 255, 0], [0, 0, 255]],
        [[0, 0, 0], [128, 128, 128], [255, 255, 255]],
    ],
    np.uint8,
)
TAG_ZERO_IS_WHITE = struct.pack("<HHIHH", 262, 3, 1, 0, 0)
TAG_ZERO_IS_BLACK = struct.pack("<HHIHH", 262, 3, 1, 1, 0)
DEEP = np.array([[0, 1, 257], [4660, 30000, 65535]], np.uint16)


def encoded(image: Image.Image, file_format: str, **options: Any) -> bytes:
    if file_format == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    file = io.BytesIO()
    image.save(file, file_format, **options)
    return file.getvalue()


def read(data: bytes, **options: Any) -> Photo:
    return photo_from_bytes(data, name="test picture", **options)


def same_in_all_channels(grey: NDArray[Any]) -> NDArray[Any]:
    return np.repeat(grey[..., np.newaxis], 3, axis=2)


def png(columns: int, rows: int, depth: int, kind: int, lines: bytes, *extra: bytes) -> bytes:
    header = struct.pack(">IIBBBBB", columns, rows, depth, kind, 0, 0, 0)
    chunks = [chunk(b"IHDR", header), *extra, chunk(b"IDAT", zlib.compress(lines))]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks) + chunk(b"IEND", b"")


def chunk(kind: bytes, body: bytes) -> bytes:
    check = zlib.crc32(kind + body)
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", check)


def big_picture() -> Image.Image:
    """Blocks of 16 pixels, so that lossy containers keep the colours in their middles."""
    return Image.fromarray(np.kron(RGB, np.ones((16, 16, 1), np.uint8)))


class TestContainers:
    @pytest.mark.parametrize("file_format", EXACT)
    def test_lossless_containers_give_the_exact_pixels(self, file_format: str) -> None:
        options = {"lossless": True} if file_format == "WEBP" else {}
        photo = read(encoded(Image.fromarray(RGB), file_format, **options))
        assert photo.pixels.dtype == np.uint8
        assert np.array_equal(photo.pixels, RGB)
        assert (photo.rows, photo.columns, photo.notes) == (2, 3, ())

    @pytest.mark.parametrize("file_format", ["JPEG", "MPO", "AVIF", "HEIF"])
    def test_lossy_containers_come_close(self, file_format: str) -> None:
        photo = read(encoded(big_picture(), file_format, quality=95))
        middles = photo.pixels[8::16, 8::16].astype(int)
        assert photo.pixels.shape == (32, 48, 3)
        assert np.abs(middles - RGB).max() <= 12

    def test_the_first_picture_of_an_mpo_is_taken(self) -> None:
        other = Image.new("RGB", (48, 32), "white")
        data = encoded(big_picture(), "MPO", save_all=True, append_images=[other])
        assert np.abs(read(data).pixels[8, 8].astype(int) - [255, 0, 0]).max() <= 12

    @pytest.mark.parametrize("compression", ["raw", "tiff_lzw", "tiff_adobe_deflate", "packbits"])
    def test_tiff_compressions(self, compression: str) -> None:
        data = encoded(Image.fromarray(RGB), "TIFF", compression=compression)
        assert np.array_equal(read(data).pixels, RGB)

    @pytest.mark.parametrize("file_format", ["PPM", "TGA", "ICO", "PCX", "JPEG2000", "EPS"])
    def test_other_kinds_are_refused(self, file_format: str) -> None:
        with pytest.raises(PhotoError, match="cannot be read as a picture"):
            read(encoded(Image.fromarray(RGB), file_format))


# EXIF 2.32, tag 274: where the stored row 0 and column 0 belong in the upright picture. The
# stored array is made here from the upright one: 1 top left, 2 top right, 3 bottom right,
# 4 bottom left, 5 left top, 6 right top, 7 right bottom, 8 left bottom.
STORED = {
    1: RGB,
    2: RGB[:, ::-1],
    3: RGB[::-1, ::-1],
    4: RGB[::-1],
    5: RGB.swapaxes(0, 1),
    6: RGB.swapaxes(0, 1)[::-1],
    7: RGB.swapaxes(0, 1)[::-1, ::-1],
    8: RGB.swapaxes(0, 1)[:, ::-1],
}


def with_orientation(value: int) -> Image.Exif:
    exif = Image.Exif()
    exif[0x0112] = value
    return exif


class TestOrientation:
    @pytest.mark.parametrize("value", STORED)
    @pytest.mark.parametrize("file_format", ["PNG", "TIFF", "WEBP"])
    def test_all_eight_values(self, file_format: str, value: int) -> None:
        options = {"lossless": True} if file_format == "WEBP" else {}
        image = Image.fromarray(np.ascontiguousarray(STORED[value]))
        photo = read(encoded(image, file_format, exif=with_orientation(value), **options))
        assert np.array_equal(photo.pixels, RGB)

    @pytest.mark.parametrize("value", STORED)
    @pytest.mark.parametrize("file_format", ["JPEG", "AVIF", "HEIF"])
    def test_all_eight_values_in_lossy_containers(self, file_format: str, value: int) -> None:
        image = Image.fromarray(np.kron(STORED[value], np.ones((16, 16, 1), np.uint8)))
        if file_format == "HEIF":  # its encoder turns the tag of the image into a rotation box
            image.getexif()[0x0112] = value
            data = encoded(image, file_format, quality=95)
        else:
            data = encoded(image, file_format, exif=with_orientation(value), quality=95)
        middles = read(data).pixels[8::16, 8::16].astype(int)
        assert middles.shape == RGB.shape
        assert np.abs(middles - RGB).max() <= 12

    def test_only_the_rotation_box_of_heif_counts(self) -> None:
        """ISO/IEC 23008-12, annex A: the tag of the EXIF data is for information only."""
        data = encoded(big_picture(), "HEIF", exif=with_orientation(6), quality=95)
        assert b"irot" not in data
        assert read(data).pixels.shape == (32, 48, 3)

    @pytest.mark.parametrize("value", STORED)
    @pytest.mark.parametrize("file_format", ["PNG", "TIFF"])
    def test_sixteen_bits_are_turned_too(self, file_format: str, value: int) -> None:
        upright = same_in_all_channels(DEEP)
        stored = {
            1: DEEP,
            2: DEEP[:, ::-1],
            3: DEEP[::-1, ::-1],
            4: DEEP[::-1],
            5: DEEP.T,
            6: DEEP.T[::-1],
            7: DEEP.T[::-1, ::-1],
            8: DEEP.T[:, ::-1],
        }[value]
        image = Image.fromarray(np.ascontiguousarray(stored))
        data = encoded(image, file_format, exif=with_orientation(value))
        assert np.array_equal(read(data).pixels, upright)

    @pytest.mark.parametrize("value", [0, 9, 99, 65535])
    @pytest.mark.parametrize("file_format", ["PNG", "TIFF", "WEBP"])
    def test_senseless_values_are_ignored(self, file_format: str, value: int) -> None:
        options = {"lossless": True} if file_format == "WEBP" else {}
        data = encoded(Image.fromarray(RGB), file_format, exif=with_orientation(value), **options)
        assert np.array_equal(read(data).pixels, RGB)

    def test_damaged_exif_is_ignored(self) -> None:
        data = encoded(Image.fromarray(RGB), "PNG", exif=b"Exif\0\0II*\0\xff\xff\xff\xffrubbish")
        assert np.array_equal(read(data).pixels, RGB)


class TestModes:
    def test_one_bit(self) -> None:
        bits = np.array([[True, False, True], [False, False, True]])
        for file_format in ("PNG", "TIFF", "BMP"):
            photo = read(encoded(Image.fromarray(bits), file_format))
            assert np.array_equal(photo.pixels, same_in_all_channels(bits * np.uint8(255)))

    def test_grey(self) -> None:
        grey = RGB[..., 1]
        for file_format in ("PNG", "TIFF", "BMP", "GIF"):
            photo = read(encoded(Image.fromarray(grey), file_format))
            assert np.array_equal(photo.pixels, same_in_all_channels(grey))

    def test_palette(self) -> None:
        image = Image.fromarray(RGB).quantize(6)
        for file_format in ("PNG", "TIFF", "BMP", "GIF"):
            photo = read(encoded(image, file_format))
            assert np.array_equal(photo.pixels, np.asarray(image.convert("RGB")))

    @pytest.mark.parametrize("file_format", ["PNG", "TIFF"])
    def test_sixteen_bit_grey_keeps_its_bits(self, file_format: str) -> None:
        photo = read(encoded(Image.fromarray(DEEP), file_format))
        assert photo.pixels.dtype == np.uint16
        assert np.array_equal(photo.pixels, same_in_all_channels(DEEP))
        assert photo.notes == ()

    def test_sixteen_bit_grey_with_the_high_byte_first(self) -> None:
        swapped = Image.frombytes("I;16B", (3, 2), DEEP.astype(">u2").tobytes())
        data = encoded(swapped, "TIFF")
        assert data[:2] == b"MM"
        assert np.array_equal(read(data).pixels, same_in_all_channels(DEEP))

    @pytest.mark.parametrize("depth", [8, 16])
    def test_tiff_in_which_zero_is_white(self, depth: int) -> None:
        stored = DEEP if depth == 16 else (DEEP >> 8).astype(np.uint8)
        plain = encoded(Image.fromarray(stored), "TIFF")
        data = plain.replace(TAG_ZERO_IS_BLACK, TAG_ZERO_IS_WHITE)
        assert data != plain
        expected = same_in_all_channels(np.iinfo(stored.dtype).max - stored)
        assert np.array_equal(read(data).pixels, expected)

    def test_twelve_bit_tiff_is_scaled_to_the_whole_range(self) -> None:
        data = encoded(Image.frombytes("I;16", (2, 1), b"\xff\xf8\x00\x00"), "TIFF")
        data = data.replace(
            struct.pack("<HHIHH", 258, 3, 1, 16, 0), struct.pack("<HHIHH", 258, 3, 1, 12, 0)
        )
        assert read(data).pixels[0, :, 0].tolist() == [65535, 0x8008]

    def test_sixteen_bit_colour_is_read_with_eight_and_says_so(self) -> None:
        lines = b"\0" + np.array([0, 65535, 0x8000, 1, 2, 3], ">u2").tobytes()
        photo = read(png(2, 1, 16, 2, lines))
        assert np.array_equal(photo.pixels, [[[0, 255, 128], [0, 0, 0]]])
        assert any("16-bit" in note for note in photo.notes)

    def test_sixteen_bit_grey_with_opacity(self) -> None:
        lines = b"\0" + np.array([0xFFFF, 0xFFFF, 0xFFFF, 0], ">u2").tobytes()
        photo = read(png(2, 1, 16, 4, lines), matte="#204060")
        assert np.array_equal(photo.pixels, [[[255, 255, 255], [0x20, 0x40, 0x60]]])
        assert any("16-bit" in note for note in photo.notes)

    def test_whole_numbers_that_fit_16_bits_keep_them(self) -> None:
        photo = read(encoded(Image.fromarray(DEEP.astype(np.int32)), "TIFF"))
        assert np.array_equal(photo.pixels, same_in_all_channels(DEEP))
        assert "65535 is taken as white" in photo.notes[0]

    def test_large_whole_numbers_are_scaled(self) -> None:
        numbers = np.array([[0, 2**30, 2**31 - 1]], np.int32)
        photo = read(encoded(Image.fromarray(numbers), "TIFF"))
        assert photo.pixels[0, :, 0].tolist() == [0, 32768, 65535]

    @pytest.mark.parametrize("white", [1.0, 255.0, 65535.0, 70000.0])
    def test_real_numbers_are_scaled_to_the_usual_white(self, white: float) -> None:
        numbers = np.array([[-0.5, 0.0, 0.25 * white, white]], np.float32)
        photo = read(encoded(Image.fromarray(numbers), "TIFF"))
        assert photo.pixels.dtype == np.uint16
        assert photo.pixels[0, :, 0].tolist() == [0, 0, 16384, 65535]
        assert f"{white:g} is taken as white" in photo.notes[0]

    def test_real_numbers_that_are_all_black(self) -> None:
        assert not read(encoded(Image.fromarray(np.zeros((2, 2), np.float32)), "TIFF")).pixels.any()

    @pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
    def test_numbers_that_are_not_finite_are_refused(self, bad: float) -> None:
        numbers = np.array([[0.0, bad, 1.0]], np.float32)
        with pytest.raises(PhotoError, match="not finite numbers"):
            read(encoded(Image.fromarray(numbers), "TIFF"))

    def test_cie_lab_tiff(self) -> None:
        lab = ImageCms.createProfile("LAB")
        srgb = ImageCms.createProfile("sRGB")
        faces = np.array([[[230, 190, 160], [120, 80, 60], [90, 110, 140]]], np.uint8)
        image = ImageCms.profileToProfile(Image.fromarray(faces), srgb, lab, outputMode="LAB")
        assert image is not None
        photo = read(encoded(image, "TIFF"))
        assert np.abs(photo.pixels.astype(int) - faces).max() <= 3

    def test_ycbcr_tiff(self) -> None:
        photo = read(encoded(big_picture().convert("YCbCr"), "TIFF"))
        assert np.abs(photo.pixels[8::16, 8::16].astype(int) - RGB).max() <= 3
