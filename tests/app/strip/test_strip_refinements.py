"""What a profile was refined from, and by which photos."""

import attrs

from app.strip.burnt_with import BurntWith
from app.strip.refinements import Refinements
from shared.profile import GENERIC

ONCE, TWICE = (attrs.evolve(GENERIC, note=note) for note in ("once", "twice"))


def twice_refined():
    known = Refinements()
    known.keep(ONCE, GENERIC, "photo one")
    known.keep(TWICE, ONCE, "photo two")
    return known


def test_each_version_knows_the_ones_before_it_and_their_photos() -> None:
    known = twice_refined()
    assert known.versions(TWICE) == (TWICE, ONCE, GENERIC)
    assert known.versions(ONCE) == (ONCE, GENERIC)
    assert known.versions(GENERIC) == (GENERIC,)
    assert known.used(TWICE, "photo one")
    assert known.used(ONCE, "photo one")
    assert not known.used(ONCE, "photo two")
    assert not known.used(GENERIC, "photo one")


def test_of_several_versions_the_user_says_which(qtbot) -> None:
    row = BurntWith()
    qtbot.addWidget(row)
    row.show_versions([GENERIC])
    assert row.profile == GENERIC
    assert row.isHidden()
    row.show_versions(twice_refined().versions(TWICE))
    assert row.profile is None
    assert row.isVisible()
    assert row.box.itemText(2).endswith("before its last 2 refinements")
    row.box.setCurrentIndex(1)
    assert row.profile == ONCE
    row.show_versions(twice_refined().versions(TWICE), GENERIC)
    assert row.profile == GENERIC
