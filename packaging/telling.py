"""How the set-up speaks to the user, and how it runs other programs."""

import os
import subprocess
import sys
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

LAST_LINES = 15


class SetUpError(Exception):
    """Something is missing that the set-up cannot bring by itself; the sentence says what to do."""


@dataclass(frozen=True)
class Outcome:
    """How a program ended: its exit code and the last lines of what it said."""

    code: int
    said: str


Runner = Callable[..., Outcome]


def say(sentence: str) -> None:
    """Speak on standard error, since standard output belongs to the program that is started."""
    print(sentence, file=sys.stderr, flush=True)


def run(
    command: Sequence[str],
    *,
    folder: Path | None = None,
    settings: Mapping[str, str] | None = None,
    news: Sequence[str] = (),
) -> Outcome:
    """Run a program to its end and keep its last lines.

    `settings` are environment variables set in addition. Lines that begin with one of `news` are
    passed on as they come, so that a long run shows that it is alive.
    """
    last: deque[str] = deque(maxlen=LAST_LINES)
    try:
        with subprocess.Popen(
            command,
            cwd=folder,
            env={**os.environ, **(settings or {})},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
        ) as process:
            assert process.stdout is not None
            for line in process.stdout:
                last.append(line.rstrip())
                if line.startswith(tuple(news)):
                    say("  " + line.split(" (")[0].rstrip())
    except OSError as error:
        return Outcome(127, f"{command[0]}: {error.strerror}")
    return Outcome(process.returncode, "\n".join(last))
