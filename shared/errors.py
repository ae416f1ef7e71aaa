"""Every error that Rimetype raises on purpose.

    RimetypeError
    +-- InputError            what the user gave cannot be used; exit status 2
    |   +-- PhotoError        the photo cannot be opened or used
    |   +-- RecipeError       a recipe, a field or a value is not acceptable
    |   +-- ProfileError      a glass profile cannot be read
    |   +-- SessionError      a saved session cannot be read
    |   +-- OutputError       the place to write to cannot be used
    +-- FaultError            something failed inside or in the machine; exit status 1
    |   +-- WriteError        a file could not be written, or read back differently
    +-- Cancelled             the user stopped the work; nothing was written

Each carries one plain sentence that says what is wrong and what to do about it.
"""


class RimetypeError(Exception):
    """Base of the family; `str(error)` is a sentence for the user."""

    def __init__(self, sentence: str) -> None:
        if not sentence:
            raise ValueError("an error needs a sentence")
        super().__init__(sentence)


class InputError(RimetypeError):
    """What the user gave cannot be used as it is."""


class PhotoError(InputError):
    """The photo cannot be opened or used."""


class RecipeError(InputError):
    """A recipe, a field or a value is not acceptable."""


class ProfileError(InputError):
    """A glass profile cannot be read."""


class SessionError(InputError):
    """A saved session cannot be read."""


class OutputError(InputError):
    """The place to write to cannot be used."""


class FaultError(RimetypeError):
    """Something failed inside Rimetype or in the machine."""


class WriteError(FaultError):
    """A file could not be written, or was read back differently."""


class Cancelled(RimetypeError):
    """The user stopped the work."""

    def __init__(self, sentence: str = "Stopped; nothing was written.") -> None:
        super().__init__(sentence)
