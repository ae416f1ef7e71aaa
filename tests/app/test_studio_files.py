"""Ways in for a photo: open, drop, paste, recent; bad ones, large ones, see-through ones."""

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import QMimeData, Qt, QUrl
from PySide6.QtGui import QDragLeaveEvent, QGuiApplication, QImage
from PySide6.QtWidgets import QApplication

CTRL = Qt.KeyboardModifier.ControlModifier
KEY = Qt.Key


def test_opening_by_dialog(desk, photo):
    def open_it():
        desk.choose_file(photo)
        desk.qtbot.keyClick(desk.studio, KEY.Key_O, CTRL)

    desk.do(open_it)
    assert desk.studio.session.prepared.photo.path == photo
    assert desk.studio.session.undo_name == "Open portrait.png"
    assert not desk.studio.isWindowModified()
    assert desk.studio.windowTitle().startswith("portrait.png")


def test_opening_can_be_undone_and_done_again(open_desk, photo):
    desk = open_desk
    look = desk.grab()
    desk.qtbot.keyClick(desk.studio, KEY.Key_Z, CTRL)
    assert desk.studio.session.prepared is None
    assert desk.studio.compare.frame(0) is None
    assert not desk.studio.ticket._output.isEnabled()
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_Y, CTRL))
    assert desk.studio.session.prepared.photo.path == photo
    np.testing.assert_array_equal(desk.grab(), look)


def test_a_photo_dropped_anywhere_is_opened(desk, photo):
    studio = desk.studio
    assert desk.drag_over(photo)
    assert studio.dropping.sign.isVisible()
    assert "portrait.png" in studio.dropping.sign.words
    desk.do(lambda: desk.drop(photo))
    assert not studio.dropping.sign.isVisible()
    assert studio.session.prepared.photo.path == photo


def test_drop_sign_goes_when_the_drag_leaves(desk, photo):
    desk.drag_over(photo)
    QApplication.sendEvent(desk.studio, QDragLeaveEvent())
    assert not desk.studio.dropping.sign.isVisible()


@pytest.mark.parametrize("name", ["notes.pdf", "movie.mp4", "folder"])
def test_wrong_kinds_are_refused_before_they_are_dropped(desk, tmp_path, name):
    path = tmp_path / name
    path.mkdir() if name == "folder" else path.write_bytes(b"x")
    assert not desk.drag_over(path)
    assert not desk.studio.dropping.sign.isVisible()


def test_of_several_dropped_files_the_first_usable_is_opened_and_said(desk, tmp_path, photo):
    other = tmp_path / "other.pdf"
    other.write_bytes(b"x")
    desk.do(lambda: desk.drop(other, photo))
    assert desk.studio.session.prepared.photo.path == photo
    assert "2 files" in desk.notice()


def test_a_damaged_photo_is_a_sentence_and_the_session_stays(open_desk, tmp_path):
    desk = open_desk
    look = desk.grab()
    bad = tmp_path / "bad.jpg"
    bad.write_bytes(b"\xff\xd8\xff no picture")
    before = desk.studio.session.prepared
    desk.drop(bad)
    desk.until(lambda: "bad.jpg" in desk.notice())
    desk.until(lambda: not desk.studio.opener.busy)
    assert desk.studio.session.prepared is before
    desk.studio.notice.clear()
    desk.until(lambda: desk.grab().shape == look.shape and desk.at_rest())
    np.testing.assert_array_equal(desk.grab(), look)


def test_pasting_a_picture_and_finding_it_again_in_a_session(desk, home):
    image = QImage(60, 80, QImage.Format.Format_RGB32)
    image.fill(0xFF8844)
    QGuiApplication.clipboard().setImage(image)
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_V, CTRL))
    path = desk.studio.session.prepared.photo.path
    assert path.is_relative_to(home)
    assert path.exists()


def test_pasting_a_file_that_was_copied(desk, photo):
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(photo))])
    QGuiApplication.clipboard().setMimeData(data)
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_V, CTRL))
    assert desk.studio.session.prepared.photo.path == photo


def test_pasting_text_says_what_to_do(desk):
    QGuiApplication.clipboard().setText("hello")
    desk.studio.paste()
    assert "no picture" in desk.notice()


def test_the_newest_of_two_photos_wins(desk, make_photo):
    first, second = make_photo("first.png", rows=900), make_photo("second.png")
    studio = desk.studio

    def both():
        studio.files.open_any(first)
        studio.files.open_any(second)

    desk.do(both)
    desk.until(lambda: not studio.opener.busy)
    assert studio.session.prepared.photo.path == second
    assert [step.name for step in studio.session._steps].count("Open first.png") == 0
    assert not desk.notice()


def test_recent_list_opens_photos_and_forgets_missing_ones(desk, make_photo):
    here, gone = make_photo("here & there.png"), make_photo("gone.png")
    desk.open(gone)
    desk.open(here)
    gone.unlink()
    menus = desk.studio.menus
    menus._recent.aboutToShow.emit()
    here_action, gone_action = menus._recent.actions()[:2]
    assert here_action.text().startswith("here && there.png")
    assert "not there any more" in gone_action.text()
    gone_action.trigger()
    assert [path.name for path in desk.studio.settings.recent] == ["here & there.png"]
    desk.do(here_action.trigger)
    assert desk.studio.session.prepared.photo.path == here


def test_limit_in_megapixels_is_honoured(desk, tmp_path):
    large = tmp_path / "large.png"
    Image.new("L", (5000, 4000)).save(large)
    desk.studio.settings.limit_mp = 16.0
    desk.studio.files.open_any(large)
    desk.until(lambda: "megapixels" in desk.notice())
    assert desk.studio.session.prepared is None
    desk.studio.settings.limit_mp = 32.0
    desk.open(large)
    assert desk.studio.session.prepared.photo.megapixels == 20


def test_another_colour_behind_transparency_reads_the_photo_again(desk, tmp_path):
    path = tmp_path / "see-through.png"
    Image.new("RGBA", (40, 50), (255, 255, 255, 0)).save(path)
    desk.open(path)
    studio = desk.studio
    dark = desk.picture().mean()
    desk.do(lambda: studio.session.edit("A", {"photo.matte": "#ffffff"}))
    desk.until(lambda: studio.session.prepared.photo.pixels[0, 0, 0] == 255)
    desk.until(lambda: desk.picture().mean() > dark + 100)
    assert studio.session.recipe("B").photo.matte == "#ffffff"
    assert studio.session.undo_name == "Behind transparency in A"
    desk.do(studio.session.undo)
    assert studio.session.prepared.photo.pixels[0, 0, 0] == 0
    assert studio.session.recipe("B").photo.matte == "#000000"
    assert desk.picture().mean() == dark
    desk.do(studio.session.redo)
    desk.until(lambda: desk.picture().mean() > dark + 100)
    assert not studio.opener.busy
