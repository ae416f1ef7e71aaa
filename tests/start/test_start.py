"""start.py on Pythons that are too old, and what may stand in its files."""

import ast
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import start

PACKAGING = Path(start.__file__).parent
THIS_NAME = f"python3.{sys.version_info.minor}"


def old_pythons() -> list[Path]:
    """Find the Pythons before 3.11 on this machine: on PATH, and those kept by version."""
    folders = [Path(folder) for folder in os.environ.get("PATH", "").split(os.pathsep)]
    folders += sorted((Path.home() / ".pyenv" / "versions").glob("*/bin"))
    names = ["python2.7", *(f"python3.{minor}" for minor in range(4, 11))]
    found = [folder / name for folder in folders for name in names if (folder / name).exists()]
    return [python for python in found if "shims" not in python.parts]


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    """A copy of start.py beside a launch.py that only says which Python reached it."""
    folder = tmp_path / "packaging"
    folder.mkdir()
    shutil.copy(PACKAGING / "start.py", folder)
    (folder / "launch.py").write_text(
        "import sys\n\n\ndef main(arguments):\n    print(sys.version_info[:2], arguments)\n"
        "    return 5\n",
        "utf-8",
    )
    return folder / "start.py"


def run(python: Path | str, script: Path, *arguments: str, path: str = "") -> tuple[int, str, str]:
    """Run a script with a Python, with nothing but `path` on PATH."""
    ended = subprocess.run(
        [str(python), str(script), *arguments],
        env={**os.environ, "PATH": path},
        capture_output=True,
        text=True,
        check=False,
    )
    return ended.returncode, ended.stdout, ended.stderr


@pytest.mark.parametrize("python", [Path(sys.executable), *old_pythons()], ids=str)
def test_a_python_that_is_too_old_answers_with_one_sentence(python: Path, copied: Path) -> None:
    """The running Python is made too old by asking for a future one."""
    copied.write_text(copied.read_text("utf-8").replace("(3, 11)", "(99, 0)"), "utf-8")
    code, output, error = run(python, copied)
    assert code == 1
    assert output == ""
    assert error.startswith("Rimetype needs Python 99.0 or newer and this is Python ")
    assert error.count("\n") == 1


@pytest.mark.parametrize("python", [Path(sys.executable), *old_pythons()], ids=str)
def test_a_newer_python_on_path_takes_over(python: Path, copied: Path, tmp_path: Path) -> None:
    (tmp_path / THIS_NAME).symlink_to(sys.executable)
    code, output, _ = run(python, copied, "plate", "my photo.jpg", path=str(tmp_path))
    assert output == f"{tuple(sys.version_info[:2])} ['plate', 'my photo.jpg']\n"
    assert code == 5


def test_a_name_alone_is_no_python(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A launcher that knows the name but not the version is passed over, and so is a folder."""
    broken, whole = tmp_path / "broken", tmp_path / "whole"
    broken.mkdir()
    whole.mkdir()
    (broken / THIS_NAME).write_text("#!/bin/sh\nexit 127\n", "utf-8")
    (broken / THIS_NAME).chmod(0o755)
    (broken / "python3.20").mkdir()
    monkeypatch.setenv("PATH", str(broken))
    assert start.newer_python() is None
    (whole / THIS_NAME).symlink_to(sys.executable)
    monkeypatch.setenv("PATH", f"{broken}{os.pathsep}{whole}")
    assert start.newer_python() == str(whole / THIS_NAME)


def test_start_keeps_to_the_syntax_of_old_pythons() -> None:
    """Holds even where no old Python is at hand to try."""
    source = (PACKAGING / "start.py").read_text("utf-8")
    source.encode("ascii")
    tree = ast.parse(source, feature_version=(3, 4))
    newer = (ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.Starred, ast.AsyncFunctionDef)
    for node in ast.walk(tree):
        assert not isinstance(node, newer), ast.dump(node)
        if isinstance(node, ast.FunctionDef):
            assert node.returns is None
            assert not any(argument.annotation for argument in node.args.args)
            assert not node.args.kwonlyargs


@pytest.mark.parametrize("name", ["start", "launch", "environment", "libraries", "telling"])
def test_the_set_up_needs_the_standard_library_alone(name: str) -> None:
    tree = ast.parse((PACKAGING / f"{name}.py").read_text("utf-8"))
    imported = {
        alias.name.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    } | {
        str(node.module).split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
    }
    siblings = {path.stem for path in PACKAGING.glob("*.py")}
    assert imported <= sys.stdlib_module_names | siblings
    assert not siblings & sys.stdlib_module_names
