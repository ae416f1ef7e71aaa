"""What is fitted at the machine now: asked once, kept, and held against the profile."""

import json

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from app.command import run
from app.fitted_file import fitted_path, keep_fitted, read_fitted, with_fitted
from app.glass.fitted_dialog import FittedDialog
from shared.profile import GENERIC
from shared.profile_file import dump_profile, profile_from_data
from shared.stale import stale
from shared.strip import read_strip
from tests.app.conftest import WAIT_MS

MEASURED = attrs.evolve(GENERIC, origin="measured", name="Mine")


def sentences(desk):
    return " ".join(label.text() for label in desk.studio.ticket.findChildren(QLabel))


def fitted_dialog(desk):
    desk.studio.dialogs.fitted()
    (dialog,) = (d for d in desk.studio.findChildren(FittedDialog) if d.isVisible())
    return dialog


def test_a_new_tube_marks_the_profile_on_the_ticket(open_desk, qtbot):
    studio = open_desk.studio
    open_desk.do(lambda: studio.session.set_profile(MEASURED))
    studio.fitted.suppose(MEASURED)
    assert "may not hold" not in sentences(open_desk)
    dialog = fitted_dialog(open_desk)
    dialog.fields["machine.tube"].setFocus()
    qtbot.keyClicks(dialog.fields["machine.tube"], "The second")
    qtbot.mouseClick(dialog.ok, Qt.MouseButton.LeftButton)
    assert "measured with another tube" in sentences(open_desk)
    assert read_fitted().machine.tube == "The second"
    studio.fitted.suppose(MEASURED)
    assert "measured with another tube" in sentences(open_desk)


def test_another_focus_marks_the_profile_on_the_ticket(open_desk, qtbot):
    studio = open_desk.studio
    focused = attrs.evolve(MEASURED, machine=attrs.evolve(MEASURED.machine, focus="surface"))
    open_desk.do(lambda: studio.session.set_profile(focused))
    dialog = fitted_dialog(open_desk)
    field = dialog.fields["machine.focus"]
    assert field.text() == "surface"
    field.selectAll()
    qtbot.keyClicks(field, "2 mm above")
    qtbot.mouseClick(dialog.ok, Qt.MouseButton.LeftButton)
    assert read_fitted().machine.focus == "2 mm above"
    assert "with another focus: then surface; now 2 mm above" in sentences(open_desk)


def test_a_figure_that_is_none_is_told_and_nothing_is_kept(open_desk, qtbot):
    dialog = fitted_dialog(open_desk)
    dialog.fields["machine.rated_w"].selectAll()
    qtbot.keyClicks(dialog.fields["machine.rated_w"], "many")
    assert not dialog.ok.isEnabled()
    assert "needs a number" in dialog.problem.text()
    dialog.reject()
    assert read_fitted() is None


def test_a_strip_is_made_for_what_is_fitted_now(open_desk, qtbot):
    studio = open_desk.studio
    open_desk.do(lambda: studio.session.set_profile(MEASURED))
    machine = attrs.evolve(
        MEASURED.machine, tube="The second", focus="2 mm above", firing_floor_pct=20.0
    )
    studio.fitted.keep(attrs.evolve(MEASURED, machine=machine))
    studio.strip.open()
    dialog = studio.dialogs._open
    qtbot.waitUntil(lambda: dialog.make.picture.strip is not None, timeout=WAIT_MS)
    planned = profile_from_data(dialog.make.picture.strip.profile)
    dialog.reject()
    assert planned.machine.tube == "The second"
    assert planned.machine.focus == "2 mm above"
    assert planned.machine.firing_floor_pct == MEASURED.machine.firing_floor_pct
    assert stale(attrs.evolve(planned, origin="measured"), machine, planned.sheet) == ()


def test_the_command_makes_a_strip_for_what_is_fitted_now(tmp_path, photo):
    keep_fitted(attrs.evolve(MEASURED, machine=attrs.evolve(MEASURED.machine, tube="The second")))
    words = ["strip", "make", photo, "-o", tmp_path / "strip", "--size", "110x150"]
    few = ["--power", "45/12", "--speed", "300", "--screens", "diffusion"]
    assert run([str(word) for word in [*words, *few]]) == 0
    strip = read_strip(tmp_path / "strip" / "strip.json")
    assert profile_from_data(strip.profile).machine.tube == "The second"


def test_a_tube_of_another_power_gets_the_same_watts():
    known = attrs.evolve(
        GENERIC, setting=attrs.evolve(GENERIC.setting, power_max_pct=50.0, power_min_pct=15.0)
    )
    for rated_w in (60.0, 100.0):
        machine = attrs.evolve(GENERIC.machine, rated_w=rated_w, firing_floor_pct=5.0)
        floor = attrs.evolve(known, machine=attrs.evolve(known.machine, firing_floor_pct=5.0))
        found = with_fitted(floor, attrs.evolve(known, machine=machine))
        for name in ("power_max_pct", "power_min_pct"):
            watts = getattr(known.setting, name) * known.machine.rated_w
            assert getattr(found.setting, name) * rated_w == pytest.approx(watts, rel=0.01)


@given(
    rated_w=st.floats(5.0, 400.0), floor=st.floats(0.0, 60.0), most=st.floats(1.0, 100.0),
    share=st.floats(0.1, 0.9),
)  # fmt: skip
def test_any_tube_gets_a_setting_that_it_has(rated_w, floor, most, share):
    setting = attrs.evolve(GENERIC.setting, power_max_pct=most, power_min_pct=share * most)
    machine = attrs.evolve(GENERIC.machine, firing_floor_pct=floor)
    known = attrs.evolve(GENERIC, setting=setting, machine=machine)
    now = attrs.evolve(GENERIC, machine=attrs.evolve(machine, rated_w=rated_w))
    found = with_fitted(known, now).setting
    assert 0.0 <= found.power_min_pct < found.power_max_pct <= 100.0
    if rated_w != machine.rated_w:
        assert found.power_min_pct >= floor


def test_a_damaged_file_counts_as_absent():
    keep_fitted(MEASURED)
    assert read_fitted().machine == MEASURED.machine
    fitted_path().write_text("{")
    assert read_fitted() is None


def test_a_place_that_cannot_be_written_is_told(open_desk):
    fitted_path().mkdir(parents=True)
    open_desk.studio.fitted.keep(MEASURED)
    assert open_desk.notice()
    assert open_desk.studio.fitted.now is None


def test_the_command_line_says_so_in_its_report(tmp_path, photo):
    keep_fitted(attrs.evolve(MEASURED, machine=attrs.evolve(MEASURED.machine, beam_mm=0.25)))
    profile, report = tmp_path / "mine.json", tmp_path / "report.json"
    profile.write_text(dump_profile(MEASURED), encoding="utf-8")
    words = ["plate", photo, "-o", tmp_path / "p.png", "--size", "40x50", "--profile", profile]
    assert run([str(word) for word in [*words, "--report", report]]) == 0
    cautions = json.loads(report.read_text(encoding="utf-8"))["cautions"]
    assert any("another lens" in caution["sentence"] for caution in cautions)
