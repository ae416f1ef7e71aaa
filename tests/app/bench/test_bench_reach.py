"""Every part of the bench can be reached, is named, and is shown whole."""

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QLabel,
)

from app import theme
from app.bench.bench import Bench
from app.bench.steps import STEPS
from shared.recipe import Recipe
from tests.app.bench.parts import KEY, NAMES, body, header, parts_to_reach, settle


@pytest.mark.parametrize("name", NAMES)
def test_every_header_stays_whole_in_a_low_window(bench, name):
    bench.resize(300, 560)
    bench.open_step(name)
    settle()
    assert bench.height() == 560
    for other in NAMES:
        row = header(bench, other)
        bottom = row.mapTo(bench, QPoint(0, row.height())).y()
        assert row.height() == row.sizeHint().height()
        assert bottom <= bench.height()


EXTREMES = [
    {"grey.method": "mix", "screen.kind": "threshold"},
    {"grey.method": "layered"},
    {"grey.method": "skin", "grey.area": (0.1, 0.1, 0.5, 0.5)},
]


@pytest.mark.parametrize("values", EXTREMES)
@pytest.mark.parametrize("name", NAMES)
def test_every_part_is_reached_by_tab_and_has_a_name(bench, desk, qtbot, name, values):
    desk.show(Recipe().with_values(values))
    bench.open_step(name)
    settle()
    wanted = set(parts_to_reach(bench))
    header(bench, "photo").setFocus()
    reached = {QApplication.focusWidget()}
    for _ in range(80):
        qtbot.keyClick(QApplication.focusWidget(), KEY.Key_Tab)
        reached.add(QApplication.focusWidget())
    for part in wanted:
        named = part.accessibleName() or (isinstance(part, QAbstractButton) and part.text())
        assert named, part
        group = part.group() if isinstance(part, QAbstractButton) else None
        assert part in reached or (group and group.checkedButton() in reached), part


def check_nothing_is_clipped(bench):
    """No label, field or button is smaller than its words need, and nothing sticks out."""
    content = body(bench, bench.open_name).widget()
    view = body(bench, bench.open_name).viewport()
    assert content.width() <= view.width()
    for label in content.findChildren(QLabel):
        if label.isVisible() and label.text():
            need = label.heightForWidth(label.width()) if label.wordWrap() else 0
            assert label.height() >= max(need, label.fontMetrics().height()), label.text()
            widest = max(label.text().split(), key=len) if label.wordWrap() else label.text()
            assert label.fontMetrics().horizontalAdvance(widest) <= label.width(), label.text()
    for field in content.findChildren(QAbstractSpinBox):
        if field.isVisible():
            room = field.lineEdit().width() - 8
            assert field.fontMetrics().horizontalAdvance(field.text()) <= room, field.text()
    for part in parts_to_reach(bench):
        if content.isAncestorOf(part):
            assert part.width() >= part.minimumSizeHint().width(), part
            right = part.mapTo(view, QPoint(part.width(), 0)).x()
            assert right <= view.width(), part


@pytest.mark.parametrize("values", EXTREMES)
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_clipped_at_300_px_with_a_larger_font(qtbot, qapp, name, values):
    before = qapp.font()
    larger = qapp.font()
    larger.setPointSizeF(larger.pointSizeF() * 1.25)
    qapp.setFont(larger)
    try:
        bench = Bench()
        qtbot.addWidget(bench)
        bench.resize(300, 720)
        bench.show()
        bench.show_recipe(Recipe().with_values(values))
        bench.open_step(name)
        bench.show_problem(STEPS[NAMES.index(name)].keys[0], "Choose a smaller number, such as 4.")
        settle()
        assert bench.width() == 300
        check_nothing_is_clipped(bench)
    finally:
        qapp.setFont(before)


def test_controls_stand_still_when_the_scroll_bar_comes(bench):
    bench.open_step("tone")
    bench.resize(300, 1400)
    settle()
    free = bench.control("tone.lift").width()
    bench.resize(300, 500)
    settle()
    assert body(bench, "tone").verticalScrollBar().isVisible()
    assert bench.control("tone.lift").width() == free


def test_the_open_step_and_focus_can_be_seen(bench):
    bench.open_step("grey")
    header(bench, "tone").setFocus()
    settle()
    image = bench.grab().toImage()
    ratio = image.devicePixelRatio()

    def colour(widget, x, y):
        place = widget.mapTo(bench, QPoint(x, y)) * ratio
        return image.pixelColor(place).name()

    assert colour(header(bench, "grey"), 1, 15) == theme.ACCENT
    assert colour(header(bench, "tone"), 150, 1) == theme.ACCENT
    assert colour(header(bench, "detail"), 150, 1) == theme.PANEL
