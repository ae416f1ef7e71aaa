"""What a canvas paints, pixel by pixel, at this display density and at others."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QColor
from skimage import data

from app import theme
from app.compare.canvas import Canvas
from app.compare.frame import Frame
from app.compare.viewport import Viewport
from app.qimage import array_from_image, image_from_array

PLATE_MM = (50.0, 40.0)
PITCH_MM = 0.1
COLUMNS, ROWS = 500, 400
SPOTS = [(0, 0), (499, 399), (250, 200), (123, 301)]


@pytest.fixture
def canvas(qtbot):
    viewport = Viewport()
    viewport.set_plate(*PLATE_MM, PITCH_MM)
    canvas = Canvas(viewport)
    canvas.viewport = viewport
    qtbot.addWidget(canvas)
    canvas.resize(304, 220)
    canvas.show()
    viewport.set_pane_size(304, 220, canvas.devicePixelRatioF())
    return canvas


def grey_grab(canvas):
    """Grey levels that the canvas shows: device rows x columns."""
    return array_from_image(canvas.grab().toImage())[..., 1]


def whole_plate(pixels, *, mirrored=False):
    held = pixels[:, ::-1] if mirrored else pixels
    return Frame(image_from_array(held), 0.0, 0.0, *PLATE_MM, mirrored=mirrored)


def centre_on(viewport, x_mm, y_mm, percent):
    viewport.zoom_to_percent(6400.0, (x_mm, y_mm))
    for _ in range(4):
        x, y = viewport.centre_mm
        scale = viewport.scale / viewport._device_ratio
        viewport.pan_by((x - x_mm) * scale, (y - y_mm) * scale)
    viewport.zoom_to_percent(percent)


def expected_square(canvas, column, row):
    """Device rows and columns of an etch pixel, by the mapping of the view."""
    view = canvas.view()
    left, top, right, bottom = view.device_rect(
        column * PITCH_MM, row * PITCH_MM, (column + 1) * PITCH_MM, (row + 1) * PITCH_MM
    )
    return round(left), round(top), round(right), round(bottom)


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("ratio", [1, 2, 3, 8])
@pytest.mark.parametrize(("column", "row"), SPOTS)
def test_one_etch_pixel_is_a_crisp_square_where_the_view_says(canvas, column, row, ratio, mirrored):
    pixels = np.zeros((ROWS, COLUMNS), np.uint8)
    pixels[row, column] = 255
    canvas.set_frame(whole_plate(pixels, mirrored=mirrored))
    centre_on(canvas.viewport, (column + 0.5) * PITCH_MM, (row + 0.5) * PITCH_MM, ratio * 100.0)
    shown = grey_grab(canvas)
    left, top, right, bottom = expected_square(canvas, column, row)
    assert (right - left, bottom - top) == (ratio, ratio)
    assert (shown[top:bottom, left:right] == 255).all()
    assert (shown == 255).sum() == ratio * ratio
    grounds = {0, 255, *(QColor(c).green() for c in (theme.PANE, theme.LINE))}
    assert set(np.unique(shown)) <= grounds


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("percent", [23.0, 37.0, 100.0, 250.0])
def test_a_picture_of_the_visible_part_is_shown_pixel_for_pixel(canvas, percent, mirrored):
    viewport = canvas.viewport
    centre_on(viewport, 21.3, 17.7, percent)
    view = viewport.view(canvas.width(), canvas.height(), mirrored=mirrored)
    columns, rows = view.visible_size
    photo = np.resize(data.camera(), (rows, columns))
    left, top, right, bottom = view.visible_mm
    canvas.set_frame(
        Frame(image_from_array(photo), left, top, right - left, bottom - top, mirrored=mirrored)
    )
    shown = grey_grab(canvas)
    left_px, top_px, *_ = view.visible_device_rect
    part = shown[top_px : top_px + rows, left_px : left_px + columns]
    np.testing.assert_array_equal(part, photo[: part.shape[0], : part.shape[1]])


def test_a_picture_between_device_pixels_is_moved_to_the_nearest_not_smeared(canvas):
    viewport = canvas.viewport
    centre_on(viewport, 25.0, 20.0, 60.0)
    view = viewport.view(canvas.width(), canvas.height())
    noise = np.random.default_rng(1).integers(0, 256, (40, 60), np.uint8)
    left, top = view.to_mm(100.3 / view.device_ratio, 80.4 / view.device_ratio)
    size = (60 / view.scale, 40 / view.scale)
    canvas.set_frame(Frame(image_from_array(noise), left, top, *size))
    np.testing.assert_array_equal(grey_grab(canvas)[80:120, 100:160], noise)


def test_a_stale_picture_follows_pan_and_zoom_at_once(canvas):
    pixels = np.zeros((ROWS, COLUMNS), np.uint8)
    pixels[190:210, 240:260] = 255
    canvas.set_frame(whole_plate(pixels))
    viewport = canvas.viewport
    for change in (
        viewport.zoom_one_to_one,
        lambda: viewport.zoom_step(2),
        lambda: viewport.pan_by(31.0, -12.0),
        lambda: viewport.zoom_to_percent(170.0),
    ):
        change()
        left, top, _, _ = expected_square(canvas, 240, 190)
        _, _, right, bottom = expected_square(canvas, 259, 209)
        shown = grey_grab(canvas)
        inside = shown[top + 2 : bottom - 2, left + 2 : right - 2]
        assert inside.size
        assert (inside == 255).all()
        frame = shown.copy()
        frame[top - 2 : bottom + 2, left - 2 : right + 2] = 0
        assert (frame < 255).all()


def test_fine_dots_melt_into_their_tone_when_reduced(canvas):
    dots = (np.indices((ROWS * 4, COLUMNS * 4)).sum(axis=0) % 2 * 255).astype(np.uint8)
    canvas.set_frame(whole_plate(dots))
    canvas.viewport.zoom_to_percent(23.0)
    left, top, right, bottom = canvas.view().visible_device_rect
    shown = grey_grab(canvas)[top + 3 : bottom - 3, left + 3 : right - 3].astype(int)
    assert abs(shown.mean() - 127.5) < 3
    assert np.ptp(shown) < 12


def test_pixels_are_squares_from_two_device_pixels_on(canvas):
    dots = (np.indices((ROWS, COLUMNS)).sum(axis=0) % 2 * 255).astype(np.uint8)
    canvas.set_frame(whole_plate(dots))
    centre_on(canvas.viewport, 25.0, 20.0, 260.0)
    assert set(np.unique(grey_grab(canvas))) == {0, 255}
    canvas.viewport.zoom_to_percent(170.0)
    assert len(np.unique(grey_grab(canvas))) > 2


def test_the_surround_is_neutral_and_the_plate_is_outlined(canvas):
    canvas.set_frame(whole_plate(np.full((ROWS, COLUMNS), 255, np.uint8)))
    rgba = array_from_image(canvas.grab().toImage())
    left, top, _, bottom = canvas.view().visible_device_rect
    assert tuple(rgba[2, 2, :3]) == QColor(theme.PANE).getRgb()[:3]
    middle = (top + bottom) // 2
    assert rgba[middle, left - 1, 1] == QColor(theme.LINE).green()
    assert rgba[middle, left, 1] == 255
    assert len(set(QColor(theme.PANE).getRgb()[:3])) == 1


def test_the_safe_margin_is_a_line_inside_the_plate(canvas):
    canvas.set_frame(whole_plate(np.full((ROWS, COLUMNS), 255, np.uint8)))
    canvas.set_margin_mm(5.0)
    shown = grey_grab(canvas)
    view = canvas.view()
    left, top, right, bottom = (
        round(v) for v in view.device_rect(5.0, 5.0, PLATE_MM[0] - 5.0, PLATE_MM[1] - 5.0)
    )
    line = shown[top : top + 1, left + 2 : right - 2]
    assert line.max() < 255
    assert line.min() < line.max()
    inner = shown[top + 4 : bottom - 4, left + 4 : right - 4]
    assert (inner == 255).all()


def test_an_empty_pane_says_what_to_do(canvas):
    blank = grey_grab(canvas)
    canvas.set_empty_text("Drop a photo here.")
    assert (grey_grab(canvas) != blank).any()
    assert canvas.accessibleDescription() == "Drop a photo here."


def test_the_waiting_sign_comes_late_and_goes_at_once(canvas, qtbot):
    canvas.set_frame(whole_plate(np.zeros((ROWS, COLUMNS), np.uint8)))
    quiet = grey_grab(canvas)
    canvas.set_waiting(True)
    np.testing.assert_array_equal(grey_grab(canvas), quiet)
    qtbot.waitUntil(lambda: canvas.waiting_shown)
    assert (grey_grab(canvas) != quiet).any()
    canvas.set_waiting(False)
    np.testing.assert_array_equal(grey_grab(canvas), quiet)


@pytest.mark.skipif("QT_SCALE_FACTOR" in os.environ, reason="this is the run at another density")
@pytest.mark.parametrize("factor", ["1.25", "2"])
def test_all_of_this_holds_on_denser_displays(factor):
    environment = {**os.environ, "QT_SCALE_FACTOR": factor, "QT_QPA_PLATFORM": "offscreen"}
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", __file__],
        env=environment,
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    assert "passed" in run.stdout
