"""A second, darker photo of the strip: in the window and by the command."""

import json

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog

from app.command import run
from shared.profile_file import read_profile
from tests import bad_photos as bad
from tests import strip_in_a_folder as strips
from tests.app.strip.parts import drop, open_page, press, ranked


@pytest.fixture(scope="module")
def taken(burnt):
    """Two photos of one camera, rows x columns x 3."""
    strip = burnt / "strip"
    return tuple(
        bad.powered(photo)
        for photo in (strips.photographed(strip), strips.photographed_darker(strip))
    )


@pytest.fixture
def pair(taken, folder):
    """Their files."""
    first = strips.save_jpeg(folder / "IMG_0011.jpg", taken[0])
    return first, strips.save_jpeg(folder / "IMG_0012.jpg", taken[1], (1, 100))


@pytest.fixture
def choosing(monkeypatch):
    """Files that the user chooses, one after the other."""
    wanted = []

    def choose(dialog):
        dialog.selectFile(str(wanted.pop(0)))
        return True

    monkeypatch.setattr(QFileDialog, "exec", choose)
    return wanted


def photograph(page, qtbot, choosing, photo, button):
    page.go_to("photograph")
    choosing.append(photo)
    press(qtbot, button)
    ranked(page, qtbot)


def test_the_second_photo_sets_the_tones_right(page, pair, folder, qtbot, choosing):
    straight = read(page, folder / "IMG_0007.jpg", qtbot)
    photograph(page, qtbot, choosing, pair[0], page.photograph.choose)
    alone = page._work.reading.frost()
    photograph(page, qtbot, choosing, pair[1], page.photograph.add)
    assert page.step == "read"
    both = page._work.reading.frost()
    assert np.nanmean(np.abs(alone - straight)) > 0.02
    assert np.nanmean(np.abs(both - straight)) < 0.008
    assert "measured with the second photo" in page.read.notes.text()
    assert "photos IMG_0011.jpg and IMG_0012.jpg" in page._work.profile.note


def read(page, photo, qtbot):
    page.take_photo(photo)
    ranked(page, qtbot)
    return page._work.reading.frost()


def test_it_can_be_added_where_its_lack_is_told_of(page, pair, qtbot, choosing):
    read(page, pair[0], qtbot)
    assert "second, darker photo" in page.read.warnings.text()
    choosing.append(pair[1])
    press(qtbot, page.read.add)
    ranked(page, qtbot)
    assert page._work.reading.bend_l > 4.0
    assert not page.read.add.isVisible()


def test_it_can_be_left_out_again(page, pair, qtbot):
    alone = read(page, pair[0], qtbot)
    page.take_darker(pair[1])
    ranked(page, qtbot)
    page.go_to("photograph")
    assert "IMG_0012.jpg" in page.photograph.darker.text()
    press(qtbot, page.photograph.leave_out)
    ranked(page, qtbot)
    assert np.array_equal(page._work.reading.frost(), alone, equal_nan=True)
    page.go_to("photograph")
    assert not page.photograph.leave_out.isVisible()
    assert "plain sRGB" in page.photograph.darker.text()


def test_both_are_dropped_at_once_in_any_order(page, pair, qtbot):
    assert drop(page, pair[1], pair[0]) == "Let go to read IMG_0012.jpg and IMG_0011.jpg"
    ranked(page, qtbot)
    assert page._work.reading.bend_l > 4.0
    assert "photos IMG_0011.jpg and IMG_0012.jpg" in page._work.profile.note
    page.go_to("photograph")
    assert page.photograph.file.text() == "Chosen: IMG_0011.jpg"
    assert page.photograph.darker.text() == "Chosen: IMG_0012.jpg"
    press(qtbot, page.photograph.leave_out)
    ranked(page, qtbot)
    assert page._work.photos == (pair[0], None)


def test_a_lighter_one_that_is_added_takes_the_place_of_the_first(page, pair, qtbot):
    read(page, pair[1], qtbot)
    page._work.correct(3, 0.5)
    page.take_darker(pair[0])
    ranked(page, qtbot)
    assert page._work.photos == pair
    assert page._work.notes.corrections.values == {3: 0.5}


def test_it_needs_a_first_one(page):
    page.go_to("photograph")
    assert not page.photograph.add.isEnabled()
    assert "first" in page.photograph.add.toolTip()


def test_another_photo_comes_without_it(page, pair, folder, qtbot):
    read(page, pair[0], qtbot)
    page.take_darker(pair[1])
    ranked(page, qtbot)
    read(page, folder / "IMG_0007.jpg", qtbot)
    assert page._work.notes.darker is None
    assert page._work.reading.bend_l is None


def test_what_was_typed_in_stays(page, pair, qtbot):
    read(page, pair[0], qtbot)
    page._work.correct(3, 0.5)
    page.take_darker(pair[1])
    ranked(page, qtbot)
    assert page._work.notes.corrections.values == {3: 0.5}


def test_both_come_back_with_the_strip(page, desk, pair, qtbot):
    read(page, pair[0], qtbot)
    page.take_darker(pair[1])
    ranked(page, qtbot)
    found = page._work.reading.frost()
    page.reject()
    again = open_page(desk.studio, qtbot)
    again.open_file(again._work.folder / "strip.json")
    ranked(again, qtbot)
    assert again._work.notes.darker == pair[1]
    assert np.array_equal(again._work.reading.frost(), found, equal_nan=True)


def test_one_as_light_as_the_first_is_told_and_can_be_taken_back(page, pair, qtbot):
    read(page, pair[0], qtbot)
    page.take_darker(pair[0])
    ranked(page, qtbot)
    assert "as light as the first" in page.read.state.text()
    page.go_to("photograph")
    qtbot.mouseClick(page.photograph.leave_out, Qt.MouseButton.LeftButton)
    ranked(page, qtbot)
    assert page._work.reading is not None


def command(folder, *words):
    strip = str(folder / "strip" / "strip.json")
    return run(["strip", "read", *map(str, words), "--strip", strip])


def test_the_command_reads_both(folder, pair, capsys):
    report, glass = folder / "report.json", folder / "glass.json"
    assert command(folder, pair[0], "--darker", pair[1], "-o", glass, "--report", report) == 0
    assert "Note: The camera's tones were measured" in capsys.readouterr().err
    assert json.loads(report.read_text())["photo"]["bend_l"] > 4.0
    assert "photos IMG_0011.jpg and IMG_0012.jpg" in read_profile(glass).note


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["IMG_0011.jpg", "--darker", "none.jpg"], "none.jpg is not there"),
        (["IMG_0011.jpg", "--darker", "IMG_0011.jpg"], "as light as the first"),
        (["--readings", "some.txt", "--darker", "IMG_0012.jpg"], "give that photo first"),
        (["IMG_0011.jpg", "--darker", "mute.png"], "own files"),
        (["IMG_0011.jpg", "--darker", "IMG_0012.jpg", "-o", "IMG_0012.jpg", "--replace"], "photo"),
    ],
)
def test_what_cannot_be_used_is_said(folder, taken, pair, capsys, monkeypatch, words, sentence):
    Image.fromarray(taken[1]).save(folder / "mute.png")
    monkeypatch.chdir(folder)
    before = pair[1].read_bytes()
    words = words if "-o" in words else [*words, "-o", "never.json"]
    assert command(folder, *words) == 2
    said = capsys.readouterr().err
    assert sentence in said
    assert said.count("\n") == 1
    assert not (folder / "never.json").exists()
    assert pair[1].read_bytes() == before
