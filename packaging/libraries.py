"""The system libraries that Qt and OpenCV need: tried, installed where possible, else named.

Package names: Debian 12 and 13 by trial in systems that held nothing else; Fedora from memory.
"""

import json
import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from telling import Runner, SetUpError, run, say

# Under "offscreen" stands what every use needs, windows or not.
DEBIAN = {
    "offscreen": (
        "libglib2.0-0",
        "libgl1",
        "libegl1",
        "libdbus-1-3",
        "libfontconfig1",
        "libxkbcommon0",
    ),
    "xcb": (
        "libxcb-cursor0",
        "libxkbcommon-x11-0",
        "libxcb-icccm4",
        "libxcb-keysyms1",
        "libxcb-shape0",
        "libxcb-xkb1",
    ),
    "wayland": ("libwayland-cursor0", "libwayland-egl1"),
    "fonts": ("fonts-dejavu-core",),
}
FEDORA = {
    "offscreen": (
        "glib2",
        "libglvnd-glx",
        "libglvnd-egl",
        "dbus-libs",
        "fontconfig",
        "libxkbcommon",
    ),
    "xcb": ("xcb-util-cursor", "libxkbcommon-x11", "xcb-util-wm", "xcb-util-keysyms", "libxcb"),
    "wayland": ("libwayland-cursor", "libwayland-egl"),
    "fonts": ("dejavu-sans-fonts",),
}

APT_SETTINGS = {"DEBIAN_FRONTEND": "noninteractive"}
APT_GET = ("apt-get", "-y", "-q", "-o", "DPkg::Lock::Timeout=120")


@dataclass(frozen=True)
class Finding:
    """What the probe saw: the loader's complaint, if any, and whether there are fonts."""

    missing: str | None
    fonts: bool = True


def system_family(os_release: str) -> str:
    """Tell from the text of /etc/os-release whether this is a `debian`, a `fedora` or neither."""
    values = dict(line.split("=", 1) for line in os_release.splitlines() if "=" in line)
    words = f"{values.get('ID', '')} {values.get('ID_LIKE', '')}".replace('"', "").split()
    if "debian" in words or "ubuntu" in words:
        return "debian"
    return "fedora" if "fedora" in words or "rhel" in words else ""


def this_family() -> str:
    """Tell the family of the running system."""
    try:
        return system_family(Path("/etc/os-release").read_text("utf-8"))
    except OSError:
        return ""


def debian_names(packages: list[str], known: Callable[[str], bool]) -> list[str]:
    """Give each package the name that this release of Debian or Ubuntu has for it.

    Releases with a 64-bit time on 32-bit machines (Debian 13, Ubuntu 24.04) renamed some
    packages to end in t64.
    """
    return [f"{name}t64" if known(f"{name}t64") else name for name in packages]


def look(python: Path, platforms: tuple[str, ...], runner: Runner = run) -> Finding:
    """Try Qt and OpenCV on the platforms named, in a process of its own."""
    plugins = [name for name in platforms if name != "offscreen"]
    probe = Path(__file__).with_name("probe.py")
    ended = runner([str(python), "-I", str(probe), *plugins])
    try:
        seen = json.loads(ended.said.splitlines()[-1])
        return Finding(seen["missing"], seen["fonts"])
    except (ValueError, IndexError, KeyError, TypeError):
        return Finding(ended.said.strip() or f"Qt ended with code {ended.code}")


def provide(python: Path, platforms: tuple[str, ...], *, runner: Runner = run) -> None:
    """See to it that Rimetype finds its system libraries and at least one font.

    Raises SetUpError, with the command that would help, where it cannot.
    """
    finding = look(python, platforms, runner)
    if finding.missing is not None:
        finding = _provide_libraries(python, platforms, finding.missing, runner)
    if not finding.fonts:
        _provide_fonts(runner)


def _provide_libraries(
    python: Path, platforms: tuple[str, ...], missing: str, runner: Runner
) -> Finding:
    complaint = f"Qt or OpenCV cannot start on this machine ({missing})"
    family = this_family()
    if family == "debian":
        packages = [package for name in platforms for package in DEBIAN[name]]
        install_on_debian(
            packages, runner=runner, otherwise=complaint + ": run `{command}` and start again."
        )
    elif family == "fedora":
        packages = [package for name in platforms for package in FEDORA[name]]
        command = f"sudo dnf install -y {' '.join(packages)}"
        raise SetUpError(f"{complaint}: run `{command}` and start again.")
    finding = look(python, platforms, runner)
    if finding.missing is not None:
        raise SetUpError(
            f"Qt or OpenCV cannot start on this machine ({finding.missing}): install the package "
            "of your system that holds what is named there, and start again."
        )
    return finding


def _provide_fonts(runner: Runner) -> None:
    """Bring one family of fonts, or say that texts will look wrong; that alone stops nothing."""
    complaint = "There are no fonts on this machine, so that texts show as boxes"
    family = this_family()
    if family == "fedora":
        say(f"{complaint}: run `sudo dnf install -y {FEDORA['fonts'][0]}`")
    elif family == "debian":
        try:
            install_on_debian(
                list(DEBIAN["fonts"]), runner=runner, otherwise=complaint + ": run `{command}`"
            )
        except SetUpError as error:
            say(str(error))
    else:
        say(f"{complaint}: install a font such as DejaVu Sans.")


def install_on_debian(packages: list[str], *, runner: Runner = run, otherwise: str) -> None:
    """Install packages as root on Debian or Ubuntu.

    Raises SetUpError with the sentence `otherwise`, its {command} filled in, where this is
    another system, another user, or apt fails.
    """
    is_debian = this_family() == "debian" and shutil.which("apt-get") is not None
    may_install = is_debian and os.geteuid() == 0
    if may_install:
        runner([*APT_GET, "update"], settings=APT_SETTINGS)

    def known(name: str) -> bool:
        return is_debian and runner(["apt-cache", "show", name]).code == 0

    names = debian_names(packages, known)
    if may_install:
        say(f"Installing what the system lacks, which takes up to a minute: {' '.join(names)}")
        install = [*APT_GET, "install", "--no-install-recommends", *names]
        ended = runner(install, settings=APT_SETTINGS)
        if ended.code == 0:
            return
        say(ended.said)
    prefix = "" if may_install else "sudo "
    command = f"{prefix}apt-get update && {prefix}apt-get install -y {' '.join(names)}"
    raise SetUpError(otherwise.format(command=command))
