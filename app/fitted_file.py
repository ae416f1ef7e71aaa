"""What is fitted at the machine now: kept for the workshop, outside of any session.

The file is a glass profile of which only the machine and the glass count.
"""

from pathlib import Path

import attrs

from app.folders import config_folder
from shared.atomic import write_text
from shared.errors import ProfileError
from shared.profile import GlassProfile
from shared.profile_file import dump_profile, read_profile

MACHINE = ("name", "tube", "tube_date", "rated_w", "beam_mm")
SHEET = ("kind", "masking")
"""The figures by which a profile goes stale; the thickness of the glass is the plate's."""


def fitted_path() -> Path:
    """Where it is kept."""
    return config_folder() / "fitted.json"


def read_fitted() -> GlassProfile | None:
    """The machine and glass of today; None while nobody has said, or if the file is damaged."""
    if not fitted_path().exists():
        return None
    try:
        return read_profile(fitted_path())
    except ProfileError:
        return None


def with_fitted(profile: GlassProfile, now: GlassProfile | None) -> GlassProfile:
    """A profile for what is fitted now: a strip that is made now will be burnt there."""
    if now is None:
        return profile
    machine = {name: getattr(now.machine, name) for name in MACHINE}
    sheet = {name: getattr(now.sheet, name) for name in SHEET}
    return attrs.evolve(
        profile,
        machine=attrs.evolve(profile.machine, **machine),
        sheet=attrs.evolve(profile.sheet, **sheet),
    )


def keep_fitted(profile: GlassProfile) -> None:
    """Remember a profile's machine and glass as those of today. Raises OutputError."""
    path = fitted_path()
    now = GlassProfile(
        name="Fitted now",
        origin="entered by hand",
        note="Only machine and glass count.",
        machine=profile.machine,
        sheet=profile.sheet,
    )
    path.parent.mkdir(parents=True, exist_ok=True)
    write_text(dump_profile(now), path, overwrite=True)
