"""What the tests of the set-up share: stand-ins for apt and pip, and a project of a few lines."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from telling import Outcome

BACKEND = """
import zipfile
from pathlib import Path

def build_editable(folder, config_settings=None, metadata_directory=None):
    name = "tiny-1-py3-none-any.whl"
    files = {
        "tiny-1.dist-info/METADATA": "Metadata-Version: 2.1\\nName: tiny\\nVersion: 1\\n"
        "Provides-Extra: heic\\nRequires-Dist: pillow-heif; extra == 'heic'\\n",
        "tiny-1.dist-info/WHEEL": "Wheel-Version: 1.0\\n"
        "Root-Is-Purelib: true\\nTag: py3-none-any\\n",
        "tiny.pth": str(Path.cwd()) + "\\n",
    }
    files["tiny-1.dist-info/RECORD"] = "".join(f"{file},,\\n" for file in files)
    with zipfile.ZipFile(Path(folder) / name, "w") as wheel:
        for file, text in files.items():
            wheel.writestr(file, text)
    return name
"""

PYPROJECT = """
[build-system]
requires = []
build-backend = "backend"
backend-path = ["."]

[project]
name = "tiny"
version = "1"
"""


class Recorder:
    """Stands in for the outside world: notes every command and answers as it was told to."""

    def __init__(self) -> None:
        self.commands: list[str] = []
        self.answers: dict[str, Outcome] = {}

    def __call__(self, command: Sequence[str], **_: Any) -> Outcome:
        self.commands.append(" ".join(command))
        for part, outcome in self.answers.items():
            if part in self.commands[-1]:
                return outcome
        return Outcome(0, "")


@pytest.fixture
def recorder() -> Recorder:
    """A runner that starts nothing."""
    return Recorder()


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project that pip can install in place without a network."""
    root = tmp_path_factory.mktemp("a project")
    (root / "backend.py").write_text(BACKEND, "utf-8")
    (root / "pyproject.toml").write_text(PYPROJECT, "utf-8")
    return root
