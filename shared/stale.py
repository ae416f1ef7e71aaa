"""What makes a measured profile stale: another machine, tube, lens, focus, glass or masking."""

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

    A starting guess was never measured and so cannot go stale; a focus counts where both are told.
    """
    if profile.origin == "starting guess":
        return ()
    known = profile.machine
    known_sheet = profile.sheet
    checks = (
        (known.name != machine.name, _other("on", "machine", known.name, machine.name)),
        (
            (known.tube, known.tube_date) != (machine.tube, machine.tube_date),
            _other("with", "tube", _tube(known), _tube(machine)),
        ),
        (
            abs(known.rated_w / machine.rated_w - 1.0) > SAME,
            _other("with", "rated power", f"{known.rated_w:g} W", f"{machine.rated_w:g} W"),
        ),
        (
            abs(known.beam_mm / machine.beam_mm - 1.0) > SAME,
            _other("with", "lens", f"a beam of {known.beam_mm:g} mm", f"{machine.beam_mm:g} mm"),
        ),
        (
            known.focus != machine.focus and bool(known.focus and machine.focus),
            _other("with", "focus", known.focus, machine.focus),
        ),
        (known_sheet.kind != sheet.kind, _other("on", "glass", known_sheet.kind, sheet.kind)),
        (
            abs(known_sheet.thickness_mm / sheet.thickness_mm - 1.0) > SAME,
            _other(
                "on",
                "thickness of glass",
                f"{known_sheet.thickness_mm:g} mm",
                f"{sheet.thickness_mm:g} mm",
            ),
        ),
        (
            known_sheet.masking != sheet.masking,
            _other("with", "masking", known_sheet.masking or "none", sheet.masking or "none"),
        ),
    )
    return tuple(sentence for differs, sentence in checks if differs)


def _other(how: str, what: str, then: str, now: str) -> str:
    return f"It was measured {how} another {what}: then {then}; now {now}."


def _tube(machine: Machine) -> str:
    words = " ".join(word for word in (machine.tube, machine.tube_date) if word)
    return words or "one without a name"
