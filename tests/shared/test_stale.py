"""A measured profile goes stale with tube, lens, focus, glass or masking; a guess never does."""

import attrs
import pytest

from shared.profile import GENERIC, GlassProfile, Machine, Sheet
from shared.stale import stale, stale_today

MEASURED = attrs.evolve(GENERIC, origin="measured")
MACHINE, SHEET = MEASURED.machine, MEASURED.sheet


def test_what_has_not_changed_leaves_it_good() -> None:
    assert stale(MEASURED, MACHINE, SHEET) == ()


def test_a_starting_guess_cannot_go_stale() -> None:
    assert stale(GENERIC, Machine(tube="another"), Sheet(thickness_mm=6.0)) == ()


@pytest.mark.parametrize(
    ("machine", "sheet", "word"),
    [
        (attrs.evolve(MACHINE, tube="B"), SHEET, "tube"),
        (attrs.evolve(MACHINE, tube_date="today"), SHEET, "tube"),
        (attrs.evolve(MACHINE, rated_w=80.0), SHEET, "60 W"),
        (attrs.evolve(MACHINE, beam_mm=0.2), SHEET, "lens"),
        (attrs.evolve(MACHINE, name="Other"), SHEET, "machine"),
        (MACHINE, Sheet(kind="low-iron glass"), "glass"),
        (MACHINE, Sheet(thickness_mm=6.0), "3 mm"),
        (MACHINE, Sheet(masking=""), "masking"),
    ],
)
def test_each_change_is_named(machine: Machine, sheet: Sheet, word: str) -> None:
    (reason,) = stale(MEASURED, machine, sheet)
    assert word in reason


FOCUSED = attrs.evolve(MEASURED, machine=attrs.evolve(MACHINE, focus="on the surface"))


def test_another_focus_is_named() -> None:
    now = attrs.evolve(MACHINE, focus="2 mm above it")
    assert stale(FOCUSED, now, SHEET) == (
        "It was measured with another focus: then on the surface; now 2 mm above it.",
    )


@pytest.mark.parametrize(("then", "now"), [(FOCUSED, MEASURED), (MEASURED, FOCUSED)])
def test_a_focus_that_nobody_told_leaves_a_profile_good(
    then: GlassProfile, now: GlassProfile
) -> None:
    assert stale(then, now.machine, SHEET) == ()


def test_the_reason_says_what_it_was_and_what_it_is() -> None:
    known = attrs.evolve(
        MEASURED, machine=attrs.evolve(MACHINE, tube="A", tube_date="2026-03-01", beam_mm=0.14)
    )
    now = attrs.evolve(MACHINE, tube="B", beam_mm=0.2)
    assert stale(known, now, SHEET) == (
        "It was measured with another tube: then A 2026-03-01; now B.",
        "It was measured with another lens: then a beam of 0.14 mm; now 0.2 mm.",
    )


@pytest.mark.parametrize(("thickness_mm", "count"), [(3.0, 0), (4.0, 1)])
def test_until_somebody_says_what_is_fitted_only_the_thickness_counts(
    thickness_mm: float, count: int
) -> None:
    assert len(stale_today(MEASURED, None, thickness_mm)) == count
    fitted = attrs.evolve(MEASURED, machine=attrs.evolve(MACHINE, tube="B"))
    assert len(stale_today(MEASURED, fitted, thickness_mm)) == count + 1


def test_all_changes_are_named() -> None:
    assert len(stale(MEASURED, Machine(tube="B", beam_mm=0.2), Sheet(masking=""))) == 3
