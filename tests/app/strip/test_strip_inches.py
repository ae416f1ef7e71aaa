"""A strip is planned by someone who works in inches."""

import pytest
from PySide6.QtCore import Qt

from app.strip.words import in_inches
from tests.app.conftest import WAIT_MS
from tests.app.strip.parts import open_page, settled

KEY = Qt.Key


@pytest.fixture
def page(open_desk, qtbot):
    """The step Make of a person who prefers inches."""
    open_desk.studio.settings.inches = True
    dialog = open_page(open_desk.studio, qtbot)
    qtbot.waitUntil(lambda: dialog.make.picture.strip is not None, timeout=WAIT_MS)
    yield dialog.make
    dialog.reject()


def type_length(qtbot, field, text):
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, KEY.Key_Return)


def test_lengths_that_were_not_typed_stay_as_they_are(page, qtbot):
    assert page.margin_field.text() == "0.236 in"
    type_length(qtbot, page.width_field, "6")
    settled(qtbot, lambda: page.picture.strip.size_mm[0] == 152.4)
    plan = page._planning.plan
    assert plan.size_mm == (152.4, 200.0)
    assert plan.margin_mm == 6.0
    assert page.write.isEnabled()


def test_the_least_margin_can_be_typed(page, qtbot):
    type_length(qtbot, page.margin_field, "1")
    settled(qtbot, lambda: page._planning.plan.margin_mm == 25.4)
    type_length(qtbot, page.margin_field, "0.236")
    assert page._planning.plan.margin_mm == 6.0


def test_what_does_not_fit_is_told_in_inches(page, qtbot):
    type_length(qtbot, page.width_field, "3")
    type_length(qtbot, page.height_field, "3")
    settled(qtbot, lambda: "do not fit" in page.problem.text())
    said = page.problem.text()
    assert "on a scrap of 3 x 3 inches with a margin of 0.236 inches; take one of" in said
    assert "mm" not in said
    assert page.picture.accessibleDescription() in said


def test_a_sentence_is_told_in_inches() -> None:
    assert in_inches("Glass of 3 mm needs 6 to 200 mm.") == (
        "Glass of 0.118 inches needs 0.236 to 7.874 inches."
    )
    assert in_inches("A margin of 25.4 mm.") == "A margin of 1 inch."
    assert in_inches("The speed 700 mm/s is too fast.") == "The speed 700 mm/s is too fast."
