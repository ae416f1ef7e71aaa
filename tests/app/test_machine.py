"""The look around this machine says what is there and what is not."""

import sys

import pytest

from app import machine
from app.command import run


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A home of the test's own."""
    monkeypatch.setenv("RIMETYPE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def by_name(findings):
    return {finding.name: finding for finding in findings}


@pytest.fixture
def complete(tmp_path, monkeypatch):
    """Resources in which nothing is missing."""
    for name in machine._NEEDED_FILES:
        path = tmp_path / "resources" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()
    monkeypatch.setattr(machine, "RESOURCES", tmp_path / "resources")
    return tmp_path / "resources"


def test_a_machine_that_runs_the_tests_has_all_that_is_needed(complete, capsys):
    assert run(["check"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[-1] == "Rimetype has all that it needs."
    assert all(line.startswith(("ok ", "optional ")) for line in lines[:-1])
    found = by_name(machine.look_around())
    assert found["Python"].sentence == sys.version.split()[0]
    assert found["Window"].sentence.startswith("Qt 6.")
    assert found["Resources"].sentence == str(complete)


def test_missing_resources_are_named_and_the_exit_status_tells(complete, capsys):
    (complete / "cautions.md").unlink()
    assert run(["check"]) == 1
    out = capsys.readouterr().out
    assert "missing   Resources   cautions.md; install Rimetype again." in out
    assert out.splitlines()[-1] == "Rimetype cannot do all its work here: see Resources above."


def test_an_old_python_is_told(monkeypatch):
    monkeypatch.setattr(machine, "OLDEST_PYTHON", (99, 0))
    found = by_name(machine.look_around())["Python"]
    assert not found.good
    assert "too old" in found.sentence


def test_without_heic_the_machine_is_still_good_enough(complete, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    assert run(["check"]) == 0
    line = next(line for line in capsys.readouterr().out.splitlines() if "HEIC" in line)
    assert line.startswith("optional")
    assert "pip install pillow-heif" in line
    assert complete.exists()


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="about X displays")
def test_a_platform_that_qt_cannot_start_on_is_told_and_does_not_end_the_check(monkeypatch):
    monkeypatch.setenv("QT_QPA_PLATFORM", "nonsense")
    found = machine._window()
    assert not found.good
    assert "nonsense" in found.sentence
    assert found.sentence.endswith("packaging/start.py, which mends the installation or says how.")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="about X displays")
def test_without_a_display_the_check_says_that_the_studio_cannot_open(monkeypatch):
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    found = machine._window()
    assert found.good
    assert "no display, so the studio cannot open" in found.sentence


def test_a_home_that_cannot_be_written_to_is_told(home):
    home.write_text("a file where the folder should be")
    found = by_name(machine.look_around())["Writing"]
    assert not found.good
    assert str(home / "config") in found.sentence


def test_the_check_leaves_nothing_behind(home):
    machine.look_around()
    assert sorted(path.name for path in home.iterdir()) == ["config", "data"]
    assert [entry for folder in home.iterdir() for entry in folder.iterdir()] == []
