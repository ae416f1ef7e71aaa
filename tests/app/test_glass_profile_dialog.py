"""Editing a glass profile as its user does it."""

import attrs
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog

from app.glass.profile_dialog import ProfileDialog
from app.settings import Settings
from shared.profile import GENERIC, Gain, Knot, ScreenGains, focus_diameter_mm
from shared.profile_fields import figures
from shared.profile_file import dump_profile, read_profile, starting_guesses
from tests.app.conftest import type_cell

KEY = Qt.Key
KNOTS = tuple(
    Knot(f, s, 0.05) for f, s in ((1.0, 0.951234567), (0.15, 0.0), (0.3, 0.2), (0.5, 0.6))
)
MEASURED = attrs.evolve(
    GENERIC,
    name="My glass",
    origin="measured",
    knots=KNOTS,
    gains=[ScreenGains("diffusion", [Gain(0.5, 0.6)])],
    spread_mm=0.0512345678,
)


@pytest.fixture
def open_dialog(qtbot, home, styled):
    del home, styled

    def make(profile):
        dialog = ProfileDialog(profile, Settings(), None)
        qtbot.addWidget(dialog)
        dialog.show()
        return dialog

    return make


def type_into(qtbot, field, text):
    field.selectAll()
    qtbot.keyClicks(field, text)


def type_point(qtbot, dialog, row, column, text):
    type_cell(qtbot, dialog.form.points.table, row, column, text)


@pytest.mark.parametrize("profile", [MEASURED, GENERIC, *starting_guesses().values()])
def test_a_profile_that_was_only_looked_at_stays_the_same(open_dialog, profile):
    dialog = open_dialog(profile)
    dialog.ok.click()
    assert dialog.result() == QDialog.DialogCode.Accepted
    assert dialog.profile == profile


def test_every_figure_has_a_field_with_a_name_help_and_range(open_dialog):
    dialog = open_dialog(GENERIC)
    for part in ("machine", "sheet", "setting", "response", "light"):
        for name, figure in figures(type(getattr(GENERIC, part))).items():
            field = dialog.form.fields[f"{part}.{name}"]
            assert field.accessibleName() == figure.label
            if figure.kind == "number":
                assert figure.reach in field.accessibleDescription()
    assert {"name", "note", "date", "spread_mm"} <= set(dialog.form.fields)


@pytest.mark.parametrize(
    ("key", "typed", "value"),
    [
        ("machine.rated_w", "80", 80.0),
        ("spread_mm", "0,07", 0.07),
        ("light.frost_reflectance", "35.5", 0.355),
        ("response.slope", "9", 9.0),
        ("sheet.kind", "grey float", "grey float"),
    ],
)
def test_a_typed_figure_is_taken_and_makes_it_entered_by_hand(
    open_dialog, qtbot, key, typed, value
):
    dialog = open_dialog(GENERIC)
    type_into(qtbot, dialog.form.fields[key], typed)
    part, _, name = key.rpartition(".")
    holder = getattr(dialog.profile, part) if part else dialog.profile
    assert getattr(holder, name) == pytest.approx(value)
    assert dialog.profile.origin == "entered by hand"
    assert dialog.origin.words.text() == "Entered by hand"


def test_another_name_or_note_leaves_a_measurement_measured(open_dialog, qtbot):
    dialog = open_dialog(MEASURED)
    type_into(qtbot, dialog.form.fields["name"], "Wet masked")
    type_into(qtbot, dialog.form.fields["note"], "May")
    assert (dialog.profile.name, dialog.profile.note) == ("Wet masked", "May")
    assert dialog.profile.origin == "measured"


def test_a_figure_put_back_brings_the_origin_back(open_dialog, qtbot):
    dialog = open_dialog(MEASURED)
    type_into(qtbot, dialog.form.fields["machine.rated_w"], "61")
    assert dialog.profile.origin == "entered by hand"
    type_into(qtbot, dialog.form.fields["machine.rated_w"], "60")
    assert dialog.profile == MEASURED


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        ("setting.power_min_pct", "60", "least power must be below"),
        ("machine.rated_w", "5000", "Rated power (rated_w) must lie between 1 and 1000 W"),
        ("light.frost_reflectance", "99", "must lie between 1 and 95 %"),
        ("spread_mm", "wide", "Spread of fracture needs a number"),
        ("spread_mm", "nan", "must lie between"),
        ("response.flaking_j_mm2", "0.3", "rise in this order"),
    ],
)
def test_a_problem_is_told_and_nothing_can_be_taken_over_meanwhile(
    open_dialog, qtbot, key, typed, words
):
    dialog = open_dialog(GENERIC)
    before = dialog.form.fields[key].text()
    type_into(qtbot, dialog.form.fields[key], typed)
    assert words in dialog.problem.text()
    assert not dialog.ok.isEnabled()
    assert not dialog.export_button.isEnabled()
    type_into(qtbot, dialog.form.fields[key], before)
    assert dialog.problem.text() == ""
    assert dialog.ok.isEnabled()
    assert dialog.profile == GENERIC


def test_cancel_leaves_by_the_other_door(open_dialog, qtbot):
    dialog = open_dialog(GENERIC)
    type_into(qtbot, dialog.form.fields["machine.rated_w"], "80")
    qtbot.keyClick(dialog, KEY.Key_Escape)
    assert dialog.result() == QDialog.DialogCode.Rejected


def test_the_plot_follows_what_is_typed(open_dialog, qtbot):
    dialog = open_dialog(GENERIC)
    before = dialog.plot.grab().toImage()
    type_into(qtbot, dialog.form.fields["response.slope"], "30")
    assert dialog.plot.profile == dialog.profile
    assert dialog.plot.grab().toImage() != before


def test_the_beam_comes_from_the_lens(open_dialog, qtbot):
    dialog = open_dialog(GENERIC)
    lens = dialog.form.lens
    assert not lens.isVisible()
    dialog.form.from_lens.click()
    assert lens.isVisible()
    for field, text in zip(lens.fields, ("38.1", "10", "1,3"), strict=True):
        type_into(qtbot, field, text)
    lens.use.click()
    assert dialog.profile.machine.beam_mm == pytest.approx(
        focus_diameter_mm(38.1, 10.0, 1.3), rel=5e-3
    )
    type_into(qtbot, lens.fields[1], "0")
    assert not lens.use.isEnabled()
    assert "must lie between" in lens.use.text()


def test_a_point_is_typed_as_fluence_and_its_power_follows(open_dialog, qtbot):
    dialog = open_dialog(MEASURED)
    table = dialog.form.points.table
    assert [table.item(r, 1).text() for r in range(4)] == ["0.15", "0.3", "0.5", "1"]
    assert table.item(1, 0).text() == "15"
    type_point(qtbot, dialog, 1, 1, "0,4")
    assert table.item(1, 0).text() == "20"
    assert sorted(k.fluence_j_mm2 for k in dialog.profile.knots) == [0.15, 0.4, 0.5, 1.0]
    assert max(k.frost for k in dialog.profile.knots) == 0.951234567
    assert dialog.profile.origin == "entered by hand"


def test_a_point_is_typed_as_power_and_its_fluence_follows(open_dialog, qtbot):
    dialog = open_dialog(MEASURED)
    type_point(qtbot, dialog, 1, 0, "25")
    assert dialog.profile.knots[1].fluence_j_mm2 == pytest.approx(0.5)
    type_into(qtbot, dialog.form.fields["setting.speed_mm_s"], "600")
    assert dialog.profile.knots[1].fluence_j_mm2 == pytest.approx(0.5)
    assert dialog.form.points.table.item(1, 0).text() == "50"


@pytest.mark.parametrize(
    ("column", "typed", "words"),
    [(2, "150", "Measured point 2: Frost"), (1, "some", "point 2 needs a number as fluence")],
)
def test_a_point_that_cannot_be_is_told(open_dialog, qtbot, column, typed, words):
    dialog = open_dialog(MEASURED)
    type_point(qtbot, dialog, 1, column, typed)
    assert words in dialog.problem.text()
    assert not dialog.ok.isEnabled()
    type_point(qtbot, dialog, 1, column, "0.3" if column == 1 else "20")
    assert dialog.ok.isEnabled()
    assert dialog.profile == MEASURED


def test_points_come_and_go_by_button_and_by_key(open_dialog, qtbot):
    dialog = open_dialog(GENERIC)
    points = dialog.form.points
    points.add.click()
    for _ in range(2):
        qtbot.keyClick(points.table, KEY.Key_Insert)
    assert len(dialog.profile.knots) == 3
    assert dialog.profile.measured_curve
    assert not dialog.form.fields["response.slope"].isEnabled()
    assert dialog.form.fields["response.flaking_j_mm2"].isEnabled()
    qtbot.keyClick(points.table, KEY.Key_Delete)
    points.remove.click()
    assert len(dialog.profile.knots) == 1
    assert dialog.form.fields["response.slope"].isEnabled()


def test_a_profile_goes_out_and_comes_in(open_dialog, qtbot, tmp_path):
    dialog = open_dialog(GENERIC)
    type_into(qtbot, dialog.form.fields["machine.rated_w"], "80")
    path = tmp_path / "mine.json"
    dialog.export_to(path, overwrite=False)
    assert "Saved mine.json" in dialog.problem.text()
    assert read_profile(path) == dialog.profile
    dialog.export_to(path, overwrite=False)
    assert "exists already" in dialog.problem.text()

    other = open_dialog(GENERIC)
    path.write_text(dump_profile(MEASURED), encoding="utf-8")
    other.import_from(path)
    assert other.profile == MEASURED
    assert other.form.fields["name"].text() == "My glass"
    path.write_text("{}", encoding="utf-8")
    other.import_from(path)
    assert "not a Rimetype glass profile" in other.problem.text()
    assert other.profile == MEASURED


def type_gain(qtbot, dialog, row, column, text):
    type_cell(qtbot, dialog.form.gains.points.table, row, column, text)


def choose_screen(dialog, kind):
    box = dialog.form.gains.chooser
    box.setCurrentIndex(box.findData(kind))
    box.activated.emit(box.currentIndex())


def test_dot_gain_is_typed_for_one_screen_and_kept_for_the_others(open_dialog, qtbot):
    dialog = open_dialog(MEASURED)
    assert dialog.form.gains.chooser.currentData() == "diffusion"
    type_gain(qtbot, dialog, 0, 1, "63")
    choose_screen(dialog, "bluenoise")
    assert dialog.form.gains.points.table.rowCount() == 0
    qtbot.keyClick(dialog.form.gains.points.table, KEY.Key_Insert)
    type_gain(qtbot, dialog, 0, 0, "40")
    dialog.ok.click()
    assert dialog.profile.gains_of("diffusion") == (Gain(0.5, 0.63),)
    assert dialog.profile.gains_of("bluenoise") == (Gain(0.4, 0.1),)
    assert dialog.profile.origin == "entered by hand"


def test_a_dot_gain_point_that_cannot_be_is_told_and_holds_the_screen(open_dialog, qtbot):
    dialog = open_dialog(MEASURED)
    type_gain(qtbot, dialog, 0, 1, "much")
    assert "Dot gain point 1 needs a number as frost" in dialog.problem.text()
    assert not dialog.ok.isEnabled()
    choose_screen(dialog, "mixed")
    assert dialog.form.gains.chooser.currentData() == "diffusion"
    type_gain(qtbot, dialog, 0, 1, "150")
    assert "Dot gain point 1" in dialog.problem.text()
    type_gain(qtbot, dialog, 0, 1, "60")
    assert dialog.ok.isEnabled()


def test_dot_gain_points_are_taken_away(open_dialog, qtbot):
    dialog = open_dialog(MEASURED)
    dialog.form.gains.points.table.setCurrentCell(0, 0)
    qtbot.keyClick(dialog.form.gains.points.table, KEY.Key_Delete)
    dialog.ok.click()
    assert dialog.profile.gains == ()
