"""How a photo was exposed and treated, and how two photos compare by that."""

import math

import attrs

from shared.errors import PhotoError

_WRITTEN = (
    "8000 6400 5000 4000 3200 2500 2000 1600 1250 1000 800 640 500 400 320 250 200 160 125 100 80 "
    "60 50 40 30 25 20 15 13 10 8 6 5 4 3"
)
_ROUNDED = {int(word) for word in _WRITTEN.split()}
"""Parts of a second that cameras write for times a third of a stop apart (common practice)."""


@attrs.frozen
class Exposure:
    """What the camera was set to, as the photo's file tells."""

    seconds: float
    iso: float
    f_number: float
    """0 where the file does not tell; phones have one."""
    treatment: tuple[int | None, ...] = ()
    """What the camera did to the tones, in EXIF's codes; None for what the file does not tell."""


def share_of(exposure: Exposure | None, first: Exposure | None) -> float:
    """How many times as much light the camera gathered as in the first photo.

    Raises PhotoError where the files do not tell, where the apertures differ, which are known too
    roughly, and where the camera says that it treated the two differently.
    """
    if exposure is None or first is None:
        raise PhotoError(
            "The two photos do not both tell how they were exposed; use the camera's own files, "
            "not ones that were edited or sent in a message."
        )
    if exposure.f_number != first.f_number:
        raise PhotoError(
            "The two photos were taken with different apertures or lenses; change the exposure "
            "time alone and photograph the strip again."
        )
    if _treated_apart(exposure.treatment, first.treatment):
        raise PhotoError(
            "The camera treated the two photos differently (night, HDR or scene mode, contrast); "
            "set one fixed mode for both and photograph the strip again."
        )
    seconds = exposure.seconds / first.seconds
    if _is_rounded(exposure.seconds) and _is_rounded(first.seconds):
        seconds = 2.0 ** (_thirds(exposure.seconds) - _thirds(first.seconds))
    return seconds * exposure.iso / first.iso


def _treated_apart(one: tuple[int | None, ...], other: tuple[int | None, ...]) -> bool:
    both = zip(one, other, strict=False)
    return any(a is not None and b is not None and a != b for a, b in both)


def _is_rounded(seconds: float) -> bool:
    parts = round(1.0 / seconds)
    return parts in _ROUNDED and math.isclose(seconds * parts, 1.0, rel_tol=1e-3)


def _thirds(seconds: float) -> float:
    """The exact time, in stops, that a rounded one stands for: 1/60 is 1/64 second."""
    return round(3.0 * math.log2(seconds)) / 3.0
