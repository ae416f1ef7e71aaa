"""The windows above the studio: output, contact sheet, preferences, help; and the ticket."""

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QFrame, QPushButton, QTextBrowser

from app.contact_sheet import METHODS, ContactSheet
from app.help_pages import TextWindow
from app.making import Targets, write_plate
from app.output_dialog import OutputDialog
from app.preferences import Preferences
from engine.flow import prepare
from engine.photo import open_photo
from shared.units import percent

LEFT = Qt.MouseButton.LeftButton
CTRL = Qt.KeyboardModifier.ControlModifier
KEY = Qt.Key


def dialog_of(desk, kind):
    found = [d for d in desk.studio.findChildren(kind) if d.isVisible()]
    assert len(found) == 1
    return found[0]


@pytest.fixture
def output(open_desk, tmp_path):
    """The Output dialog, opened by the ticket's button, aimed at a fresh folder."""
    desk = open_desk
    desk.studio.settings.set_folder("output", tmp_path)
    desk.qtbot.mouseClick(desk.studio.ticket._output, LEFT)
    return dialog_of(desk, OutputDialog)


def write(desk, dialog):
    desk.qtbot.mouseClick(dialog.write, LEFT)


def test_writing_the_plate_with_everything_beside_it(open_desk, output, tmp_path, photo):
    for box in (output.look, output.proof, output.report):
        box.click()
    write(open_desk, output)
    open_desk.until(lambda: "read it back" in open_desk.notice())
    names = {path.name for path in tmp_path.iterdir() if path.name.startswith("portrait-")}
    assert names == {
        "portrait-plate.png",
        "portrait-plate-look.png",
        "portrait-plate-proof.png",
        "portrait-plate-ticket.json",
    }
    with Image.open(tmp_path / "portrait-plate.png") as plate:
        assert plate.size == (400, 500)
        assert plate.mode == "1"
    before = photo.read_bytes()
    other = tmp_path / "again.png"
    prepared = prepare(open_photo(photo))
    write_plate(prepared, open_desk.studio.recipe, Targets(other), lambda _: None)
    assert other.read_bytes() == (tmp_path / "portrait-plate.png").read_bytes()
    assert photo.read_bytes() == before


def test_an_existing_file_is_refused_then_replaced(open_desk, output, tmp_path):
    target = tmp_path / "portrait-plate.png"
    target.write_bytes(b"old")
    write(open_desk, output)
    assert "exists already" in output._problem.text()
    assert target.read_bytes() == b"old"
    output.replace.click()
    write(open_desk, output)
    open_desk.until(lambda: "read it back" in open_desk.notice())
    assert target.read_bytes() != b"old"


def test_the_photo_itself_is_never_written_over(open_desk, output, photo):
    before = photo.read_bytes()
    output.path.setText(str(photo))
    output.replace.click()
    write(open_desk, output)
    assert "the photo itself" in output._problem.text()
    assert photo.read_bytes() == before


def test_a_folder_that_is_not_there_is_a_sentence(open_desk, output, tmp_path):
    output.path.setText(str(tmp_path / "nowhere" / "plate.png"))
    write(open_desk, output)
    assert "There is no folder" in output._problem.text()
    assert not output._progress.isVisible()


@pytest.fixture
def large_output(open_desk, tmp_path):
    """The Output dialog of a plate that takes a while."""
    desk = open_desk
    desk.studio.settings.set_folder("output", tmp_path)
    values = {"plate.width_mm": 500.0, "plate.height_mm": 500.0, "plate.pitch_mm": 0.06}
    desk.do(lambda: desk.studio.session.edit("A", values))
    desk.qtbot.keyClick(desk.studio, KEY.Key_E, CTRL)
    return dialog_of(desk, OutputDialog)


def test_stopping_leaves_no_file(open_desk, large_output, tmp_path):
    write(open_desk, large_output)
    assert large_output._progress.isVisible()
    assert large_output._cancel.text() == "Stop"
    open_desk.qtbot.mouseClick(large_output._cancel, LEFT)
    open_desk.until(lambda: "Stopped" in large_output._problem.text())
    open_desk.until(large_output.write.isEnabled)
    assert not list(tmp_path.glob("portrait-*"))
    open_desk.qtbot.keyClick(large_output, KEY.Key_Escape)
    open_desk.until(lambda: not open_desk.studio.findChildren(OutputDialog))


def test_closing_while_writing(open_desk, large_output, tmp_path):
    write(open_desk, large_output)
    open_desk.studio.session.mark_saved()
    assert open_desk.studio.close()
    assert open_desk.studio.ended
    assert not list(tmp_path.glob(".rimetype-*"))


def test_output_without_a_photo_says_what_to_do(desk):
    desk.qtbot.keyClick(desk.studio, KEY.Key_E, CTRL)
    assert "Open a photo first" in desk.notice()
    assert not desk.studio.findChildren(OutputDialog)


@pytest.fixture
def sheet(open_desk):
    open_desk.studio.dialogs.contact_sheet()
    sheet = dialog_of(open_desk, ContactSheet)
    open_desk.until(lambda: len(sheet._names) == METHODS)
    return sheet


def test_contact_sheet_shows_every_grey_with_its_facts(open_desk, sheet):
    texts = [name.text() for name, _ in sheet._names.values()]
    assert len(texts) == METHODS
    assert "Lightness  (in A and B)" in texts
    open_desk.qtbot.keyClick(sheet, KEY.Key_Escape)
    open_desk.until(lambda: not open_desk.studio.findChildren(ContactSheet))


def test_any_grey_of_the_contact_sheet_goes_to_a_take(open_desk, sheet):
    desk = open_desk
    found = [
        b for b in sheet.findChildren(QPushButton) if b.accessibleName() == "Red record to take B"
    ]
    desk.qtbot.mouseClick(found[0], LEFT)
    assert desk.studio.session.recipe("B").grey.method == "red"
    assert desk.studio.session.undo_name == "Grey from the contact sheet in B"
    assert sheet._names["red"][0].text() == "Red record  (in B)"
    sheet.reject()


def test_closing_the_contact_sheet_while_it_is_made(open_desk):
    open_desk.studio.dialogs.contact_sheet()
    sheet = dialog_of(open_desk, ContactSheet)
    job = sheet._job
    assert job.isRunning()
    sheet.reject()
    assert job.isFinished()
    open_desk.until(lambda: not open_desk.studio.findChildren(ContactSheet))


def test_preferences_act_at_once(open_desk):
    desk = open_desk
    desk.qtbot.keyClick(desk.studio, KEY.Key_Comma, CTRL)
    dialog = dialog_of(desk, Preferences)
    desk.qtbot.keyClick(dialog.units, KEY.Key_Down)
    assert desk.studio.settings.inches
    assert desk.studio.ticket._values["Plate"].text() == "1.57 × 1.97 in"
    assert desk.studio.bench.control("plate.pitch_mm").field.suffix() == " ppi"
    dialog.limit.setFocus()
    dialog.limit.selectAll()
    desk.qtbot.keyClicks(dialog.limit, "100")
    desk.qtbot.keyClick(dialog, KEY.Key_Escape)
    assert not dialog.isVisible()
    assert desk.studio.settings.limit_mp == 100.0


@pytest.mark.parametrize(
    ("page", "words"),
    [
        ("cautions", "class 4"),
        ("keys", "Ctrl+Shift+Z or Ctrl+Y"),
        ("keys", "F9"),
        ("keys", "F10"),
        ("fields", "tone.lift"),
    ],
)
def test_help_pages_open_and_close_by_key(desk, page, words):
    getattr(desk.studio.dialogs, page)()
    window = dialog_of(desk, TextWindow)
    assert words in window.findChild(QTextBrowser).toPlainText()
    desk.qtbot.keyClick(window, KEY.Key_Escape)
    desk.until(lambda: not desk.studio.findChildren(QDialog))


def cautions(studio):
    return [box for box in studio.ticket.findChildren(QFrame, "caution") if box.isVisible()]


def test_ticket_warns_and_leads_to_the_step(open_desk):
    desk, studio = open_desk, open_desk.studio
    desk.do(lambda: studio.session.edit("A", {"plate.margin_mm": 6.0}))
    count = len(studio.ticket._said)
    desk.until(lambda: len(cautions(studio)) == count)
    desk.do(lambda: studio.session.edit("A", {"plate.margin_mm": 0.5}))
    desk.until(lambda: len(cautions(studio)) == count + 1)
    go = next(b for b in studio.ticket.findChildren(QPushButton) if b.text() == "Go to Plate")
    desk.qtbot.mouseClick(go, LEFT)
    assert studio.bench.open_name == "plate"
    assert studio.bench._steps["plate"].header.hasFocus()


def test_ticket_says_what_was_done_to_the_file(open_desk):
    desk, studio = open_desk, open_desk.studio
    assert "already mirrored and inverted" in studio.ticket._handling.text()
    desk.do(lambda: studio.session.edit("A", {"plate.etched": "front", "plate.mark": "dark"}))
    assert "neither mirrored nor inverted" in studio.ticket._handling.text()


def test_shares_beyond_the_points_are_shown_whatever_the_panes_show(open_desk):
    desk, studio = open_desk, open_desk.studio
    desk.do(lambda: studio.session.edit("A", {"tone.bare_point": 0.4}))
    share = studio.panes.picture(0).beyond.bare
    assert 0.4 < share < 0.6
    assert f"{percent(share, 1)} to bare glass" in studio.parts._tone.text()
    assert np.sum(studio.panes.picture(0).greys) > 0
