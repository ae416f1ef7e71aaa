"""A measured profile goes stale with its tube, lens, glass or masking; a guess never does."""

import attrs
import pytest

from shared.profile import GENERIC, Machine, Sheet
from shared.stale import stale

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


def test_all_changes_are_named() -> None:
    assert len(stale(MEASURED, Machine(tube="B", beam_mm=0.2), Sheet(masking=""))) == 3
