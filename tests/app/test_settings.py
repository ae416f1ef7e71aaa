"""What is remembered from one start to the next; damaged or unwritable preferences do no harm."""

from pathlib import Path

import pytest
from PySide6.QtCore import QByteArray

from app.settings import GREATEST_LIMIT_MP, LEAST_LIMIT_MP, MOST_RECENT, Settings
from shared.limits import DEFAULT_LIMIT_MP


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A home of the test's own."""
    monkeypatch.setenv("RIMETYPE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def remembered(change):
    """Settings of the next start, after one in which something was changed."""
    settings = Settings()
    change(settings)
    settings.sync()
    return Settings()


def test_a_first_start_has_defaults():
    settings = Settings()
    assert settings.inches is False
    assert settings.limit_mp == DEFAULT_LIMIT_MP
    assert settings.hint_wanted is True
    assert settings.recent == []
    assert settings.geometry() is None
    assert settings.folder("photo") == str(Path.home())


def test_all_comes_back_at_the_next_start(tmp_path):
    def change(settings):
        settings.inches = True
        settings.limit_mp = 400.0
        settings.hint_wanted = False
        settings.set_folder("output", tmp_path / "plates, 50 %")
        settings.set_geometry(QByteArray(b"\x00\x01geometry"))

    found = remembered(change)
    assert found.inches is True
    assert found.limit_mp == 400.0
    assert found.hint_wanted is False
    assert found.folder("output") == str(tmp_path / "plates, 50 %")
    assert found.geometry() == QByteArray(b"\x00\x01geometry")


def test_profile_files_come_back_the_newest_first_apart_from_recent_photos(tmp_path):
    def change(settings):
        settings.add_recent(tmp_path / "photo.jpg")
        for name in ("old.json", "new.json", "old.json"):
            settings.add_profile(tmp_path / name)

    found = remembered(change)
    assert found.profiles == [tmp_path / "old.json", tmp_path / "new.json"]
    assert found.recent == [tmp_path / "photo.jpg"]


def test_the_recent_list_has_the_newest_first_each_once_and_not_too_many():
    paths = [Path(f"/photos/{number}, \u00e9.jpg") for number in range(MOST_RECENT + 3)]

    def change(settings):
        for path in [*paths, paths[5]]:
            settings.add_recent(path)

    found = remembered(change)
    newest = [paths[5], *(path for path in reversed(paths) if path != paths[5])]
    assert found.recent == newest[:MOST_RECENT]
    found.clear_recent(paths[5])
    assert found.recent == newest[1:MOST_RECENT]
    found.clear_recent()
    assert found.recent == []


@pytest.mark.parametrize(
    ("text", "limit"),
    [("much", DEFAULT_LIMIT_MP), ("nan", DEFAULT_LIMIT_MP), ("-5", LEAST_LIMIT_MP),
     ("1e9", GREATEST_LIMIT_MP)],
)  # fmt: skip
def test_a_damaged_limit_counts_as_absent_or_is_brought_into_range(home, text, limit):
    (home / "config").mkdir(parents=True)
    (home / "config" / "preferences.ini").write_text(f"[General]\nlimit_mp={text}\n")
    assert Settings().limit_mp == limit


def test_a_preferences_file_that_is_no_such_thing_is_as_none(home):
    (home / "config").mkdir(parents=True)
    (home / "config" / "preferences.ini").write_bytes(bytes(range(256)))
    settings = Settings()
    assert settings.limit_mp == DEFAULT_LIMIT_MP
    assert settings.recent == []
    assert settings.geometry() is None


def test_where_nothing_can_be_written_nothing_fails(home):
    home.write_text("a file where the folder should be")
    remembered(lambda settings: settings.add_recent(Path("a.jpg")))
    assert home.read_text() == "a file where the folder should be"
