"""What is fitted at the machine now: kept for the workshop, outside of any session.

The file is a glass profile of which only the machine and the glass count.
"""

from pathlib import Path

from app.folders import config_folder
from shared.atomic import write_text
from shared.errors import ProfileError
from shared.profile import GlassProfile
from shared.profile_file import dump_profile, read_profile


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
