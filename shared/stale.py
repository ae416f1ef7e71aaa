"""What makes a measured glass profile stale: another machine, tube, lens, glass or masking."""

import attrs

from shared.profile import GlassProfile, Machine, Sheet

SAME = 0.02
"""Relative difference up to which two figures count as the same."""


def stale_today(
    profile: GlassProfile, fitted: GlassProfile | None, thickness_mm: float
) -> tuple[str, ...]:
    """Why a profile does not hold for what is fitted now and a plate of that thickness.

    While nobody has said what is fitted, only the thickness counts.
    """
    now = profile if fitted is None else fitted
    return stale(profile, now.machine, attrs.evolve(now.sheet, thickness_mm=thickness_mm))


def stale(profile: GlassProfile, machine: Machine, sheet: Sheet) -> tuple[str, ...]:
    """Why a profile does not hold for a machine and glass: a sentence each; none if it does.

    A starting guess was never measured and so cannot go stale.
    """
    if profile.origin == "starting guess":
        return ()
    known = profile.machine
    checks = (
        (known.name != machine.name, f"It was measured on another machine: {known.name}."),
        (
            (known.tube, known.tube_date) != (machine.tube, machine.tube_date),
            f"It was measured with another tube: {_tube(known)}.",
        ),
        (
            abs(known.rated_w / machine.rated_w - 1.0) > SAME,
            f"It was measured with a tube of {known.rated_w:g} W.",
        ),
        (
            abs(known.beam_mm / machine.beam_mm - 1.0) > SAME,
            f"It was measured with another lens: a beam of {known.beam_mm:g} mm.",
        ),
        (
            profile.sheet.kind != sheet.kind,
            f"It was measured on another glass: {profile.sheet.kind}.",
        ),
        (
            abs(profile.sheet.thickness_mm / sheet.thickness_mm - 1.0) > SAME,
            f"It was measured on glass of {profile.sheet.thickness_mm:g} mm.",
        ),
        (
            profile.sheet.masking != sheet.masking,
            f"It was measured with another masking: {profile.sheet.masking or 'none'}.",
        ),
    )
    return tuple(sentence for differs, sentence in checks if differs)


def _tube(machine: Machine) -> str:
    words = " ".join(word for word in (machine.tube, machine.tube_date) if word)
    return words or "one without a name"
