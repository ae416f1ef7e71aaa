"""Warnings from physics: what this setting, this glass and this pitch will not do."""

from collections.abc import Iterator

import attrs
import numpy as np

from engine import beam, burning, glass
from engine.drive import Aim, aim_of
from engine.linearise import UNREACHABLE
from engine.response import FLAKED_OFF, flaked
from shared.profile import GlassProfile
from shared.recipe import Recipe
from shared.units import percent

LEAST_GAP_L = 2.0
"""A gap above bare glass that is smaller hardly shows; CIE L*, starting guess."""
BARE = 0.02
"""Frost below which a measured point counts as bare."""
MOST_OVERLAP = 0.75
"""Beyond this overlap a finer pitch costs time and brings nothing; starting guess."""
SAME_PITCH = 0.02
"""Relative difference up to which two pitches count as the same."""


@attrs.frozen
class Caution:
    """A warning in plain words, and the step of the bench where it is mended."""

    step: str
    sentence: str


def glass_cautions(recipe: Recipe, profile: GlassProfile) -> tuple[Caution, ...]:
    """All that speaks against this recipe on this glass, the gravest first."""
    return (
        *_energy(profile),
        *_machine(profile),
        *_gap(aim_of(recipe, profile)),
        *_pitch(recipe, profile),
    )


def closing_power_pct(profile: GlassProfile) -> float | None:
    """The least power that starts just at the threshold; None where the tube does not fire there,
    and where no measured point is bare, so that nobody knows the threshold.

    From fluence = watts / (speed x pitch) at the profile's threshold, or for a measured curve at
    its last bare point.
    """
    if profile.measured_curve and all(knot.frost >= BARE for knot in profile.knots):
        return None
    threshold = _threshold(profile)
    setting = profile.setting
    watts = threshold * setting.speed_mm_s * setting.pitch_mm
    percent = 100.0 * watts / profile.machine.rated_w
    return percent if profile.machine.firing_floor_pct <= percent < 100.0 else None


def _threshold(profile: GlassProfile) -> float:
    if not profile.measured_curve:
        return profile.response.threshold_j_mm2
    bare = [k.fluence_j_mm2 for k in profile.knots if k.frost < BARE]
    frosted = [k.fluence_j_mm2 for k in profile.knots if k.frost >= BARE]
    if not frosted:
        return max(bare)
    return max([f for f in bare if f < min(frosted)], default=min(frosted))


def _energy(profile: GlassProfile) -> Iterator[Caution]:
    most = profile.fluence_j_mm2(profile.setting.power_max_pct)
    if most <= _threshold(profile):
        yield Caution(
            "glass",
            f"The greatest power gives {most:.2f} J/mm\u00b2, below this glass's threshold: "
            "nothing will be marked. Raise the power or go slower.",
        )
    if flaked(most, profile) > FLAKED_OFF:
        yield Caution(
            "glass",
            f"The greatest power gives {most:.2f} J/mm\u00b2, beyond "
            f"{profile.response.flaking_j_mm2:.2f} where frost flakes off: lower it or go faster.",
        )


def _machine(profile: GlassProfile) -> Iterator[Caution]:
    machine, setting = profile.machine, profile.setting
    if setting.power_min_pct < machine.firing_floor_pct:
        yield Caution(
            "glass",
            f"The tube does not fire below {machine.firing_floor_pct:g} %, so the lightest tones "
            f"from {setting.power_min_pct:g} % on stay bare: raise the least power.",
        )
    if not machine.slowest_mm_s <= setting.speed_mm_s <= machine.fastest_mm_s:
        yield Caution(
            "glass",
            f"{setting.speed_mm_s:g} mm/s is not within this machine's {machine.slowest_mm_s:g} to "
            f"{machine.fastest_mm_s:g} mm/s.",
        )


def _gap(aim: Aim) -> Iterator[Caution]:
    if aim.screen.kind != "continuous" or aim.curve.least <= UNREACHABLE:
        return
    low, high = glass.lightness_of_mark(np.array([0.0, aim.curve.least]), aim.ends)
    gap = abs(float(high - low))
    if gap < LEAST_GAP_L:
        return
    closing = closing_power_pct(aim.profile)
    cure = "go faster" if closing is None else f"set it to {closing:.1f} %"
    yield Caution(
        "glass",
        f"The least power of {aim.profile.setting.power_min_pct:g} % leaves a gap of {gap:.0f} L* "
        f"above bare glass: {cure}, or use the mixed screen.",
    )


def _pitch(recipe: Recipe, profile: GlassProfile) -> Iterator[Caution]:
    pitch, known = recipe.plate.pitch_mm, profile.setting.pitch_mm
    guessed = profile.origin == "starting guess"
    if not guessed and abs(pitch / known - 1.0) > SAME_PITCH:
        yield Caution(
            "plate",
            f"This glass profile is for a pitch of {known:g} mm; at {pitch:g} mm its tones are "
            "only reckoned.",
        )
    overlap = beam.line_overlap(profile.machine.beam_mm, pitch)
    if overlap < 0.0:
        yield Caution(
            "plate",
            f"The pitch is wider than the beam of {profile.machine.beam_mm:g} mm: lines will "
            f"show, {percent(beam.line_ripple(profile.machine.beam_mm, pitch))} uneven.",
        )
    spread = burning.total_spread_mm(profile)
    if overlap > MOST_OVERLAP or 2.0 * pitch < spread:
        yield Caution(
            "plate",
            f"Single dots of {pitch:g} mm are smaller than the spread of {2.0 * spread:.2f} mm and "
            "will not stand: a coarser pitch is quicker and looks the same.",
        )
