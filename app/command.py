"""The command line: the same engine without a window."""

import gc
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from app.failures import complain, sentence_of
from shared.errors import FaultError, InputError, PhotoError

COMMANDS = ("plate", "strip", "demo", "check")
STOPPED = "Stopped; nothing was written."
_KNOWN = "the commands are plate, strip, demo and check"


def run(arguments: Sequence[str]) -> int:
    """Run one command; returns the exit status: 0, 2 for what the user gave, 1 for a failure."""
    try:
        words = _routed(list(arguments))
        if words[0] == "open" and not any(word.startswith("-") for word in words):
            return open_studio(Path(words[1]) if words[1:] else None)
        from app.command_group import invoke  # which the window need not wait for

        return invoke(words)
    except KeyboardInterrupt:
        return complain(STOPPED, 1)
    except Exception as error:  # whatever fails inside reaches the user as a sentence
        return complain(sentence_of(error), 2 if isinstance(error, InputError) else 1)


def _routed(words: list[str]) -> list[str]:
    """The words with a command first: a photo alone, or nothing, opens the studio."""
    if not words:
        return ["open"]
    first = words[0]
    if first in COMMANDS or first.startswith("-"):
        return words
    if not os.path.exists(first):  # noqa: PTH110 - unlike Path's, it answers for any text
        if Path(first).suffix or os.sep in first:
            raise PhotoError(f"There is no photo {first}; check its name and its folder.")
        raise InputError(f"There is no command or photo named {first}; {_KNOWN}.")
    if len(words) > 1 and not words[1].startswith("-"):
        raise InputError(f"The studio opens one photo at a time; {_KNOWN}.")
    return ["open", *words]


def open_studio(photo: Path | None) -> int:
    """Open the window, on a photo if there is one; returns when it is closed."""
    places = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    if sys.platform.startswith("linux") and not any(os.environ.get(name) for name in places):
        raise FaultError(
            "There is no display to open the studio on; "
            "rimetype plate and rimetype demo --headless work without one."
        )
    gc.disable()  # until the window is shown hardly anything is garbage; see launch
    try:
        from app import launch
    except ImportError as error:
        gc.enable()
        raise FaultError(
            f"The studio cannot be opened ({error}); rimetype check says what is missing."
        ) from error
    return launch.open_studio(photo)
