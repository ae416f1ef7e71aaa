"""Where the user sees what the profile is worth: bench, ticket, and both proofs side by side."""

import attrs
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from app.glass.fitted_dialog import FittedDialog
from app.glass.profile_dialog import ProfileDialog
from shared.profile import GENERIC
from tests.app.conftest import WAIT_MS

MEASURED = attrs.evolve(GENERIC, origin="measured", name="The shop's float")


@pytest.fixture
def desk_on_glass(open_desk):
    """The step Glass, with a profile that was measured."""
    open_desk.do(lambda: open_desk.studio.session.set_profile(MEASURED))
    open_desk.studio.go_to_step("glass")
    return open_desk


def other_lens(profile):
    return attrs.evolve(profile, machine=attrs.evolve(profile.machine, beam_mm=0.25))


def summary(desk):
    return desk.studio.bench._steps["glass"].header.summary


def test_the_closed_step_names_the_profile(open_desk):
    assert summary(open_desk) == "starting guess"
    open_desk.do(lambda: open_desk.studio.session.set_profile(MEASURED))
    assert summary(open_desk) == "The shop's float"
    open_desk.do(open_desk.studio.session.undo)
    assert summary(open_desk) == "starting guess"


def test_the_ticket_names_the_profile_and_its_origin(desk_on_glass):
    words = [label.text() for label in desk_on_glass.studio.ticket.findChildren(QLabel)]
    assert "The shop's float: measured" in words


def test_another_lens_is_told_in_the_step_too(desk_on_glass):
    studio = desk_on_glass.studio
    panel = studio.glass.panel
    assert not panel.stale.isVisible()
    studio.fitted.keep(other_lens(MEASURED))
    assert panel.stale.isVisible()
    assert "another lens" in panel.stale.text()
    assert summary(desk_on_glass) == "\u26a0 stale: The shop's float"
    studio.fitted.keep(MEASURED)
    assert not panel.stale.isVisible()


def test_a_plate_of_another_thickness_is_told(desk_on_glass):
    studio = desk_on_glass.studio
    thicker = MEASURED.sheet.thickness_mm + 3.0
    desk_on_glass.do(lambda: studio.session.edit("A", {"plate.thickness_mm": thicker}))
    assert "on another thickness" in studio.glass.panel.stale.text()
    assert studio.glass.panel.stale.isVisible()


def test_what_is_fitted_is_asked_from_the_step(desk_on_glass, qtbot):
    studio = desk_on_glass.studio
    qtbot.mouseClick(studio.glass.panel.fitted, Qt.MouseButton.LeftButton)
    (dialog,) = studio.findChildren(FittedDialog)
    assert dialog.fields["sheet.kind"].text() == MEASURED.sheet.kind
    dialog.reject()


def test_the_menu_opens_the_form(open_desk):
    studio = open_desk.studio
    studio.menus._menus.actions["&Edit glass profile..."].trigger()
    (dialog,) = studio.findChildren(ProfileDialog)
    assert dialog.form.fields["name"].text() == GENERIC.name
    dialog.reject()


@pytest.mark.parametrize(
    ("strength", "left", "right", "counterpart"), [(0.8, "B", "A", 0.0), (0.0, "A", "B", 1.0)]
)
def test_with_and_without_compensation_side_by_side(
    open_desk, qtbot, strength, left, right, counterpart
):
    studio = open_desk.studio
    open_desk.do(lambda: studio.session.edit("A", {"glass.compensate": strength}))
    kept, replaced = studio.session.takes["A"], studio.session.takes["B"]
    open_desk.do(studio.glass.show_compensation)
    assert [pane.take for pane in studio.compare.panes] == [left, right]
    assert [pane.stage for pane in studio.compare.panes] == ["proof", "proof"]
    assert studio.take == "A"
    assert studio.session.takes["A"] == kept
    assert studio.session.takes["B"] == kept.changed(glass__compensate=counterpart)
    assert studio.compare.viewport.percent == pytest.approx(100.0)
    qtbot.waitUntil(lambda: all(studio.compare.frame(n) for n in (0, 1)), timeout=WAIT_MS)
    open_desk.do(studio.session.undo)
    assert studio.session.takes["B"] == replaced


def test_without_a_photo_there_is_nothing_to_compare(desk):
    desk.studio.glass.show_compensation()
    assert "Open a photo first" in desk.notice()
