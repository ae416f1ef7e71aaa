"""Arrays become pictures and come back as they were."""

import gc

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from PySide6.QtGui import QColor, QImage

from app.qimage import array_from_image, image_from_array

GREYS = arrays.arrays(np.uint8, arrays.array_shapes(min_dims=2, max_dims=2, max_side=9))
COLOURS = arrays.arrays(np.uint8, st.tuples(st.integers(1, 9), st.integers(1, 9), st.just(3)))


@given(GREYS)
def test_grey_comes_back_in_all_three_records(grey):
    rgba = array_from_image(image_from_array(grey))
    assert rgba.shape == (*grey.shape, 4)
    for record in range(3):
        np.testing.assert_array_equal(rgba[..., record], grey)
    assert (rgba[..., 3] == 255).all()


@given(COLOURS)
def test_colour_comes_back(rgb):
    np.testing.assert_array_equal(array_from_image(image_from_array(rgb))[..., :3], rgb)


def test_greys_are_shown_in_given_colours():
    grey = np.array([[0, 1, 200, 255]], np.uint8)
    colours = np.random.default_rng(1).integers(0, 256, (256, 3), np.uint8)
    shown = array_from_image(image_from_array(grey, colours))
    np.testing.assert_array_equal(shown[..., :3], colours[grey])


@given(COLOURS)
def test_views_that_are_not_contiguous(rgb):
    for part in (rgb[::-1, ::-1], rgb[::2, ::2], rgb.transpose(1, 0, 2)):
        np.testing.assert_array_equal(array_from_image(image_from_array(part))[..., :3], part)
    for record in (rgb[..., 1], rgb[..., 2].T):
        np.testing.assert_array_equal(array_from_image(image_from_array(record))[..., 0], record)


def test_rows_and_columns_are_not_mixed_up():
    grey = np.zeros((2, 5), np.uint8)
    grey[1, 3] = 200
    image = image_from_array(grey)
    assert (image.width(), image.height()) == (5, 2)
    assert image.pixelColor(3, 1) == QColor(200, 200, 200)


def test_the_picture_owns_its_buffer():
    pixels = np.full((64, 64), 77, np.uint8)
    image = image_from_array(pixels)
    pixels[:] = 0
    del pixels
    gc.collect()
    assert (array_from_image(image)[..., 0] == 77).all()


def test_the_array_owns_its_buffer():
    image = image_from_array(np.full((3, 3), 77, np.uint8))
    rgba = array_from_image(image)
    image.fill(0)
    assert (rgba[..., 0] == 77).all()
    rgba[:] = 1


def test_a_pasted_picture_keeps_its_opacity_unmixed():
    image = QImage(2, 1, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor(0, 0, 0, 0))
    image.setPixelColor(1, 0, QColor(255, 0, 0, 128))
    np.testing.assert_array_equal(array_from_image(image), [[[0, 0, 0, 0], [255, 0, 0, 128]]])


@pytest.mark.parametrize(
    "pixels",
    [
        np.zeros((2, 2), np.float32),
        np.zeros((2, 2, 4), np.uint8),
        np.zeros(4, np.uint8),
        np.zeros((0, 4), np.uint8),
    ],
)
def test_other_arrays_are_refused(pixels):
    with pytest.raises(ValueError, match="a picture needs"):
        image_from_array(pixels)


def test_an_empty_picture_is_refused():
    with pytest.raises(ValueError, match="empty"):
        array_from_image(QImage())
