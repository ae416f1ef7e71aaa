"""What is packaged, and that the files which describe Rimetype to a desktop say the same."""

import configparser
import fnmatch
import tomllib
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

ROOT = Path(__file__).parents[2]
IDENTITY = "io.rimetype.studio"


@pytest.fixture
def pyproject() -> Any:
    """pyproject.toml as tables."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


@pytest.fixture
def metainfo() -> ET.Element:
    """The description for software shops."""
    return ET.parse(ROOT / "packaging" / f"{IDENTITY}.metainfo.xml").getroot()


@pytest.fixture
def entry() -> configparser.SectionProxy:
    """The entry for the desktop's menu."""
    parser = configparser.ConfigParser(interpolation=None)
    parser.optionxform = str  # type: ignore[assignment, method-assign]
    parser.read(ROOT / "packaging" / f"{IDENTITY}.desktop", "utf-8")
    return parser["Desktop Entry"]


def test_every_file_of_the_packages_is_in_the_wheel(pyproject: Any) -> None:
    patterns = [*pyproject["tool"]["setuptools"]["package-data"]["*"], "*.py", "*.pyc"]
    left_out = [
        str(path.relative_to(ROOT))
        for package in ("app", "engine", "shared", "resources")
        for path in (ROOT / package).rglob("*")
        if path.is_file() and not any(fnmatch.fnmatch(path.name, pattern) for pattern in patterns)
    ]
    assert not left_out


def test_folders_of_the_packages_have_names_that_can_be_packaged() -> None:
    """setuptools passes over a folder whose name is no Python name, with all its files."""
    folders = [
        path.name
        for package in ("app", "engine", "shared", "resources")
        for path in (ROOT / package).rglob("*")
        if path.is_dir()
    ]
    assert [name for name in folders if not name.isidentifier()] == []


def test_the_command_is_named_alike_everywhere(
    pyproject: Any, metainfo: ET.Element, entry: configparser.SectionProxy
) -> None:
    (command,) = pyproject["project"]["scripts"]
    assert entry["Exec"].split() == [command, "%f"]
    assert metainfo.findtext("provides/binary") == command
    assert metainfo.findtext("name") == entry["Name"]


def test_the_desktop_is_told_one_identity(
    metainfo: ET.Element, entry: configparser.SectionProxy
) -> None:
    assert metainfo.findtext("id") == IDENTITY
    assert metainfo.findtext("launchable") == f"{IDENTITY}.desktop"
    assert metainfo.findtext("icon") == entry["Icon"] == IDENTITY


def test_the_newest_release_is_this_version(pyproject: Any, metainfo: ET.Element) -> None:
    release = metainfo.find("releases/release")
    assert release is not None
    assert release.get("version") == pyproject["project"]["version"]
    assert metainfo.findtext("project_license") == pyproject["project"]["license"]
