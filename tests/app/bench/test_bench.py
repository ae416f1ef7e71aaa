"""The bench as a user has it: steps, values, refusals, keys."""

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import (
    QApplication,
    QPushButton,
)

from shared.recipe import Recipe, all_fields
from tests.app.bench.parts import KEY, LEFT, NAMES, Desk, body, header, settle


def test_one_step_is_open_at_a_time(bench, qtbot):
    opened = []
    bench.step_opened.connect(opened.append)
    for name in NAMES:
        qtbot.mouseClick(header(bench, name), LEFT)
        settle()
        assert [n for n in NAMES if body(bench, n) and body(bench, n).isVisible()] == [name]
        assert bench.open_name == name
    assert opened == NAMES[1:]


def test_headers_go_by_keys(bench, qtbot):
    header(bench, "photo").setFocus()
    qtbot.keyClick(header(bench, "photo"), KEY.Key_Up)
    assert header(bench, "photo").hasFocus()
    qtbot.keyClick(header(bench, "photo"), KEY.Key_Down)
    assert header(bench, "plate").hasFocus()
    qtbot.keyClick(header(bench, "plate"), KEY.Key_Return)
    assert bench.open_name == "plate"
    qtbot.keyClick(header(bench, "plate"), KEY.Key_Down)
    qtbot.keyClick(header(bench, "grey"), KEY.Key_Space)
    assert bench.open_name == "grey"


def test_a_step_is_filled_when_it_is_first_opened_and_shows_what_was_told_before(bench, desk):
    tone = bench._steps["tone"]
    desk.show(Recipe().changed(tone__lift=0.7, plate__margin_mm=12.7))
    bench.show_units("in")
    bench.set_curve_shape(lambda _: [0.0, 0.25, 1.0])
    bench.set_curve_histogram([1.0, 3.0])
    assert not tone.controls
    bench.open_step("tone")
    assert bench.control("tone.lift").value == 0.7
    assert tone.reset.isEnabled()
    editor = bench.control("tone.curve").editor
    assert editor.height_at(0.5) == 0.25
    assert editor._counts == [1.0, 3.0]
    assert bench.control("plate.margin_mm").field.text() == "0.50 in"
    assert desk.told == []
    made = dict(tone.controls)
    bench.open_step("plate")
    bench.open_step("tone")
    assert tone.controls == made


def test_every_field_of_the_recipe_has_a_control(bench):
    for key, info in all_fields():
        control = bench.control(key)
        assert control.key == key
        assert info.help in control.toolTip()


def test_a_dragged_slider_reaches_the_recipe_as_one_change(bench, desk, qtbot):
    bench.open_step("tone")
    settle()
    slider = bench.control("tone.lift").slider
    middle = slider.height() // 2
    qtbot.mousePress(slider, LEFT, pos=QPoint(round(slider.x_of(0.25)), middle))
    for fraction in (0.4, 0.5, 0.6):
        qtbot.mouseMove(slider, pos=QPoint(round(slider.x_of(fraction)), middle))
    qtbot.mouseRelease(slider, LEFT, pos=QPoint(round(slider.x_of(0.6)), middle))
    assert desk.recipe.tone.lift == pytest.approx(0.6, abs=0.011)
    assert desk.told[0] == ("started", "tone.lift")
    assert desk.told[-1] == ("finished", "tone.lift")
    assert [t[0] for t in desk.told].count("started") == 1


def test_showing_a_recipe_reports_nothing(bench, desk):
    desk.show(
        Recipe().with_values(
            {
                "tone.lift": 0.9,
                "grey.method": "skin",
                "grey.area": (0.1, 0.1, 0.5, 0.5),
                "plate.etched": "front",
                "output.eight_bit": True,
                "photo.matte": "#ffffff",
                "tone.curve": ((0.0, 0.0), (0.4, 0.6), (1.0, 1.0)),
            }
        )
    )
    assert desk.told == []
    for key, _ in all_fields():
        assert bench.control(key).value == desk.recipe.get(key)


def test_fields_without_effect_are_hidden(bench):
    Desk(bench)
    bench.open_step("grey")
    settle()
    control = bench.control("grey.method")
    shown = {}
    for number, option in enumerate(control.info.options):
        control.picker.setCurrentIndex(number)
        shown[option.value] = {
            key
            for key, info in all_fields()
            if key.startswith("grey.") and info.when and bench.control(key).isVisible()
        }
    assert shown["mix"] == {"grey.red", "grey.green", "grey.blue"}
    assert shown["layered"] == {"grey.record", "grey.strength"}
    assert shown["skin"] == {"grey.area"}
    assert shown["lightness"] == set()


def test_a_double_click_on_a_label_resets_the_field(bench, desk, qtbot):
    desk.show(Recipe().with_values({"tone.lift": 0.9}))
    bench.open_step("tone")
    settle()
    qtbot.mouseDClick(bench.control("tone.lift").label, LEFT)
    assert desk.recipe == Recipe()
    assert bench.control("tone.lift").field.text() == "25 %"


def test_a_step_is_reset_by_its_button(bench, desk, qtbot):
    desk.show(Recipe().with_values({"plate.width_mm": 300.0, "placement.scale": 2.0}))
    bench.open_step("plate")
    settle()
    button = bench._steps["plate"].reset
    qtbot.mouseClick(button, LEFT)
    assert desk.recipe == Recipe()
    assert not button.isEnabled()


def test_summaries_follow(bench, desk):
    summary = {name: header(bench, name) for name in NAMES}
    assert summary["plate"].summary == "200 × 250 mm, 0.1000 mm"
    assert summary["grey"].summary == "Lightness"
    desk.show(
        Recipe().with_values(
            {
                "grey.method": "green",
                "screen.kind": "continuous",
                "tone.curve": ((0.0, 0.1), (1.0, 1.0)),
            }
        )
    )
    assert summary["grey"].summary == "Green record"
    assert summary["screen"].summary == "Continuous"
    assert summary["output"].summary == "8 bits a pixel"
    assert summary["tone"].summary.endswith("curve")
    desk.show(Recipe().with_values({"screen.kind": "threshold", "screen.level": 0.3}))
    assert summary["screen"].summary == "Line art at 30 %"
    assert summary["output"].summary == "1 bit a pixel"
    bench.show_units("in")
    assert summary["plate"].summary == "7.874 × 9.8425 in, 254 ppi"


def test_a_changed_step_is_marked_and_says_so(bench, desk):
    assert not any(header(bench, name).is_changed for name in NAMES)
    desk.show(Recipe().with_values({"placement.turn_deg": 3.0}))
    assert [name for name in NAMES if header(bench, name).is_changed] == ["plate"]
    assert "changed" in header(bench, "plate").accessibleDescription()


def test_a_summary_of_ones_own_stays(bench, desk):
    bench.set_summary("photo", "portrait.jpg, 24 MP")
    desk.show(Recipe().with_values({"photo.matte": "#ffffff"}))
    assert header(bench, "photo").summary == "portrait.jpg, 24 MP"


def test_a_refusal_is_told_under_the_control_and_the_value_comes_back(bench, desk, qtbot):
    bench.open_step("plate")
    settle()
    field = bench.control("plate.margin_mm").field
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, "150")
    qtbot.keyClick(field, KEY.Key_Return)
    line = bench._steps["plate"]._problems["plate.margin_mm"]
    assert line.isVisible()
    assert "margin leaves no room" in line.text()
    assert field.text() == "6.0 mm"
    assert desk.recipe == Recipe()
    field.selectAll()
    qtbot.keyClicks(field, "8")
    qtbot.keyClick(field, KEY.Key_Return)
    assert not line.isVisible()
    assert desk.recipe.plate.margin_mm == 8.0


def test_a_refusal_goes_away_by_itself(bench):
    bench.open_step("plate")
    bench.show_problem("plate.margin_mm", "Make the margin smaller.")
    line = bench._steps["plate"]._problems["plate.margin_mm"]
    assert line.clock.isActive()
    line.clock.timeout.emit()
    assert not line.isVisible()


def test_a_region_is_asked_for_and_called_off(bench, desk, qtbot):
    desk.show(Recipe().with_values({"grey.method": "skin"}))
    bench.open_step("grey")
    settle()
    asked = []
    bench.region_wanted.connect(lambda key, on: asked.append((key, on)))
    qtbot.mouseClick(bench.control("grey.area").drag, LEFT)
    bench.end_region()
    assert asked == [("grey.area", True), ("grey.area", False)]


def test_added_widgets_stand_where_they_were_put(bench, qtbot):
    top, bottom = QPushButton("Open a photo..."), QPushButton("Below")
    bench.add_to_step("photo", top, "top")
    bench.add_to_step("photo", bottom, "bottom")
    settle()
    control = bench.control("photo.matte")
    heights = [w.mapTo(bench, QPoint(0, 0)).y() for w in (top, control, bottom)]
    assert heights == sorted(heights)
    header(bench, "photo").setFocus()
    seen = []
    for _ in range(3):
        qtbot.keyClick(QApplication.focusWidget(), KEY.Key_Tab)
        seen.append(QApplication.focusWidget())
    assert seen == [top, control.button, bottom]


def test_the_curve_is_drawn_with_what_the_bench_is_given(bench):
    bench.set_curve_shape(lambda _: [(i / 100) ** 2 for i in range(101)])
    bench.set_curve_histogram([1.0] * 256)
    editor = bench.control("tone.curve").editor
    assert editor.height_at(0.5) == pytest.approx(0.25, abs=1e-3)
