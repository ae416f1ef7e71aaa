"""One zoom and pan: what holds for every plate, pane and zoom."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from app.compare.viewport import FIT_PADDING_PX, WHOLE_RATIOS, Viewport

SIZES = st.tuples(st.floats(20.0, 600.0), st.floats(20.0, 600.0))
PITCHES = st.floats(0.05, 0.3)
PANES = st.tuples(st.integers(150, 1500), st.integers(150, 1500))
DENSITIES = st.sampled_from([1.0, 1.25, 1.5, 2.0])
SHARES = st.floats(0.05, 0.95)


@st.composite
def viewports(draw):
    viewport = Viewport()
    viewport.set_plate(*draw(SIZES), draw(PITCHES))
    viewport.set_pane_size(*draw(PANES), draw(DENSITIES))
    viewport.zoom_to_percent(draw(st.floats(5.0, 3000.0)))
    width, height = viewport.plate_mm
    viewport.zoom_at(1.0, width * draw(SHARES), height * draw(SHARES))
    return viewport


def pane_view(viewport, *, mirrored=False):
    return viewport.view(400, 300, mirrored=mirrored)


@given(viewports(), st.booleans(), st.floats(-500, 1500), st.floats(-500, 1500))
def test_mm_to_pixels_and_back(viewport, mirrored, x_px, y_px):
    view = pane_view(viewport, mirrored=mirrored)
    assert view.to_px(*view.to_mm(x_px, y_px)) == pytest.approx((x_px, y_px), abs=1e-6)


@given(viewports(), st.floats(0.2, 5.0), SHARES, SHARES)
def test_zoom_keeps_the_spot_under_the_pointer(viewport, factor, across, down):
    width, height = viewport.plate_mm
    spot = (width * across, height * down)
    before = pane_view(viewport).to_px(*spot)
    viewport.zoom_at(factor, *spot)
    centre = viewport.centre_mm
    assume(0.0 < centre[0] < width and 0.0 < centre[1] < height)
    # Each view begins on a whole device pixel: half a pixel of rounding before, half after.
    one_device_px = 1.0 / pane_view(viewport).device_ratio
    after = pane_view(viewport).to_px(*spot)
    assert after == pytest.approx(before, abs=one_device_px + 1e-6)


@given(viewports(), st.integers(1, 6), SHARES, SHARES)
def test_steps_in_and_out_return(viewport, steps, across, down):
    width, height = viewport.plate_mm
    viewport.zoom_one_to_one()
    spot = (width * across, height * down)
    centre, scale = viewport.centre_mm, viewport.scale
    viewport.zoom_step(steps, spot)
    assert viewport.scale > scale
    viewport.zoom_step(-steps, spot)
    assert viewport.scale == pytest.approx(scale)
    assert viewport.centre_mm == pytest.approx(centre)


def test_steps_below_one_to_one_are_a_quarter_and_return():
    viewport = fitted()
    viewport.zoom_to_percent(40.0)
    viewport.zoom_step(1)
    assert viewport.percent == pytest.approx(50.0)
    viewport.zoom_step(3)
    assert viewport.percent == pytest.approx(40.0 * 1.25**4)
    viewport.zoom_step(-4)
    assert viewport.percent == pytest.approx(40.0)


def test_from_one_to_one_on_every_step_is_a_whole_ratio():
    viewport = fitted()
    viewport.zoom_to_percent(90.0)
    seen = []
    for _ in WHOLE_RATIOS:
        viewport.zoom_step(1)
        seen.append(viewport.ratio)
        assert viewport.dots_exact
    assert seen == pytest.approx(WHOLE_RATIOS)


def test_from_a_typed_zoom_the_steps_lead_back_to_whole_ratios():
    viewport = fitted()
    viewport.zoom_to_percent(250.0)
    assert viewport.percent == pytest.approx(250.0)
    assert not viewport.dots_exact
    viewport.zoom_step(1)
    assert viewport.ratio == pytest.approx(3.0)
    viewport.zoom_to_percent(250.0)
    viewport.zoom_step(-1)
    assert viewport.ratio == pytest.approx(2.0)


def test_a_pinch_adds_up_to_the_next_whole_ratio():
    viewport = fitted()
    viewport.zoom_one_to_one()
    ratios = []
    for _ in range(60):
        viewport.zoom_at(1.03, 30.0, 40.0)
        ratios.append(viewport.ratio)
        assert viewport.dots_exact
    assert ratios == sorted(ratios)
    assert ratios[-1] == pytest.approx(round(1.03**60))


@given(viewports(), st.lists(st.floats(0.1, 10.0), max_size=8))
def test_zoom_stays_within_its_limits(viewport, factors):
    low, high = viewport._limits()
    for factor in factors:
        viewport.zoom_at(factor, 1.0, 1.0)
        assert low * (1 - 1e-9) <= viewport.ratio <= high * (1 + 1e-9)
    viewport.zoom_fit()
    fit = viewport.ratio
    viewport.zoom_step(-50)
    assert viewport.ratio == pytest.approx(min(fit / 2.0, 1.0))
    viewport.zoom_step(200)
    assert viewport.ratio == pytest.approx(max(fit, 64.0))


@given(viewports(), st.floats(-1e5, 1e5), st.floats(-1e5, 1e5))
def test_the_centre_stays_over_the_plate(viewport, dx, dy):
    viewport.pan_by(dx, dy)
    width, height = viewport.plate_mm
    x_mm, y_mm = viewport.centre_mm
    assert 0.0 <= x_mm <= width
    assert 0.0 <= y_mm <= height


@given(viewports())
def test_fit_shows_the_whole_plate_with_a_border(viewport):
    viewport.zoom_fit()
    width, height = viewport.plate_mm
    pane = viewport._pane
    view = viewport.view(*pane)
    left, top = view.to_px(0.0, 0.0)
    right, bottom = view.to_px(width, height)
    assert min(left, top, pane[0] - right, pane[1] - bottom) >= FIT_PADDING_PX - 1.0
    assert min(left, top) <= FIT_PADDING_PX + 1.0


@given(viewports())
def test_a_mirrored_view_is_the_other_one_turned_about_the_pane(viewport):
    for width in (400, 401):
        plain = viewport.view(width, 300)
        turned = viewport.view(width, 300, mirrored=True)
        for spot in ((0.0, 0.0), viewport.centre_mm, viewport.plate_mm):
            x_px, y_px = plain.to_px(*spot)
            whole = round(width * plain.device_ratio) / plain.device_ratio
            assert turned.to_px(*spot) == pytest.approx((whole - x_px, y_px), abs=1e-6)


@given(viewports(), st.booleans())
def test_the_visible_part_lies_on_whole_device_pixels(viewport, mirrored):
    view = pane_view(viewport, mirrored=mirrored)
    left, top, right, bottom = view.device_rect(*view.visible_mm)
    columns, rows = view.visible_size
    assert (right - left, bottom - top) == pytest.approx((columns, rows), abs=1e-5)
    assert (left, top) == pytest.approx((round(left), round(top)), abs=1e-5)


def fitted():
    viewport = Viewport()
    viewport.set_plate(60.0, 80.0, 0.1)
    viewport.set_pane_size(400, 300, 1.0)
    return viewport


def test_it_stays_fitted_until_the_user_zooms():
    viewport = fitted()
    viewport.set_pane_size(800, 600, 1.0)
    assert viewport.scale == pytest.approx((600 - 2 * FIT_PADDING_PX) / 80.0)
    viewport.zoom_one_to_one()
    viewport.set_pane_size(300, 200, 1.0)
    assert viewport.percent == pytest.approx(100.0)
    viewport.zoom_fit()
    viewport.set_pane_size(400, 300, 2.0)
    assert viewport.scale == pytest.approx((300 - 2 * FIT_PADDING_PX) * 2.0 / 80.0)


def test_a_new_pitch_keeps_the_size_and_a_new_plate_is_shown_whole():
    viewport = fitted()
    viewport.zoom_one_to_one((10.0, 10.0))
    scale, centre = viewport.scale, viewport.centre_mm
    viewport.set_plate(60.0, 80.0, 0.2)
    assert (viewport.scale, viewport.centre_mm) == (scale, centre)
    assert viewport.percent == pytest.approx(200.0)
    viewport.set_plate(100.0, 80.0, 0.2)
    assert viewport.fitted
    assert viewport.centre_mm == (50.0, 40.0)


def test_actual_size():
    viewport = fitted()
    viewport.zoom_actual(4.0)
    assert viewport.scale == pytest.approx(4.0)


@pytest.mark.parametrize("scale", [0.5, 900.0])
def test_actual_size_beyond_the_limits_leads_back_within_them(scale):
    viewport = fitted()
    viewport.zoom_actual(scale)
    assert viewport.scale == pytest.approx(scale)
    viewport.zoom_step(1 if scale < 1.0 else -1)
    assert min(viewport.scale / scale, scale / viewport.scale) < 0.9
    viewport.zoom_fit()
    viewport.zoom_step(-50)
    assert viewport.scale == pytest.approx((300 - 2 * FIT_PADDING_PX) / 80.0 / 2.0)


def test_the_hand_moves_the_plate_by_as_much():
    viewport = fitted()
    viewport.zoom_one_to_one()
    before = pane_view(viewport).to_px(30.0, 40.0)
    viewport.pan_by(17.0, -9.0)
    after = pane_view(viewport).to_px(30.0, 40.0)
    assert after == (before[0] + 17.0, before[1] - 9.0)


def test_what_changes_nothing_is_not_announced():
    viewport = fitted()
    heard = []
    viewport.changed.connect(lambda: heard.append(viewport.scale))
    viewport.set_plate(60.0, 80.0, 0.1)
    viewport.set_pane_size(400, 300, 1.0)
    assert heard == []
    viewport.zoom_step(1)
    viewport.pan_by(3.0, 0.0)
    assert len(heard) == 2
    viewport.zoom_to_percent(1e9)
    viewport.zoom_to_percent(1e9)
    assert len(heard) == 3
    viewport.pan_by(0.0, 0.0)
    assert len(heard) == 3


@pytest.mark.parametrize("factor", [0.0, -1.0])
def test_no_zoom_by_nothing(factor):
    with pytest.raises(ValueError, match="greater than 0"):
        fitted().zoom_at(factor, 1.0, 1.0)
