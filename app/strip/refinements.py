"""What glass profiles were refined from, and by which photos; known as long as the studio runs."""

import attrs

from shared.profile import GlassProfile


@attrs.frozen(eq=False)
class Refinement:
    """One step of a profile's way."""

    before: GlassProfile
    photo: str
    """Fingerprint of the photo by which it was refined."""


class Refinements:
    """Plates burnt before a refinement are still checked against what they were made with."""

    def __init__(self) -> None:
        self._ways: dict[GlassProfile, tuple[Refinement, ...]] = {}

    def keep(self, refined: GlassProfile, before: GlassProfile, photo: str) -> None:
        """Remember one refinement."""
        self._ways[refined] = (Refinement(before, photo), *self._ways.get(before, ()))

    def versions(self, profile: GlassProfile) -> tuple[GlassProfile, ...]:
        """The profile, then what it was before each of its refinements, the last one first."""
        return (profile, *(step.before for step in self._ways.get(profile, ())))

    def used(self, profile: GlassProfile, photo: str) -> bool:
        """Whether a photo has a share in a profile."""
        return any(step.photo == photo for step in self._ways.get(profile, ()))
