"""The histogram: what it paints, says and reports."""

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor

from app import theme
from app.compare.histogram import BINS, HistogramView
from app.qimage import array_from_image

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def view(qtbot):
    view = HistogramView()
    qtbot.addWidget(view)
    view.resize(2 * BINS + 8, view.height())
    view.show()
    return view


def only(**counts):
    tones = [0] * BINS
    for tone, count in counts.items():
        tones[int(tone[1:])] = count
    return tones


def colour_at(view, x, y):
    rgba = array_from_image(view.grab().toImage())
    return QColor(*(int(v) for v in rgba[round(y), round(x), :3])).name()


def heights(view):
    """How many pixels tall each tone is drawn."""
    rgba = array_from_image(view.grab().toImage())[..., 1]
    plot = view.plot.toRect()
    return [
        int((rgba[plot.top() : plot.bottom() + 1, plot.left() + 2 * tone] > 120).sum())
        for tone in range(BINS)
    ]


def test_tones_stand_where_they_belong_in_root_scale(view):
    view.set_data(only(_40=100, _200=400), 0.0, 0.0)
    tall = heights(view)
    assert tall[200] == pytest.approx(view.plot.height(), abs=1.5)
    assert tall[40] == pytest.approx(view.plot.height() / 2, abs=1.5)
    assert sum(tall) == tall[40] + tall[200]


def test_clipped_ends_do_not_press_the_rest_flat(view):
    view.set_data(only(_0=10**6, _120=100, _255=10**6), 0.2, 0.2)
    tall = heights(view)
    assert tall[0] == tall[255] == tall[120] == pytest.approx(view.plot.height(), abs=1.5)


def test_it_follows_live(view):
    view.set_data(only(_40=1), 0.0, 0.0)
    assert heights(view)[40] > 0
    view.set_data(only(_90=1), 0.0, 0.0)
    assert heights(view)[40] == 0
    assert heights(view)[90] > 0
    view.clear()
    assert max(heights(view)) == 0


def test_the_ends_say_what_is_lost_and_warn_above_one_percent(view):
    view.set_data(only(_40=1), 0.012, 0.004)
    assert view.words() == ("bare 1.2 %", "full frost 0.4 %")
    words = array_from_image(view.grab().toImage())[int(view.plot.bottom()) + 2 :, :, :3]
    amber = (abs(words.astype(int) - QColor(theme.WARN).getRgb()[:3]).sum(axis=2) < 30).any(axis=0)
    half = amber.size // 2
    assert amber[:half].any()
    assert not amber[half:].any()
    view.set_data(only(_40=1), 0.01, 0.3)
    words = array_from_image(view.grab().toImage())[int(view.plot.bottom()) + 2 :, :, :3]
    amber = (abs(words.astype(int) - QColor(theme.WARN).getRgb()[:3]).sum(axis=2) < 30).any(axis=0)
    assert not amber[:half].any()
    assert amber[half:].any()


def test_the_mark_follows_the_pixel_under_the_pointer(view):
    view.set_data(only(_10=1), 0.0, 0.0)
    y = view.plot.center().y()
    x = round(view.x_of(0.5))
    before = colour_at(view, x, y)
    view.set_mark(0.5)
    assert colour_at(view, x, y) != before
    view.set_mark(None)
    assert colour_at(view, x, y) == before


def test_the_points_are_marked(view):
    view.set_data(only(_128=1), 0.0, 0.0, 0.25, 0.75)
    for point in (0.25, 0.75):
        assert colour_at(view, view.x_of(point), view.plot.top() + 2) != theme.PANE
    view.set_data(only(_128=1), 0.0, 0.0)
    assert colour_at(view, view.x_of(0.25), view.plot.top() + 2) == theme.PANE


def test_it_is_told_in_words(view):
    assert view.accessibleDescription() == "No picture yet"
    view.set_data(only(_51=10), 0.012, 0.0, 0.1, 0.9)
    assert view.accessibleDescription() == (
        "bare 1.2 %, full frost 0.0 %, mean tone 20.0 %, "
        "bare-glass point 10.0 %, full-frost point 90.0 %"
    )


def drag(qtbot, view, start, end):
    y = round(view.plot.center().y())
    qtbot.mousePress(view, LEFT, pos=QPoint(round(view.x_of(start)), y))
    qtbot.mouseMove(view, QPoint(round(view.x_of(end)), y))
    qtbot.mouseRelease(view, LEFT, pos=QPoint(round(view.x_of(end)), y))


def listen(view):
    heard = []
    view.point_began.connect(lambda: heard.append("began"))
    view.bare_point_moved.connect(lambda tone: heard.append(("bare", tone)))
    view.full_point_moved.connect(lambda tone: heard.append(("full", tone)))
    view.point_ended.connect(lambda: heard.append("ended"))
    return heard


@pytest.mark.parametrize(
    ("start", "end", "which", "tone"),
    [
        (0.1, 0.3, "bare", 0.3),
        (0.9, 0.8, "full", 0.8),
        (0.1, 0.95, "bare", 0.6),
        (0.9, 0.02, "full", 0.4),
    ],
)
def test_a_point_is_dragged_within_its_limits(qtbot, view, start, end, which, tone):
    view.set_data(only(_128=1), 0.0, 0.0, 0.1, 0.9)
    heard = listen(view)
    drag(qtbot, view, start, end)
    assert heard[0] == "began"
    assert heard[-1] == "ended"
    assert [what[0] for what in heard[1:-1]] == [which] * (len(heard) - 2)
    assert heard[-2][1] == pytest.approx(tone, abs=0.003)


def test_a_drag_beside_the_points_does_nothing(qtbot, view):
    view.set_data(only(_128=1), 0.0, 0.0, 0.1, 0.9)
    heard = listen(view)
    drag(qtbot, view, 0.5, 0.6)
    assert heard == []


def test_any_other_number_of_counts_is_refused(view):
    with pytest.raises(ValueError, match="256"):
        view.set_data([1, 2, 3], 0.0, 0.0)
