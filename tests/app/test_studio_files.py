"""Ways in and out: open, drop, paste, recent, sessions, recipes, and closing at any moment."""

import shutil

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent, QGuiApplication, QImage
from PySide6.QtWidgets import QApplication, QMessageBox, QPushButton

from app import demo, launch
from app.journal import JOURNAL_DELAY_MS
from app.session import Session

LEFT = Qt.MouseButton.LeftButton
COPY = Qt.DropAction.CopyAction
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
KEY = Qt.Key


def files(*paths):
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    return data


def drag_over(studio, data):
    event = QDragEnterEvent(
        studio.rect().center(), COPY, data, LEFT, Qt.KeyboardModifier.NoModifier
    )
    QApplication.sendEvent(studio, event)
    return event.isAccepted()


def drop(studio, data):
    assert drag_over(studio, data)
    spot = QPointF(studio.rect().center())
    event = QDropEvent(spot, COPY, data, LEFT, Qt.KeyboardModifier.NoModifier)
    QApplication.sendEvent(studio, event)


def click_answer(desk, words):
    def click(box):
        assert isinstance(box, QMessageBox)
        found = [b for b in box.buttons() if b.text().replace("&", "") == words]
        desk.qtbot.mouseClick(found[0], LEFT)

    desk.answer(click)


def button(widget, words):
    return next(b for b in widget.findChildren(QPushButton) if b.text() == words and b.isVisible())


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
    assert drag_over(studio, files(photo))
    assert studio.dropping.sign.isVisible()
    assert "portrait.png" in studio.dropping.sign.words
    desk.do(lambda: drop(studio, files(photo)))
    assert not studio.dropping.sign.isVisible()
    assert studio.session.prepared.photo.path == photo


def test_drop_sign_goes_when_the_drag_leaves(desk, photo):
    drag_over(desk.studio, files(photo))
    QApplication.sendEvent(desk.studio, QDragLeaveEvent())
    assert not desk.studio.dropping.sign.isVisible()


@pytest.mark.parametrize("name", ["notes.pdf", "movie.mp4", "folder"])
def test_wrong_kinds_are_refused_before_they_are_dropped(desk, tmp_path, name):
    path = tmp_path / name
    path.mkdir() if name == "folder" else path.write_bytes(b"x")
    assert not drag_over(desk.studio, files(path))
    assert not desk.studio.dropping.sign.isVisible()


def test_of_several_dropped_files_the_first_usable_is_opened_and_said(desk, tmp_path, photo):
    other = tmp_path / "other.pdf"
    other.write_bytes(b"x")
    desk.do(lambda: drop(desk.studio, files(other, photo)))
    assert desk.studio.session.prepared.photo.path == photo
    assert "2 files" in desk.notice()


def test_a_damaged_photo_is_a_sentence_and_the_session_stays(open_desk, tmp_path):
    desk = open_desk
    look = desk.grab()
    bad = tmp_path / "bad.jpg"
    bad.write_bytes(b"\xff\xd8\xff no picture")
    before = desk.studio.session.prepared
    drop(desk.studio, files(bad))
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
    QGuiApplication.clipboard().setMimeData(files(photo))
    desk.do(lambda: desk.qtbot.keyClick(desk.studio, KEY.Key_V, CTRL))
    assert desk.studio.session.prepared.photo.path == photo


def test_pasting_text_says_what_to_do(desk):
    QGuiApplication.clipboard().setText("hello")
    desk.studio.paste()
    assert "no picture" in desk.notice()


def test_the_newest_of_two_photos_wins(desk, tmp_path, make_photo):
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
    del tmp_path


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


def edit(desk, **values):
    named = {key.replace("__", "."): value for key, value in values.items()}
    desk.do(lambda: desk.studio.session.edit("A", named))


def save_as(desk, path):
    desk.choose_file(path)
    desk.qtbot.keyClick(desk.studio, KEY.Key_S, CTRL)


def test_saving_and_reopening_a_session(open_desk, tmp_path, photo):
    desk, studio = open_desk, open_desk.studio
    edit(desk, tone__lift=0.7)
    assert studio.isWindowModified()
    save_as(desk, tmp_path / "job")
    path = tmp_path / "job.rimetype"
    assert path.exists()
    assert not studio.isWindowModified()
    assert studio.windowTitle().startswith("job.rimetype")
    edit(desk, tone__lift=0.1)
    assert studio.isWindowModified()
    desk.do(studio.session.undo)
    assert not studio.isWindowModified()
    desk.do(lambda: drop(studio, files(path)))
    assert studio.session.recipe("A").tone.lift == 0.7
    assert studio.session.prepared.photo.path == photo
    assert not studio.isWindowModified()


def test_another_photo_does_not_take_the_sessions_file(open_desk, tmp_path, make_photo):
    desk, studio = open_desk, open_desk.studio
    save_as(desk, tmp_path / "job.rimetype")
    desk.open(make_photo("other.png"))
    assert studio.files.path is None
    assert studio.windowTitle().startswith("other.png")
    desk.do(studio.session.undo)
    assert studio.files.path == tmp_path / "job.rimetype"


def test_a_sessions_photo_that_moved_is_asked_for(open_desk, tmp_path, photo):
    desk, studio = open_desk, open_desk.studio
    edit(desk, tone__lift=0.7)
    save_as(desk, tmp_path / "job.rimetype")
    edit(desk, tone__lift=0.2)
    studio.session.mark_saved()
    elsewhere = tmp_path / "elsewhere" / "moved.png"
    elsewhere.parent.mkdir()
    shutil.move(photo, elsewhere)
    studio.files.open_any(tmp_path / "job.rimetype")
    assert "portrait.png is not where it was" in desk.notice()
    assert studio.session.recipe("A").tone.lift == 0.2

    def find():
        desk.choose_file(elsewhere)
        desk.qtbot.mouseClick(button(studio.notice, "Find the photo..."), LEFT)

    desk.do(find)
    assert studio.session.recipe("A").tone.lift == 0.7
    assert studio.session.prepared.photo.path == elsewhere
    assert studio.isWindowModified()


def test_a_sessions_photo_beside_its_file_is_found(open_desk, tmp_path, photo):
    desk, studio = open_desk, open_desk.studio
    save_as(desk, tmp_path / "job.rimetype")
    folder = tmp_path / "copied"
    folder.mkdir()
    shutil.move(photo, folder / photo.name)
    shutil.move(tmp_path / "job.rimetype", folder / "job.rimetype")
    desk.do(lambda: studio.files.open_any(folder / "job.rimetype"))
    assert studio.session.prepared.photo.path == folder / photo.name


def test_a_sessions_photo_that_changed_is_told(open_desk, tmp_path, photo, make_photo):
    desk, studio = open_desk, open_desk.studio
    save_as(desk, tmp_path / "job.rimetype")
    make_photo(photo.name, seed=9)
    desk.do(lambda: studio.files.open_any(tmp_path / "job.rimetype"))
    desk.until(lambda: "not the same picture" in desk.notice())


def test_a_file_that_is_no_session_is_a_sentence(open_desk, tmp_path):
    bad = tmp_path / "bad.rimetype"
    bad.write_text("{}")
    before = open_desk.studio.session.prepared
    open_desk.studio.files.open_any(bad)
    assert "not a Rimetype session" in open_desk.notice()
    assert open_desk.studio.session.prepared is before


def test_recipes_are_saved_loaded_and_dropped(open_desk, tmp_path):
    desk, studio = open_desk, open_desk.studio
    edit(desk, tone__lift=0.8)
    desk.choose_file(tmp_path / "mine")
    desk.qtbot.keyClick(studio, KEY.Key_L, CTRL | SHIFT)
    assert (tmp_path / "mine.json").exists()
    edit(desk, tone__lift=0.1)

    def load():
        desk.choose_file(tmp_path / "mine.json")
        desk.qtbot.keyClick(studio, KEY.Key_L, CTRL)

    desk.do(load)
    assert studio.recipe.tone.lift == 0.8
    assert studio.session.undo_name == "Recipe mine in A"
    edit(desk, tone__lift=0.1)
    desk.do(lambda: drop(studio, files(tmp_path / "mine.json")))
    assert studio.recipe.tone.lift == 0.8


def test_starting_recipes_keep_plate_and_placement(open_desk):
    desk, studio = open_desk, open_desk.studio
    plate = studio.recipe.plate
    use = button(studio.bench, "Use")
    desk.do(lambda: desk.qtbot.mouseClick(use, LEFT))
    assert studio.recipe.plate == plate
    assert studio.session.undo_name.startswith("Recipe ")


@pytest.mark.parametrize(
    ("words", "closed", "saved"),
    [("Save", True, True), ("Don't save", True, False), ("Cancel", False, False)],
)
def test_closing_with_unsaved_work_asks(open_desk, tmp_path, words, closed, saved):
    desk, studio = open_desk, open_desk.studio
    path = tmp_path / "job.rimetype"
    save_as(desk, path)
    edit(desk, tone__lift=0.7)
    click_answer(desk, words)
    assert studio.close() is closed
    assert studio.ended is closed
    assert ("0.7" in path.read_text()) is saved


def test_closing_without_work_asks_nothing(open_desk):
    assert open_desk.studio.close()
    assert open_desk.studio.ended


def test_closing_while_a_photo_is_opened(desk, make_photo):
    desk.studio.files.open_any(make_photo("big.png", rows=2000, columns=1500))
    assert desk.studio.opener.busy
    assert desk.studio.close()
    assert desk.studio.ended


def test_closing_while_panes_are_computed(open_desk):
    studio = open_desk.studio
    studio.session.edit("A", {"tone.lift": 0.9})
    studio.compare.viewport.zoom_one_to_one()
    studio.session.mark_saved()
    assert studio.close()
    assert studio.ended


def test_work_of_a_crash_is_offered_and_brought_back(open_desk, make_studio, photo):
    desk = open_desk
    edit(desk, tone__lift=0.65)
    desk.studio.journal.write()
    left = desk.studio.journal.path.read_bytes()
    lock = desk.studio.journal.path
    desk.studio.session.mark_saved()
    assert desk.studio.close()
    lock.write_bytes(left)

    studio = make_studio()
    launch.begin(studio, None)
    assert studio.recovery.isVisible()
    assert studio.session.prepared is None
    with desk.qtbot.waitSignal(studio.panes.settled):
        desk.qtbot.mouseClick(button(studio.recovery, "Bring it back"), LEFT)
    assert studio.session.recipe("A").tone.lift == 0.65
    assert studio.session.prepared.photo.path == photo
    assert studio.session.unsaved
    studio.session.mark_saved()
    assert JOURNAL_DELAY_MS > 0


def test_first_start_opens_the_demo_with_a_hint_that_goes_for_good(make_studio, qtbot, photo):
    studio = make_studio()
    if not demo.PORTRAIT.exists():
        launch.begin(studio, None)
        assert "without its demo portrait" in studio.notice.text
        return
    with qtbot.waitSignal(studio.panes.settled, timeout=20_000):
        launch.begin(studio, None)
    assert studio.hint.isVisible()
    qtbot.mouseClick(button(studio.hint, "Not again"), LEFT)
    assert not studio.hint.isVisible()
    assert studio.close()
    second = make_studio()
    launch.begin(second, None)
    assert second.session.prepared is None
    assert not second.opener.busy
    with qtbot.waitSignal(second.panes.settled, timeout=20_000):
        second.open_demo()
    assert not second.hint.isVisible()
    del photo


def test_a_missing_demo_is_a_sentence(studio, monkeypatch, tmp_path):
    monkeypatch.setattr(demo, "PORTRAIT", tmp_path / "nowhere.jpg")
    studio.open_demo()
    assert "without its demo portrait" in studio.notice.text
    assert not studio.hint.isVisible()
    assert isinstance(studio.session, Session)


def test_a_picture_of_the_studio(qtbot, home, nothing_left, photo, tmp_path, styled):
    del qtbot, home, nothing_left, styled
    launch.picture_of_studio(photo, tmp_path / "studio.png")
    with Image.open(tmp_path / "studio.png") as picture:
        assert picture.size == (1280, 720)
        assert len(set(picture.convert("L").crop((320, 100, 640, 600)).tobytes())) > 50
