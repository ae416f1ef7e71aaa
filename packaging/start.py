#!/usr/bin/env python3
"""Sets Rimetype up in the folder .venv and starts it.

    python3 packaging/start.py               the studio, on the demo portrait
    python3 packaging/start.py test          all tests, without a window
    python3 packaging/start.py ANYTHING      the same as: rimetype ANYTHING

This file keeps to what every Python since 2.7 can read, so that an old one answers with a
sentence and not with a syntax error. The work is done by the files beside it, which need no more
than the standard library.
"""

import os
import subprocess
import sys

OLDEST = (3, 11)
NAMES = ["python3.%d" % minor for minor in range(20, OLDEST[1] - 1, -1)]


def newer_python():
    # type: () -> str | None
    """Find a Python on PATH that is new enough and runs; a name alone proves nothing."""
    test = "import sys; sys.exit(sys.version_info < (%d, %d))" % OLDEST
    for name in NAMES:
        for folder in os.environ.get("PATH", "").split(os.pathsep):
            candidate = os.path.join(folder, name)
            if os.access(candidate, os.X_OK) and not os.path.isdir(candidate):
                with open(os.devnull, "w") as nowhere:
                    tried = subprocess.call([candidate, "-c", test], stderr=nowhere)
                if tried == 0:
                    return candidate
    return None


def main():
    # type: () -> int
    """Hand over to a Python that is new enough, or say that there is none."""
    if sys.version_info < OLDEST:
        newer = newer_python()
        if newer is not None:
            os.execv(newer, [newer, os.path.abspath(__file__)] + sys.argv[1:])
        sys.stderr.write(
            "Rimetype needs Python %d.%d or newer and this is Python %d.%d: install a newer one "
            "and run this file with it, for example: python3.12 packaging/start.py\n"
            % (OLDEST + tuple(sys.version_info[:2]))
        )
        return 1
    import launch

    return launch.main(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
