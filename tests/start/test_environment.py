"""The making, keeping and mending of .venv, with real environments of a tiny project."""

import importlib.util
import os
import sys
import threading
from dataclasses import replace
from pathlib import Path
from typing import Any

import environment
import pytest
from environment import MARK, STAMP, explain_pip, is_ready, prepare, read_stamp, write_stamp
from telling import Outcome, SetUpError, run


@pytest.fixture
def offline(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep pip from every index, so that only the tiny project itself can be installed."""
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_CONFIG_FILE", os.devnull)
    monkeypatch.delenv("PIP_FIND_LINKS", raising=False)


@pytest.fixture
def made(tmp_path: Path) -> Path:
    """A checkout whose environment looks as it does after a set-up, without programs in it."""
    (tmp_path / "pyproject.toml").write_text("[project]\nname = 'tiny'\n", "utf-8")
    python = environment.venv_python(tmp_path)
    python.parent.mkdir(parents=True)
    python.symlink_to(sys.executable)
    (tmp_path / ".venv" / "pyvenv.cfg").touch()
    write_stamp(tmp_path, environment.fresh_stamp(tmp_path, ("heic",)))
    return tmp_path


@pytest.mark.usefixtures("offline")
def test_an_environment_is_made_kept_and_mended(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One long walk, since making environments is slow: make, keep, interrupt, mend."""
    prepare(project, ("heic",))
    assert "HEIC photos cannot be opened" in capsys.readouterr().err
    python = environment.venv_python(project)
    shown = run([str(python), "-m", "pip", "list", "--format=freeze"]).said
    assert "tiny==1" in shown
    assert is_ready(project, ("heic",)), "what failed once is not tried at every start"

    stamped = (project / ".venv" / STAMP).stat().st_mtime_ns
    prepare(project, ("heic",))
    assert (project / ".venv" / STAMP).stat().st_mtime_ns == stamped
    assert capsys.readouterr().err == ""

    (project / ".venv" / MARK).touch()
    leftover = python.parent / "leftover"
    leftover.touch()
    prepare(project, ("heic",))
    assert "interrupted" in capsys.readouterr().err
    assert not leftover.exists()
    assert not (project / ".venv" / MARK).exists()
    assert is_ready(project, ())


def test_without_a_network_pip_fails_with_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lets the real pip meet a closed port."""
    monkeypatch.setenv("PIP_CONFIG_FILE", os.devnull)
    monkeypatch.delenv("PIP_FIND_LINKS", raising=False)
    options = ["--retries", "1", "--index-url", "http://127.0.0.1:9/simple", "--no-input"]
    ended = run([sys.executable, "-m", "pip", "download", *options, "rimetype-absent"])
    assert ended.code != 0
    assert "cannot be reached" in explain_pip(ended.said)


def test_ready_as_long_as_nothing_changed(made: Path) -> None:
    assert is_ready(made, ("heic",))
    assert is_ready(made, ())
    assert not is_ready(made, ("heic", "test"))


def test_settings_of_the_checks_change_nothing(made: Path) -> None:
    with (made / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write("[tool.ruff]\nline-length = 100\n")
    assert is_ready(made, ("heic",))


@pytest.mark.parametrize("tables", ["dependencies = ['numpy']", "[tool.setuptools]\na = 1"])
def test_another_wish_in_pyproject_is_noticed(made: Path, tables: str) -> None:
    with (made / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(tables)
    assert not is_ready(made, ("heic",))


@pytest.mark.parametrize("change", [{"root": "/elsewhere"}, {"python": "/usr/bin/python3.10"}])
def test_a_moved_checkout_or_another_python_is_noticed(made: Path, change: Any) -> None:
    stamp = read_stamp(made)
    assert stamp is not None
    write_stamp(made, replace(stamp, **change))
    assert not is_ready(made, ("heic",))


@pytest.mark.parametrize("text", ["", "{", "[]", "7", '{"root": "a"}', '{"extras": 1}'])
def test_a_stamp_that_cannot_be_read_is_none(made: Path, text: str) -> None:
    (made / ".venv" / STAMP).write_text(text, "utf-8")
    assert read_stamp(made) is None
    assert not is_ready(made, ())


def test_a_python_that_is_gone_is_noticed_and_replaced(made: Path, recorder: Any) -> None:
    environment.venv_python(made).unlink()
    assert not is_ready(made, ())
    recorder.answers["import sys, pip"] = Outcome(127, "")
    prepare(made, ("test",), runner=recorder)
    assert any("-m venv" in command for command in recorder.commands)
    assert recorder.commands[-1].endswith("-e .[heic,test]")


def test_a_change_updates_the_environment_in_place(made: Path, recorder: Any) -> None:
    (made / "pyproject.toml").write_text("[project]\nname = 'other'\n", "utf-8")
    prepare(made, ("heic",), runner=recorder)
    assert not any("-m venv" in command for command in recorder.commands)
    assert recorder.commands[-1].endswith("-e .[heic]")
    assert is_ready(made, ("heic",))


@pytest.mark.parametrize(
    ("extras", "said", "tries"),
    [
        (("heic",), "ERROR: Failed to build pillow-heif", 2),
        (("heic",), "NewConnectionError('...')", 1),
        (("heic", "test"), "ERROR: Failed to build pillow-heif", 1),
    ],
)
def test_a_failed_pip_is_told_and_leaves_a_working_environment_alone(
    made: Path, recorder: Any, extras: tuple[str, ...], said: str, tries: int
) -> None:
    """No mark stays behind, since pip ended by itself: the next start tries again in place."""
    (made / "pyproject.toml").write_text("[project]\nname = 'other'\n", "utf-8")
    recorder.answers["pip install"] = Outcome(1, said)
    with pytest.raises(SetUpError):
        prepare(made, extras, runner=recorder)
    assert sum("pip install" in command for command in recorder.commands) == tries
    assert environment.venv_python(made).exists()
    assert not (made / ".venv" / MARK).exists()
    assert not is_ready(made, ())


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("OSError: [Errno 28] No space left on device", "The disk is full"),
        ("SSLError(... CERTIFICATE_VERIFY_FAILED ...)", "PIP_CERT"),
        ("NameResolutionError(...)\nNo matching distribution found for numpy", "cannot be reached"),
        ("ERROR: No matching distribution found for PySide6-Essentials>=6.8", "no PySide6-Essen"),
        ("something else", "the lines above say why"),
    ],
)
def test_explain_pip(said: str, sentence: str) -> None:
    assert sentence in explain_pip(said)


def test_another_folder_called_venv_is_not_touched(tmp_path: Path, recorder: Any) -> None:
    (tmp_path / ".venv").mkdir()
    (tmp_path / ".venv" / "letters.txt").write_text("mine", "utf-8")
    with pytest.raises(SetUpError, match="is not a virtual environment"):
        prepare(tmp_path, (), runner=recorder)
    assert [path.name for path in (tmp_path / ".venv").iterdir()] == ["letters.txt"]


def test_a_checkout_that_cannot_be_written_gets_a_sentence(tmp_path: Path, recorder: Any) -> None:
    """A file in place of the folder fails for every user, root too."""
    (tmp_path / ".venv").write_text("", "utf-8")
    with pytest.raises(SetUpError, match=r"\.venv cannot be written .*: copy this folder"):
        prepare(tmp_path, (), runner=recorder)


def test_a_python_without_venv_gets_the_command(
    tmp_path: Path, recorder: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    with pytest.raises(
        SetUpError, match=rf"apt-get install -y python3\.{sys.version_info.minor}-venv"
    ):
        prepare(tmp_path, (), runner=recorder)
    assert not (tmp_path / ".venv").exists()


def test_a_second_start_waits_for_the_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    waiting, entered = threading.Event(), threading.Event()
    monkeypatch.setattr(environment, "say", lambda _: waiting.set())

    def second() -> None:
        with environment.only_one(tmp_path):
            entered.set()

    thread = threading.Thread(target=second)
    with environment.only_one(tmp_path):
        thread.start()
        assert waiting.wait(timeout=30)
        assert not entered.is_set()
    thread.join(timeout=30)
    assert entered.is_set()
