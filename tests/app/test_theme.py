"""The colours can be told apart, and every icon is there and shows something."""

import re

import pytest
from PySide6.QtGui import QColor, QImage, QPalette
from PySide6.QtWidgets import QLabel

from app import theme

GROUNDS = {"WINDOW": theme.WINDOW, "PANEL": theme.PANEL, "PANE": theme.PANE}
WORDS = {
    "TEXT": theme.TEXT,
    "QUIET": theme.QUIET,
    "ACCENT": theme.ACCENT,
    "WARN": theme.WARN,
    "DANGER": theme.DANGER,
}
ICONS = sorted(path.stem for path in theme.ICONS.glob("*.svg"))


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it (the definition of "relative luminance")."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.2 defines it."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_measure_itself_is_right():
    """Black on white is 21:1 and #767676 on white 4.54:1 (a well-known least grey of WCAG)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("word", WORDS)
def test_text_reaches_the_least_contrast(word, ground):
    """WCAG 2.2, success criterion 1.4.3: at least 4.5:1."""
    assert contrast(WORDS[word], GROUNDS[ground]) >= 4.5


@pytest.mark.parametrize("word", ["TEXT", "QUIET", "ACCENT"])
def test_text_on_raised_rows_and_pressed_segments_reaches_it_too(word):
    assert contrast(WORDS[word], theme.RAISED) >= 4.5
    assert contrast(theme.PANE, theme.ACCENT) >= 4.5


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("line", [theme.EDGE, theme.ACCENT])
def test_outlines_and_focus_reach_the_least_contrast(line, ground):
    """WCAG 2.2, success criterion 1.4.11: at least 3:1."""
    assert contrast(line, GROUNDS[ground]) >= 3.0


def test_the_active_choice_differs_from_the_others_by_more_than_colour():
    assert contrast(theme.ACCENT, theme.RAISED) >= 3.0


@pytest.mark.parametrize("name", ["WINDOW", "PANEL", "PANE", "RAISED", "LINE", "EDGE", "TEXT"])
def test_greys_have_no_tint(name):
    red, green, blue, _ = QColor(getattr(theme, name)).getRgb()
    assert red == green == blue


def test_applying_sets_palette_font_and_sheet(qapp):
    theme.apply(qapp)
    try:
        assert qapp.palette().color(QPalette.ColorRole.Window).name() == theme.WINDOW
        assert qapp.styleSheet() == theme.style_sheet()
        assert theme.caption_font().pointSizeF() < qapp.font().pointSizeF()
    finally:
        qapp.setStyleSheet("")


def test_captions_follow_a_font_given_in_pixels(qapp):
    before = qapp.font()
    font = qapp.font()
    font.setPixelSize(20)
    qapp.setFont(font)
    try:
        assert theme.caption_font().pixelSize() == 18
    finally:
        qapp.setFont(before)


def test_a_caption_is_small_and_quiet(qapp, qtbot):
    theme.apply(qapp)
    label = QLabel("pixels per mm")
    qtbot.addWidget(label)
    theme.as_caption(label)
    label.ensurePolished()
    try:
        assert label.font().pointSizeF() < qapp.font().pointSizeF()
        assert label.palette().color(QPalette.ColorRole.WindowText).name() == theme.QUIET
    finally:
        qapp.setStyleSheet("")


@pytest.mark.usefixtures("qapp")
@pytest.mark.parametrize("name", ICONS)
@pytest.mark.parametrize("size", [16, 32, 256])
def test_every_icon_fills_its_place_without_touching_the_border(name, size):
    image = theme.icon(name).pixmap(size, size).toImage()
    assert image.width() == size
    inked = [
        (x, y)
        for x in range(0, size, max(1, size // 64))
        for y in range(0, size, max(1, size // 64))
        if image.pixelColor(x, y).alpha() > 60
    ]
    assert len(inked) > 8
    spread = max(x for x, _ in inked) - min(x for x, _ in inked)
    assert spread >= 0.5 * size


@pytest.mark.usefixtures("qapp")
def test_an_icon_takes_a_colour_and_the_screens_scale():
    pixmap = theme.icon_pixmap("output", theme.ACCENT, 18, 2.0)
    assert pixmap.width() == 36
    assert pixmap.deviceIndependentSize().width() == 18
    image = pixmap.toImage().convertToFormat(QImage.Format.Format_ARGB32)
    solid = [
        image.pixelColor(x, y).name()
        for x in range(36)
        for y in range(36)
        if image.pixelColor(x, y).alpha() == 255
    ]
    assert solid
    assert set(solid) == {theme.ACCENT}


def test_a_missing_icon_says_what_to_look_at():
    with pytest.raises(FileNotFoundError, match="resources folder"):
        theme.icon("nowhere")


def test_the_sheet_names_only_icons_that_exist():
    urls = re.findall(r'url\("([^"]+)"\)', theme.style_sheet())
    assert len(urls) == 2
    assert all(url.endswith((".svg",)) for url in urls)
