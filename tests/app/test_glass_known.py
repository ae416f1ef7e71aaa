"""Profiles that were kept in files are offered again, in this start and the next."""

import attrs
import pytest

from app.glass import profile_files
from shared.profile import GENERIC
from shared.profile_file import dump_profile, starting_guesses

MINE = attrs.evolve(GENERIC, name="The shop's float", origin="measured")
OTHER = attrs.evolve(MINE, name="Mirror glass", spread_mm=0.08)


@pytest.fixture
def files(tmp_path):
    """Two profiles in files."""
    paths = [tmp_path / "mine.json", tmp_path / "other.json"]
    for path, profile in zip(paths, (MINE, OTHER), strict=True):
        path.write_text(dump_profile(profile), encoding="utf-8")
    return paths


def offered(studio):
    studio.go_to_step("glass")
    box = studio.glass.panel.chooser
    return [box.itemText(row) for row in range(box.count()) if box.itemData(row) is not None]


def test_opened_profiles_are_listed_before_the_starting_guesses(open_desk, files):
    studio = open_desk.studio
    for path in files:
        open_desk.do(lambda path=path: studio.glass.open_file(path))
    guesses = [guess.name for guess in starting_guesses().values()]
    assert offered(studio) == ["Mirror glass", "The shop's float", *guesses]
    assert studio.glass.panel.chooser.currentText() == "Mirror glass"
    open_desk.do(lambda: studio.glass.panel.chooser.activated.emit(1))
    assert studio.session.profile == MINE
    assert offered(studio)[:2] == ["Mirror glass", "The shop's float"]


def test_the_next_start_lists_what_is_still_there(open_desk, make_studio, files):
    studio = open_desk.studio
    for path in files:
        open_desk.do(lambda path=path: studio.glass.open_file(path))
    studio.settings.sync()
    files[1].unlink()
    later = make_studio()
    assert "The shop's float" in offered(later)
    assert "Mirror glass" not in offered(later)
    files[0].write_text("{", encoding="utf-8")
    assert profile_files.known_profiles(later.settings) == []


def test_a_profile_of_no_file_is_listed_while_it_is_used(open_desk):
    studio = open_desk.studio
    open_desk.do(lambda: studio.session.set_profile(MINE))
    assert offered(studio)[0] == "The shop's float"
    open_desk.do(studio.session.undo)
    assert "The shop's float" not in offered(studio)


def test_profiles_with_one_curve_are_said_to_cover_each_other(open_desk, files):
    studio = open_desk.studio
    open_desk.do(lambda: studio.session.set_profile(MINE))
    studio.glass.compare()
    dialog = studio.dialogs._open
    dialog.open_file(1, files[1])
    assert dialog.state.text().startswith("2 figures differ.")
    assert "one covers the other" in dialog.state.text()
    steeper = attrs.evolve(MINE, response=attrs.evolve(MINE.response, middle_j_mm2=0.5))
    files[1].write_text(dump_profile(steeper), encoding="utf-8")
    dialog.open_file(1, files[1])
    assert "covers" not in dialog.state.text()
    dialog.reject()
