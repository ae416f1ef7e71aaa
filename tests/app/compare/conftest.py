"""Two panes that show pictures of one grey each."""

import pytest

from app.compare.compare import Compare
from tests.app.compare.parts import (
    A_GREY,
    B_GREY,
    DIFFERENCE_GREY,
    flat,
)


@pytest.fixture
def compare(qtbot):
    compare = Compare()
    qtbot.addWidget(compare)
    compare.viewport.set_plate(30.0, 40.0, 0.1)
    compare.resize(802, 600)
    compare.set_frame(0, flat(A_GREY))
    compare.set_frame(1, flat(B_GREY))
    compare.set_difference_frame(flat(DIFFERENCE_GREY))
    with qtbot.waitExposed(compare):
        compare.show()
    compare.activateWindow()
    qtbot.waitUntil(compare.isActiveWindow)
    return compare
