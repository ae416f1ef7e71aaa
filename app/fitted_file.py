"""What is fitted at the machine now: kept for the workshop, outside of any session.

The file is a glass profile of which only the machine and the glass count.
"""

from pathlib import Path

import attrs

from app.folders import config_folder
from shared.atomic import write_text
from shared.errors import ProfileError
from shared.profile import GlassProfile, Machine, Setting
from shared.profile_file import dump_profile, read_profile

MACHINE = ("name", "tube", "tube_date", "rated_w", "beam_mm", "focus")
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
    """A profile for what is fitted now: a strip that is made now will be burnt there, and a tube of
    another rated power gets the same watts, as far as it has them."""
    if now is None:
        return profile
    machine = {name: getattr(now.machine, name) for name in MACHINE}
    sheet = {name: getattr(now.sheet, name) for name in SHEET}
    fitted = attrs.evolve(profile.machine, **machine)
    return attrs.evolve(
        profile,
        machine=fitted,
        sheet=attrs.evolve(profile.sheet, **sheet),
        setting=_same_watts(profile.setting, profile.machine, fitted),
    )


def _same_watts(setting: Setting, was: Machine, now: Machine) -> Setting:
    if now.rated_w == was.rated_w:
        return setting
    share = was.rated_w / now.rated_w
    most = min(max(round(setting.power_max_pct * share, 1), 0.1), 100.0)
    least = max(round(setting.power_min_pct * share, 1), now.firing_floor_pct)
    if least >= most:
        most = min(2.0 * least, 100.0)
    if least >= most:
        least = max(most / 2.0, now.firing_floor_pct)
    return attrs.evolve(setting, power_max_pct=most, power_min_pct=least)


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
