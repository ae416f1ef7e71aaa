"""Sessions and recipes on disk, closing at any moment, and what a start brings back."""

import shutil

import pytest
from PIL import Image
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMessageBox, QPushButton

from app import demo, launch

LEFT = Qt.MouseButton.LeftButton
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
KEY = Qt.Key


def button(widget, words):
    return next(b for b in widget.findChildren(QPushButton) if b.text() == words and b.isVisible())


def click_answer(desk, words):
    def click(box):
        assert isinstance(box, QMessageBox)
        found = [b for b in box.buttons() if b.text().replace("&", "") == words]
        desk.qtbot.mouseClick(found[0], LEFT)

    desk.answer(click)


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
    desk.do(lambda: desk.drop(path))
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
    desk.do(lambda: desk.drop(tmp_path / "mine.json"))
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
    journal = desk.studio.journal.path
    left = journal.read_bytes()
    desk.studio.session.mark_saved()
    assert desk.studio.close()
    journal.write_bytes(left)

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


def test_first_start_opens_the_demo_with_a_hint_that_goes_for_good(
    make_studio, qtbot, monkeypatch, photo
):
    monkeypatch.setattr(demo, "PORTRAIT", photo)
    studio = make_studio()
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


def test_a_missing_demo_is_a_sentence(studio, monkeypatch, tmp_path):
    monkeypatch.setattr(demo, "PORTRAIT", tmp_path / "nowhere.jpg")
    studio.open_demo()
    assert "without its demo portrait" in studio.notice.text
    assert not studio.hint.isVisible()


def test_a_picture_of_the_studio(qtbot, home, nothing_left, photo, tmp_path, styled):
    del qtbot, home, nothing_left, styled
    launch.picture_of_studio(photo, tmp_path / "studio.png")
    with Image.open(tmp_path / "studio.png") as picture:
        assert picture.size == (1280, 720)
        assert len(set(picture.convert("L").crop((320, 100, 640, 600)).tobytes())) > 50
