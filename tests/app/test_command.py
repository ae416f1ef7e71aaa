"""The command line: what is called for, help, version, and one sentence for whatever is wrong."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from app import command
from app.command import run
from app.field_help import fields_text, takes
from app.version import version
from shared.paths import RESOURCES
from shared.recipe import Recipe, all_fields, field_info, parse_value

ROOT = Path(__file__).parents[2]


def rimetype(*words, **variables):
    """Run it as a user does, in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "app", *words],
        cwd=ROOT,
        env={**os.environ, **variables},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


@pytest.fixture
def opened(monkeypatch):
    """The photos with which the studio was called for; no window is opened."""
    photos = []
    monkeypatch.setattr(command, "open_studio", lambda photo: photos.append(photo) or 0)
    return photos


def only_line(capsys):
    heard = capsys.readouterr()
    assert heard.out == ""
    lines = heard.err.splitlines()
    assert len(lines) == 1, heard.err
    assert lines[0].endswith(".")
    return lines[0]


def test_nothing_opens_the_studio(opened):
    assert run([]) == 0
    assert opened == [None]


def test_a_photo_opens_the_studio_on_it(opened, tmp_path):
    for name in ("portrait.jpg", "without suffix", "plates", "\u5199\u771f \u00e9.png"):
        path = tmp_path / name
        path.write_bytes(b"any")
        assert run([str(path)]) == 0
        assert opened.pop() == path


def test_demo_opens_the_studio_on_the_demo_portrait(opened):
    assert run(["demo"]) == 0
    assert opened == [RESOURCES / "demo" / "portrait.jpg"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["plat", "x.jpg"], "no command or photo named plat; the commands are plate, strip"),
        (["plat"], "no command or photo named plat; the commands are plate, strip"),
        (["Plate", "x.jpg", "-o", "y.png"], "no command or photo named Plate"),
        (["missing.jpg"], "no photo missing.jpg"),
        (["folder/missing"], "no photo folder/missing"),
        (["x" * 5000], "no command or photo named"),
        (["a\0b"], "no command or photo named"),
        ([str(ROOT), "other.jpg"], "one photo at a time"),
        ([str(ROOT), "--size", "90x120"], "see rimetype --help"),
        (["--nonsense"], "--nonsense"),
        (["demo", "extra"], "see rimetype demo --help"),
        (["check", "--loud"], "see rimetype check --help"),
    ],
)
def test_what_cannot_be_meant_is_told_in_one_sentence(opened, capsys, words, told):
    assert run(words) == 2
    assert told in only_line(capsys)
    assert opened == []


def test_a_failure_inside_is_one_sentence_too(monkeypatch, capsys):
    def fail(_photo):
        raise ZeroDivisionError("a\nb")

    monkeypatch.setattr(command, "open_studio", fail)
    assert run([]) == 1
    assert only_line(capsys) == (
        "Something failed inside Rimetype (ZeroDivisionError: a b); try again or report it."
    )


def test_an_interruption_is_told(monkeypatch, capsys):
    def interrupt(_photo):
        raise KeyboardInterrupt

    monkeypatch.setattr(command, "open_studio", interrupt)
    assert run([]) == 1
    assert "Stopped; nothing was written." in capsys.readouterr().err


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="other systems have a display")
def test_without_a_display_the_studio_says_what_works(monkeypatch, capsys):
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    assert run([]) == 1
    assert "demo --headless work without one" in only_line(capsys)


def test_the_version_is_that_of_the_project(capsys):
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"Rimetype {version()}\n"
    assert f'\nversion = "{version()}"\n' in (ROOT / "pyproject.toml").read_text()


@pytest.mark.parametrize("word", ["--help", "-h"])
def test_help_names_the_ways_to_call_it(capsys, word):
    assert run([word]) == 0
    text = capsys.readouterr().out
    for wanted in ("rimetype [PHOTO]", "plate", "demo", "check", "--version"):
        assert wanted in text
    assert "..." not in text.replace("COMMAND ...", "")


def test_the_help_of_plate_lists_every_field_with_range_and_unit(capsys):
    assert run(["plate", "--help"]) == 0
    text = capsys.readouterr().out
    assert max(len(line) for line in text.splitlines()) <= 80
    flat = " ".join(text.split())
    for key, info in all_fields():
        assert f" {key} {' '.join(takes(info).split())} [" in flat
        assert " ".join(f"{info.label}: {info.help}".split()) in flat
        if info.kind == "number" and info.unit not in ("", "%"):
            assert f"{info.low:g} to {info.high:g} {info.unit}" in flat


def test_the_values_that_help_states_are_those_of_a_fresh_recipe():
    text = " ".join(fields_text().split())
    for key, info in all_fields():
        start = text.index(f"{key} {' '.join(takes(info).split())} [")
        stated = text[text.index("[", start) + 1 : text.index("]", start)]
        assert parse_value(key, stated) == Recipe().get(key)


def test_a_range_in_percent_is_stated_both_ways():
    assert takes(field_info("tone.lift")) == "0 to 1, or 0% to 100%"
    assert takes(field_info("plate.etched")) == "back or front"


def test_as_a_process_it_complains_without_a_traceback(tmp_path):
    done = rimetype("plate", "missing.jpg", "-o", str(tmp_path / "plate.png"))
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr == "missing.jpg is not there; was it moved or renamed?\n"


@pytest.mark.skipif(os.name != "posix", reason="a broken module is put before the real one")
def test_check_tells_what_is_missing_even_where_qt_and_numpy_are(tmp_path):
    for name in ("PySide6", "numpy"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "__init__.py").write_text(
            "raise ImportError('libGL.so.1: cannot open shared object file')"
        )
    done = rimetype("check", PYTHONPATH=str(tmp_path), RIMETYPE_HOME=str(tmp_path / "home"))
    assert done.returncode == 1
    assert done.stderr == ""
    lines = {line[10:21].strip(): line for line in done.stdout.splitlines()}
    for name in ("NumPy", "Window"):
        assert lines[name].startswith("missing")
        assert "libGL.so.1" in lines[name]
        assert "packaging/start.py" in lines[name]
    assert lines["Python"].startswith("ok")
    assert "NumPy" in done.stdout.splitlines()[-1]
