"""Which system packages are named or installed, and when."""

import os
import shutil
import sys
from pathlib import Path
from typing import Any

import libraries
import pytest
from libraries import Finding, debian_names, install_on_debian, look, provide, system_family
from telling import Outcome, SetUpError

MISSING = '{"missing": "libGL.so.1: cannot open shared object file", "fonts": true}'
FINE = '{"missing": null, "fonts": true}'
NO_FONTS = '{"missing": null, "fonts": false}'
PYTHON = Path("/project/.venv/bin/python")


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Choose the machine that the set-up believes to be on."""

    def choose(family: str, *, root: bool) -> None:
        monkeypatch.setattr(libraries, "this_family", lambda: family)
        monkeypatch.setattr(os, "geteuid", lambda: 0 if root else 1000)
        monkeypatch.setattr(shutil, "which", lambda name: f"/usr/bin/{name}" if family else None)

    return choose


@pytest.mark.parametrize(
    ("text", "family"),
    [
        ('PRETTY_NAME="Debian GNU/Linux 12 (bookworm)"\nID=debian\nVERSION_ID="12"', "debian"),
        ("ID=ubuntu\nID_LIKE=debian", "debian"),
        ('ID=linuxmint\nID_LIKE="ubuntu debian"', "debian"),
        ("ID=fedora", "fedora"),
        ('ID="rocky"\nID_LIKE="rhel centos fedora"', "fedora"),
        ("ID=arch\n# a note\n", ""),
        ("", ""),
    ],
)
def test_system_family(text: str, family: str) -> None:
    """The lines follow os-release(5); written from memory of these systems."""
    assert system_family(text) == family


def test_renamed_packages_are_chosen_where_the_release_has_them() -> None:
    wanted = ["libglib2.0-0", "libgl1"]
    assert debian_names(wanted, lambda _: False) == wanted
    assert debian_names(wanted, {"libglib2.0-0t64"}.__contains__) == ["libglib2.0-0t64", "libgl1"]


def test_nothing_is_installed_where_nothing_is_missing(recorder: Any) -> None:
    recorder.answers["probe.py"] = Outcome(0, FINE)
    provide(PYTHON, ("offscreen", "xcb"), runner=recorder)
    assert len(recorder.commands) == 1
    assert recorder.commands[0].endswith("probe.py xcb")


def test_root_on_debian_installs_and_looks_again(recorder: Any, machine: Any) -> None:
    machine("debian", root=True)
    recorder.answers["probe.py"] = Outcome(0, MISSING)
    recorder.answers["apt-cache show libglib2.0-0t64"] = Outcome(0, "Package: libglib2.0-0t64")
    recorder.answers["apt-cache"] = Outcome(100, "N: No packages found")
    with pytest.raises(SetUpError, match=r"libGL\.so\.1"):
        provide(PYTHON, ("offscreen",), runner=recorder)
    install = next(command for command in recorder.commands if " install " in command)
    assert install.endswith(
        " libglib2.0-0t64 libgl1 libegl1 libdbus-1-3 libfontconfig1 libxkbcommon0"
    )
    update = next(command for command in recorder.commands if command.endswith(" update"))
    assert recorder.commands.index(update) < recorder.commands.index(install)
    assert "probe.py" in recorder.commands[-1]


def test_another_user_on_debian_gets_the_command(recorder: Any, machine: Any) -> None:
    machine("debian", root=False)
    recorder.answers["probe.py"] = Outcome(0, MISSING)
    recorder.answers["apt-cache"] = Outcome(100, "")
    with pytest.raises(SetUpError) as raised:
        provide(PYTHON, ("offscreen", "xcb"), runner=recorder)
    sentence = str(raised.value)
    assert "`sudo apt-get update && sudo apt-get install -y libglib2.0-0 libgl1 " in sentence
    assert " libxcb-cursor0 " in sentence
    assert not any(command.startswith("apt-get") for command in recorder.commands)


def test_fedora_gets_its_own_command(recorder: Any, machine: Any) -> None:
    machine("fedora", root=True)
    recorder.answers["probe.py"] = Outcome(0, MISSING)
    with pytest.raises(SetUpError, match=r"`sudo dnf install -y glib2 .* xcb-util-cursor"):
        provide(PYTHON, ("offscreen", "xcb"), runner=recorder)


def test_another_system_learns_which_library_is_missing(recorder: Any, machine: Any) -> None:
    machine("", root=True)
    recorder.answers["probe.py"] = Outcome(0, MISSING)
    with pytest.raises(SetUpError, match=r"libGL\.so\.1.*install the package of your system"):
        provide(PYTHON, ("offscreen",), runner=recorder)


def test_a_failed_apt_is_shown_with_the_command(
    recorder: Any, machine: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    machine("debian", root=True)
    recorder.answers["apt-cache"] = Outcome(100, "")
    recorder.answers[" install "] = Outcome(100, "E: Unable to locate package python3.11-venv")
    with pytest.raises(SetUpError, match=r"^Do `apt-get update && apt-get install -y a`$"):
        install_on_debian(["a"], runner=recorder, otherwise="Do `{command}`")
    assert "E: Unable to locate package" in capsys.readouterr().err


@pytest.mark.parametrize("root", [True, False])
def test_missing_fonts_are_brought_or_named_but_stop_nothing(
    recorder: Any, machine: Any, capsys: pytest.CaptureFixture[str], root: bool
) -> None:
    machine("debian", root=root)
    recorder.answers["probe.py"] = Outcome(0, NO_FONTS)
    recorder.answers["apt-cache"] = Outcome(100, "")
    provide(PYTHON, ("offscreen",), runner=recorder)
    installed = [command for command in recorder.commands if " install " in command]
    assert [command.split()[-1] for command in installed] == ["fonts-dejavu-core"] * root
    assert "fonts-dejavu-core" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("outcome", "finding"),
    [
        (Outcome(0, f"a line of some library\n{FINE}"), Finding(None)),
        (Outcome(0, NO_FONTS), Finding(None, fonts=False)),
        (Outcome(-6, "qt.qpa.plugin: gone"), Finding("qt.qpa.plugin: gone")),
        (Outcome(-11, ""), Finding("Qt ended with code -11")),
    ],
)
def test_look_reads_the_probe(recorder: Any, outcome: Outcome, finding: Finding) -> None:
    recorder.answers["probe.py"] = outcome
    assert look(PYTHON, ("offscreen",), recorder) == finding


def test_the_probe_finds_this_machine_fit() -> None:
    """Runs the probe itself; a machine that runs these tests has what Qt needs."""
    assert look(Path(sys.executable), ("offscreen",)) == Finding(None, fonts=True)
