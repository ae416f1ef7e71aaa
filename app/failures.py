"""What went wrong, as one plain sentence, whatever it was."""

import sys

from shared.errors import RimetypeError


def sentence_of(error: Exception) -> str:
    """A sentence for the user; what nobody expected is named, so that it can be reported."""
    if isinstance(error, RimetypeError):
        return str(error)
    if isinstance(error, MemoryError):
        return "There is not enough memory for this; close other programs or choose less."
    what = " ".join(f"{type(error).__name__}: {error}".split())
    return f"Something failed inside Rimetype ({what.rstrip(' :')}); try again or report it."


def complain(sentence: str, status: int) -> int:
    """Say on standard error what went wrong; returns the exit status."""
    print(sentence, file=sys.stderr)
    return status
