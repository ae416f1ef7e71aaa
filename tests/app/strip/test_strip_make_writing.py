"""Writing a strip from the window: into which folder, never over another one, stopped or not."""

import json

import attrs
import pytest
from PySide6.QtCore import Qt

from app.strip.planning import ANOTHER_STRIP
from engine.strip.make_files import STRIP
from shared.strip import read_strip
from tests.app.conftest import WAIT_MS
from tests.app.strip.parts import open_page, settled


@pytest.fixture
def page(make_page):
    return make_page


def test_a_strip_is_written_and_never_over_another_one_unasked(page, qtbot, tmp_path):
    folder = tmp_path / "on the bench"
    page.folder.setText(str(folder))
    page.width_field.setValue(95.0)
    page.height_field.setValue(120.0)
    settled(qtbot, lambda: page.picture.strip and page.picture.strip.size_mm == (95, 120))
    dialog = page.window()
    qtbot.mouseClick(page.write, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: dialog.step == "burn", timeout=WAIT_MS)
    written = read_strip(folder / "strip.json")
    assert attrs.evolve(written, tones=()) == page.picture.strip
    assert sum(written.tones) == pytest.approx(1.0, abs=1e-3)
    assert all((folder / run.file).is_file() for run in written.runs)
    assert dialog.burn.table.rowCount() == len(written.runs)
    assert dialog.burn.table.item(0, 1).text() == "45"
    text = (folder / "strip.json").read_text()

    qtbot.mouseClick(dialog.steps.buttons.buttons["make"], Qt.MouseButton.LeftButton)
    qtbot.waitUntil(page.write.isEnabled, timeout=WAIT_MS)
    qtbot.mouseClick(page.write, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: page.problem.text() == f"\u26a0 {ANOTHER_STRIP}", timeout=WAIT_MS)
    assert (folder / "strip.json").read_text() == text
    page.height_field.setValue(130.0)
    page.replace.setChecked(True)
    qtbot.waitUntil(page.write.isEnabled, timeout=WAIT_MS)
    settled(qtbot, lambda: page.picture.strip and page.picture.strip.size_mm == (95, 130))
    qtbot.mouseClick(page.write, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: dialog.step == "burn", timeout=WAIT_MS)
    assert json.loads((folder / "strip.json").read_text())["size_mm"] == [95.0, 130.0]


@pytest.mark.parametrize("typed", ["", "  ", "strip", "./strip", "~nobody-of-that-name/strip"])
def test_a_folder_without_its_whole_path_is_refused(page, qtbot, tmp_path, monkeypatch, typed):
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.iterdir())
    page.folder.setText(typed)
    qtbot.mouseClick(page.write, Qt.MouseButton.LeftButton)
    assert "give its whole path, or press Choose" in page.problem.text()
    assert not page._planning.busy
    assert sorted(tmp_path.iterdir()) == before
    page.folder.setText(str(tmp_path / "strip"))
    assert "patches fit" in page.problem.text()


def test_a_folder_that_is_not_there_yet_is_proposed(open_desk, qtbot, tmp_path):
    studio = open_desk.studio
    for name in ("test-strip", "test-strip-2"):
        (tmp_path / name).mkdir()
    studio.strip.open()
    dialog = studio.dialogs._open
    qtbot.waitUntil(lambda: dialog.make.picture.strip is not None, timeout=WAIT_MS)
    dialog.make.folder.setText(str(tmp_path / "test-strip-3"))
    qtbot.mouseClick(dialog.make.write, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: dialog.step == "burn", timeout=WAIT_MS)
    dialog.reject()
    studio.strip.open()
    assert studio.dialogs._open.make.folder.text() == str(tmp_path / "test-strip-4")
    studio.dialogs._open.reject()


def test_the_page_burn_tells_what_the_placement_sheet_tells(open_desk, qtbot, tmp_path):
    session = open_desk.studio.session
    setting = attrs.evolve(session.profile.setting, both_directions=False)
    session.set_profile(attrs.evolve(session.profile, setting=setting))
    dialog = open_page(open_desk.studio, qtbot)
    qtbot.waitUntil(dialog.make.write.isEnabled, timeout=WAIT_MS)
    dialog.make.folder.setText(str(tmp_path / "strip"))
    qtbot.mouseClick(dialog.make.write, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: dialog.step == "burn", timeout=WAIT_MS)
    told = dialog.burn.steps.text()
    for words in ("its back towards", "same zero point", "is mirrored already", "one direction"):
        assert words in told
    assert "black is the greatest power and white is none" in told
    dialog.reject()


def test_a_strip_that_is_written_while_the_page_is_closed_is_there_when_it_is_opened(
    open_desk, qtbot, tmp_path
):
    studio = open_desk.studio
    page, planning = open_page(studio, qtbot).make, studio.strip.planning
    settled(qtbot, page.write.isEnabled)
    page.folder.setText(str(tmp_path / "strip"))
    qtbot.mouseClick(page.write, Qt.MouseButton.LeftButton)
    assert planning.busy
    page.window().reject()
    qtbot.waitUntil(lambda: not planning.busy, timeout=WAIT_MS)
    again = open_page(studio, qtbot)
    assert again.step == "burn"
    assert again.which.text() == (
        f"Strip {read_strip(tmp_path / 'strip' / STRIP).number} in {tmp_path / 'strip'}"
    )
    again.reject()


def test_stopping_leaves_no_strip_and_no_folder(page, qtbot, tmp_path):
    folder = tmp_path / "bench" / "strip"
    page.folder.setText(str(folder))
    qtbot.mouseClick(page.write, Qt.MouseButton.LeftButton)
    assert page.stop.isVisible()
    assert not page.settings.pairs.isEnabled()
    qtbot.mouseClick(page.stop, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(page.settings.pairs.isEnabled, timeout=WAIT_MS)
    assert not folder.parent.exists()
    assert page.problem.text() == "Stopped; nothing was written."
    assert not page.stop.isVisible()
    assert page.window().step == "make"


def test_stopping_leaves_a_folder_that_was_there(page, qtbot, tmp_path):
    folder = tmp_path / "bench"
    folder.mkdir()
    page.folder.setText(str(folder))
    qtbot.mouseClick(page.write, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(page.stop, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(page.settings.pairs.isEnabled, timeout=WAIT_MS)
    assert list(folder.iterdir()) == []


def test_stopping_too_late_says_what_was_written(page, qtbot, tmp_path):
    folder = tmp_path / "strip"
    page.folder.setText(str(folder))
    page._planning.progressed.connect(
        lambda share: share >= 0.9 and qtbot.mouseClick(page.stop, Qt.MouseButton.LeftButton)
    )
    qtbot.mouseClick(page.write, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not page._planning.busy, timeout=WAIT_MS)
    assert (folder / "strip.json").exists()
    assert page.window().step == "burn"
    assert page.problem.text() == f"The strip was written into {folder}."
