"""Pictures for two panes, and a user's hands and eyes on them."""

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton

from app.compare.frame import Frame
from app.qimage import array_from_image, image_from_array

LEFT = Qt.MouseButton.LeftButton
COLUMNS, ROWS = 300, 400
A_GREY, B_GREY, DIFFERENCE_GREY = 60, 180, 250


def flat(grey):
    return whole_plate(np.full((ROWS, COLUMNS), grey, np.uint8))


def whole_plate(pixels, *, mirrored=False):
    held = pixels[:, ::-1] if mirrored else pixels
    return Frame(image_from_array(held), 0.0, 0.0, 30.0, 40.0, mirrored=mirrored)


def grey_grab(widget):
    return array_from_image(widget.grab().toImage())[..., 1]


def middle_grey(compare, index=0):
    shown = grey_grab(compare.panes[index].canvas)
    return int(shown[shown.shape[0] // 3, shown.shape[1] // 2 - 30])


def record(signal):
    heard = []
    signal.connect(lambda *values: heard.append(values))
    return heard


def button(compare, name):
    found = [b for b in compare.findChildren(QAbstractButton) if b.accessibleName() == name]
    assert len(found) == 1, name
    return found[0]


def click(qtbot, compare, name):
    qtbot.mouseClick(button(compare, name), LEFT)
