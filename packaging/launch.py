"""The two commands: what to run, what it needs, and then the running of it."""

import os
import re
import socket
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import environment
import libraries
from telling import SetUpError, say

ROOT = Path(__file__).resolve().parent.parent
DEMO_FOLDER = "rimetype-demo"
OFFSCREEN = {"QT_QPA_PLATFORM": "offscreen"}


@dataclass(frozen=True)
class Route:
    """What to run with the Python of .venv, and what has to be there for it."""

    command: tuple[str, ...]
    extras: tuple[str, ...] = ("heic",)
    platforms: tuple[str, ...] = ("offscreen",)
    settings: Mapping[str, str] = field(default_factory=dict)
    folder: Path | None = None
    pictures: Path | None = None


def screens(variables: Mapping[str, str], system: str) -> tuple[str, ...]:
    """List the platforms on which Qt could open a window; empty where nobody would see one.

    Outside Linux there is always a screen and Qt brings all that it needs for it. On Wayland
    with an X server beside it, X serves when Wayland's libraries are missing.
    """
    if variables.get("QT_QPA_PLATFORM", "").split(":")[0] in ("offscreen", "minimal"):
        return ()
    if not system.startswith("linux") or variables.get("QT_QPA_PLATFORM"):
        return ("offscreen",)
    if display_answers(variables.get("DISPLAY", "")):
        return ("offscreen", "xcb")
    return ("offscreen", "wayland") if variables.get("WAYLAND_DISPLAY") else ()


def display_answers(display: str) -> bool:
    """Say whether an X server listens where DISPLAY points.

    Only a server on this machine (":0") is asked, which takes no time; one elsewhere is believed.
    """
    local = re.fullmatch(r"(?:unix)?:(\d+)(?:\.\d+)?", display)
    if local is None:
        return bool(display)
    path = f"/tmp/.X11-unix/X{local[1]}"
    for address in (path, f"\0{path}"):
        with socket.socket(socket.AF_UNIX) as link:
            if link.connect_ex(address) == 0:
                return True
    return False


def choose_route(arguments: list[str], variables: Mapping[str, str], system: str) -> Route:
    """Turn the arguments of start.py into a route.

    -P keeps a folder called app, where the user happens to be, from standing in for ours.
    """
    if arguments[:1] == ["test"]:
        return Route(
            ("-P", "-m", "pytest", *arguments[1:]),
            extras=("heic", "test"),
            settings=OFFSCREEN,
            folder=ROOT,
        )
    seen_on = screens(variables, system)
    if not arguments and not seen_on:
        return Route(
            ("-P", "-m", "app", "demo", "--headless", DEMO_FOLDER),
            settings=OFFSCREEN,
            pictures=Path(DEMO_FOLDER),
        )
    return Route(("-P", "-m", "app", *(arguments or ["demo"])), platforms=seen_on or ("offscreen",))


def make_ready(route: Route, system: str) -> None:
    """Set up .venv and the system's libraries for a route; quick where both are there."""
    environment.prepare(ROOT, route.extras)
    stamp = environment.read_stamp(ROOT)
    if stamp is None or set(route.platforms) <= set(stamp.platforms):
        return
    if system.startswith("linux"):
        libraries.provide(environment.venv_python(ROOT), route.platforms)
    tried = tuple(sorted({*stamp.platforms, *route.platforms}))
    environment.write_stamp(ROOT, replace(stamp, platforms=tried))


def follow(route: Route) -> int:
    """Run the route. Where nothing is left to say afterwards, the new program takes our place."""
    command = [str(environment.venv_python(ROOT)), *route.command]
    variables = {**os.environ, **route.settings}
    if route.folder is not None:
        os.chdir(route.folder)
    if route.pictures is None and os.name == "posix":
        os.execve(command[0], command, variables)
    code = subprocess.call(command, env=variables)
    if route.pictures is not None and code == 0:
        say(
            "There is no display here, so no window was opened: the demo's plate, look, proof and "
            f"a picture of the studio are in {route.pictures.resolve()}"
        )
    return code


def main(arguments: list[str]) -> int:
    """Do what start.py was asked for and give its exit code."""
    try:
        route = choose_route(arguments, os.environ, sys.platform)
        make_ready(route, sys.platform)
        return follow(route)
    except SetUpError as error:
        say(str(error))
        return 1
    except KeyboardInterrupt:
        say("Stopped. Start it again to go on.")
        return 130
