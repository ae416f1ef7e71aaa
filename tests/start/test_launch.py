"""What start.py's arguments and the display lead to."""

import socket
import sys
from pathlib import Path

import launch
import pytest
from launch import choose_route, screens


@pytest.mark.parametrize(
    ("variables", "system", "expected"),
    [
        ({}, "linux", ()),
        ({"DISPLAY": ""}, "linux", ()),
        ({"DISPLAY": ":65432"}, "linux", ()),
        ({"DISPLAY": "there:0"}, "linux", ("offscreen", "xcb")),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", ("offscreen", "wayland")),
        ({"DISPLAY": "there:0", "WAYLAND_DISPLAY": "wayland-0"}, "linux", ("offscreen", "xcb")),
        ({"DISPLAY": "there:0", "QT_QPA_PLATFORM": "offscreen"}, "linux", ()),
        ({"QT_QPA_PLATFORM": "minimal:enable_fonts"}, "linux", ()),
        ({"QT_QPA_PLATFORM": "vnc:size=1280x720"}, "linux", ("offscreen",)),
        ({}, "darwin", ("offscreen",)),
        ({}, "win32", ("offscreen",)),
    ],
)
def test_screens(variables: dict[str, str], system: str, expected: tuple[str, ...]) -> None:
    assert screens(variables, system) == expected


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux has addresses that are no files")
@pytest.mark.parametrize("display", [":65431", "unix:65431.0"])
def test_a_display_on_this_machine_is_asked(display: str) -> None:
    """Listens as an X server would; nothing listens once it has gone."""
    with socket.socket(socket.AF_UNIX) as server:
        server.bind("\0/tmp/.X11-unix/X65431")
        server.listen()
        assert launch.display_answers(display)
    assert not launch.display_answers(display)


def test_no_arguments_open_the_studio_on_the_demo() -> None:
    route = choose_route([], {"DISPLAY": "there:0"}, "linux")
    assert route.command == ("-P", "-m", "app", "demo")
    assert route.extras == ("heic",)
    assert "QT_QPA_PLATFORM" not in route.settings
    assert route.pictures is None


def test_no_arguments_without_a_display_make_the_pictures() -> None:
    route = choose_route([], {}, "linux")
    assert route.command == ("-P", "-m", "app", "demo", "--headless", "rimetype-demo")
    assert route.settings == {"QT_QPA_PLATFORM": "offscreen"}
    assert route.pictures == Path("rimetype-demo")
    assert route.platforms == ("offscreen",)


@pytest.mark.parametrize("variables", [{}, {"DISPLAY": "there:0"}])
def test_test_is_headless_with_or_without_a_display(variables: dict[str, str]) -> None:
    route = choose_route(["test", "-x", "tests/engine"], variables, "linux")
    assert route.command == ("-P", "-m", "pytest", "-x", "tests/engine")
    assert route.settings == {"QT_QPA_PLATFORM": "offscreen"}
    assert route.extras == ("heic", "test")
    assert route.platforms == ("offscreen",)
    assert route.folder == launch.ROOT


@pytest.mark.parametrize(
    "arguments", [["demo"], ["plate", "test", "-o", "a b.png"], ["my photo.jpg"], ["--help"]]
)
def test_other_arguments_are_passed_on(arguments: list[str]) -> None:
    route = choose_route(arguments, {}, "linux")
    assert route.command == ("-P", "-m", "app", *arguments)
    assert not route.settings
    assert route.folder is None
    assert route.pictures is None


def test_the_root_is_the_checkout() -> None:
    assert (launch.ROOT / "pyproject.toml").is_file()
