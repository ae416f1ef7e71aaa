"""`python -m app` is the same as `rimetype`."""

import sys

from app.command import run


def main() -> None:
    """Entry point of the `rimetype` command."""
    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
