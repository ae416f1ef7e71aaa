"""The plots of the glass: curves and marks lie where their figures are, and are told in words."""

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtGui import QColor

from app import theme
from app.glass.axis import Axis
from app.glass.curve_plot import CurvePlot
from app.glass.tone_plot import TonePlot
from engine.linearise import tone_curve
from engine.response import frost_of_fluence
from shared.profile import GENERIC, Knot, Machine, Response, Setting
from shared.recipe import Screen

WAIT_MS = 20_000
KNOTS = tuple(Knot(f, s, 0.05) for f, s in ((0.15, 0.0), (0.3, 0.2), (0.5, 0.6), (1.0, 0.95)))
MEASURED = attrs.evolve(GENERIC, name="My glass", origin="measured", knots=KNOTS)


def shown(qtbot, plot, width=460, height=320):
    qtbot.addWidget(plot)
    plot.resize(width, height)
    plot.show()
    return plot


@pytest.fixture
def plot(qtbot):
    return shown(qtbot, CurvePlot())


@pytest.fixture
def tones(qtbot):
    plot = shown(qtbot, TonePlot())
    yield plot
    plot.stop()


def light_near(plot, place, colour=theme.TEXT, reach=3):
    """Whether a pixel of a colour lies within a few px of a place."""
    image, wanted = plot.grab().toImage(), QColor(colour)
    return any(
        abs(
            image.pixelColor(round(place.x()) + x, round(place.y()) + y).lightness()
            - wanted.lightness()
        )
        < 40
        for x in range(-reach, reach + 1)
        for y in range(-reach, reach + 1)
    )


@given(st.floats(1e-4, 100.0), st.floats(1.5, 1e6), st.integers(2, 12))
def test_ticks_lie_on_the_axis_and_rise(low, ratio, most):
    axis = Axis(low, low * ratio, by_decades=True)
    ticks = axis.ticks(most)
    assert len(ticks) <= most
    assert ticks == sorted(set(ticks))
    assert all(0.0 <= axis.share(tick) <= 1.0 for tick in ticks)


def test_an_axis_of_decades_is_even_in_the_logarithm():
    axis = Axis(0.1, 10.0, by_decades=True)
    assert [axis.share(v) for v in (0.01, 0.1, 1.0, 10.0, 99.0)] == pytest.approx([0, 0, 0.5, 1, 1])


@pytest.mark.parametrize("fluence", [0.3, 0.4, 0.6])
def test_the_curve_is_drawn_where_the_engine_has_it(plot, fluence):
    frost = float(frost_of_fluence(fluence, GENERIC))
    assert light_near(plot, plot.place_of(fluence, frost))
    assert not light_near(plot, plot.place_of(fluence, 1.0 - frost / 2.0 if frost < 0.5 else 0.3))


def test_a_measured_curve_is_drawn_with_its_points_and_their_scatter(plot):
    before = plot.grab().toImage()
    plot.show_profile(MEASURED)
    for knot in KNOTS[1:3]:
        tip = plot.place_of(knot.fluence_j_mm2, knot.frost + knot.scatter)
        assert light_near(plot, tip, reach=1)
    assert plot.grab().toImage() != before
    assert "4 measured points" in plot.accessibleDescription()
    assert "measured" in plot.accessibleDescription()


def test_the_powers_of_the_setting_are_marked_and_told(plot):
    for percent in (10.0, 45.0):
        x = plot.place_of(GENERIC.fluence_j_mm2(percent), 0.0).x()
        place = plot.place_of(1.0, 0.25)
        place.setX(x)
        assert light_near(plot, place, reach=1)
    words = plot.accessibleDescription()
    assert "Least power 10 %: 0.2 J/mm\u00b2" in words
    assert "flakes off beyond 1.6" in words


def test_a_power_that_does_not_fire_is_told(plot):
    plot.show_profile(attrs.evolve(GENERIC, setting=Setting(power_min_pct=5.0)))
    assert "Least power 5 %: the tube does not fire" in plot.accessibleDescription()


def test_the_photos_tones_stand_where_they_are_burnt(plot):
    before = plot.grab().toImage()
    counts = [0.0] * 101
    counts[20:31] = [9.0] * 11
    plot.set_tones(counts)
    after = plot.grab().toImage()
    within, without = (plot.place_of(fluence, 0.06).toPoint() for fluence in (0.33, 0.7))
    assert float(frost_of_fluence(0.33, GENERIC)) == pytest.approx(0.25, abs=0.06)
    assert after.pixelColor(within) != before.pixelColor(within)
    assert after.pixelColor(without) == before.pixelColor(without)
    assert "The photo's tones need" in plot.accessibleDescription()
    plot.set_tones([])
    assert plot.grab().toImage() == before
    assert "tones need" not in plot.accessibleDescription()


def test_a_second_profile_has_a_line_of_its_own_and_a_legend(plot):
    hard = attrs.evolve(GENERIC, name="Hard glass", response=Response(slope=40.0))
    plot.show_profile(GENERIC, hard)
    first, second = plot.lines
    assert first.name == f"{GENERIC.name} (starting guess)"
    assert second.name == "Hard glass (starting guess)"
    assert first.pen().dashPattern() != second.pen().dashPattern()
    assert first.pen().color() != second.pen().color()
    assert "Beside it: Hard glass" in plot.accessibleDescription()
    fluence = 0.45
    assert light_near(
        plot, plot.place_of(fluence, float(frost_of_fluence(fluence, hard))), theme.QUIET, reach=6
    )


@pytest.mark.parametrize(
    "profile",
    [
        GENERIC,
        MEASURED,
        attrs.evolve(GENERIC, machine=Machine(rated_w=1000.0, firing_floor_pct=60.0)),
        attrs.evolve(GENERIC, response=Response(1e-4, 50.0, 1.0, 1000.0)),
        attrs.evolve(GENERIC, setting=Setting(speed_mm_s=5000.0, pitch_mm=1.0)),
    ],
)
def test_no_two_marks_are_written_over_each_other(qtbot, profile):
    plot = shown(qtbot, CurvePlot(), 280, 168)
    plot.show_profile(profile)
    placed = [(room.translated(0, row * room.height()), mark) for mark, room, row in plot._labels()]
    assert len(placed) >= 1
    for i, (room, _) in enumerate(placed):
        assert room.left() >= 0.0
        assert room.right() <= plot.width()
        assert not any(room.adjusted(1, 1, -1, -1).intersects(other) for other, _ in placed[:i])
    assert plot.area().height() > 50


def test_the_tone_curve_comes_when_it_is_reckoned(tones, qtbot):
    screen = Screen(kind="diffusion")
    tones.show_screen(GENERIC, screen, 0.1)
    assert "reckoning" in tones.message
    qtbot.waitUntil(lambda: tones.shown is not None, timeout=WAIT_MS)
    assert tones.message == ""
    curve = tone_curve(GENERIC, screen, 0.1)
    half = float(curve.frost[curve.frost.size // 2])
    assert light_near(tones, tones.place_of(0.5, half))
    assert "Error diffusion, reckoned" in tones.accessibleDescription()


def test_only_the_newest_screen_is_shown(tones, qtbot):
    tones.show_screen(GENERIC, Screen(kind="bluenoise"), 0.12)
    tones.show_screen(GENERIC, Screen(kind="continuous"), 0.12)
    qtbot.waitUntil(lambda: tones.shown is not None, timeout=WAIT_MS)
    assert tones.accessibleDescription().startswith("Continuous")


def test_a_gap_above_bare_glass_is_marked(tones, qtbot):
    profile = attrs.evolve(GENERIC, setting=Setting(power_min_pct=20.0))
    tones.show_screen(profile, Screen(kind="continuous"), 0.1)
    qtbot.waitUntil(lambda: tones.shown is not None, timeout=WAIT_MS)
    gap = tone_curve(profile, Screen(kind="continuous"), 0.1).least
    assert gap > 0.3
    image = tones.grab().toImage()
    place = tones.place_of(0.0, gap / 2.0).toPoint()
    assert image.pixelColor(place.x() + 1, place.y()) == QColor(theme.WARN)


def test_nothing_is_reckoned_while_nobody_looks(tones, qtbot):
    tones.hide()
    tones.show_screen(GENERIC, Screen(kind="continuous"), 0.11)
    qtbot.wait(50)
    assert tones.shown is None
    tones.show()
    qtbot.waitUntil(lambda: tones.shown is not None, timeout=WAIT_MS)


def test_the_axes_span_the_area(plot):
    area, axis = plot.area(), plot.axis
    middle = (axis.low * axis.high) ** 0.5
    assert plot.place_of(axis.low, 0.0).toTuple() == pytest.approx(area.bottomLeft().toTuple())
    assert plot.place_of(axis.high, 1.0).toTuple() == pytest.approx(area.topRight().toTuple())
    assert plot.place_of(middle, 0.5).toTuple() == pytest.approx(area.center().toTuple())
    assert axis.low < GENERIC.response.threshold_j_mm2
    assert axis.high > GENERIC.response.flaking_j_mm2
