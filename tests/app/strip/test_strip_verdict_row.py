"""A row of the ranking says all that it has to say."""

import numpy as np
import pytest
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QListWidget, QListWidgetItem

from app import theme
from app.qimage import array_from_image
from app.strip.verdict_row import ROW_HEIGHT, VerdictDelegate, VerdictText

REASON = (
    "The greatest power is so strong that frost flakes off. It suits dots: continuous power would "
    "begin at 54 % frost."
)


def painted(qtbot, reason: str, marked: bool, share: float = 2.3):
    """The row in a list so narrow that REASON takes three lines, or four."""
    rows = QListWidget()
    qtbot.addWidget(rows)
    rows.setItemDelegate(VerdictDelegate(rows))
    item = QListWidgetItem()
    text = VerdictText("60 to 15 % at 250 mm/s", reason, "error about 0.5 L*", marked, marked)
    item.setData(VerdictDelegate.TEXT, text)
    rows.addItem(item)
    rows.resize(round(QFontMetrics(rows.font()).horizontalAdvance(REASON) / share) + 40, ROW_HEIGHT)
    return array_from_image(rows.viewport().grab().toImage()), QFontMetrics(rows.font())


@pytest.mark.parametrize("marked", [True, False])
def test_a_reason_of_three_lines_is_seen_whole(qtbot, marked: bool) -> None:
    whole, metrics = painted(qtbot, REASON, marked)
    short, _ = painted(qtbot, REASON.removesuffix("frost."), marked)
    last_word = np.any(whole != short, axis=(1, 2))
    assert abs(last_word.sum() - metrics.tightBoundingRect("frost.").height()) <= 1


@pytest.mark.parametrize("share", [1.5, 2.3, 3.5])
def test_the_words_recommended_and_chosen_are_seen_whole(qtbot, share: float) -> None:
    picture, _ = painted(qtbot, "", True, share)
    inner = picture[4:-4, 8:-4, :3].astype(int)  # without the frame, and the bar of the chosen row
    red, blue = (inner[:, :, channel] for channel in (0, 2))
    columns = np.flatnonzero((np.abs(blue - red) > 25).any(axis=0))
    words = QFontMetrics(theme.caption_font()).tightBoundingRect("recommended, chosen").width()
    assert abs(np.ptp(columns) + 1 - words) <= 4
