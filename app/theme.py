"""The look of the window: colours, fonts, icons and the one style sheet."""

from functools import cache
from pathlib import Path

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QIcon, QPainter, QPalette, QPixmap
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QApplication, QWidget

WINDOW = "#2b2b2b"
"""Behind everything."""
PANEL = "#333333"
"""The bench, the ticket and the rows above panes."""
PANE = "#1f1f1f"
"""The neutral surround of pictures, and the inside of fields."""
RAISED = "#3d3d3d"
"""Buttons, and rows under the pointer."""
TEXT = "#e6e6e6"
QUIET = "#b0b0b0"
"""Captions, units and icons."""
LINE = "#474747"
"""Hairlines that only part things."""
EDGE = "#858585"
"""Outlines without which a control could not be made out."""
ACCENT = "#a9d6e5"
"""Focus and the active choice, nothing else."""
WARN = "#e0a83c"
DANGER = "#ee8877"

GRID = 8
"""Distances are multiples of this, or halves of it, in px."""
TITLE = 40
"""Height that a window's title takes at the most, in px."""
CAPTION_SHARE = 0.88
"""Size of captions against that of controls."""

ICONS = Path(__file__).resolve().parents[1] / "resources" / "icons"


def apply(app: QApplication) -> None:
    """Give the program its style: Fusion, the palette, the font and the style sheet."""
    app.setStyle("Fusion")
    app.setPalette(_palette())
    font = QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont)
    font.setFeature(QFont.Tag("tnum"), 1)
    app.setFont(font)
    app.setStyleSheet(style_sheet())


def caption_font() -> QFont:
    """The smaller of the two sizes of text."""
    font = QFont(QApplication.font())
    if font.pointSizeF() > 0:
        font.setPointSizeF(font.pointSizeF() * CAPTION_SHARE)
    else:
        font.setPixelSize(round(font.pixelSize() * CAPTION_SHARE))
    return font


def as_caption(widget: QWidget) -> None:
    """Make a label's text small and quiet."""
    widget.setFont(caption_font())
    widget.setProperty("role", "caption")


def resize(window: QWidget, width: int, height: int) -> None:
    """Make a window so large, if the screen holds it with its title."""
    room = window.screen().availableSize() - QSize(0, TITLE)
    window.resize(QSize(width, height).boundedTo(room))


def icon(name: str) -> QIcon:
    """One of the icons that were drawn for Rimetype, by its file's name without `.svg`."""
    return QIcon(str(_icon_path(name)))


@cache
def icon_pixmap(name: str, colour: str, size: int, ratio: float) -> QPixmap:
    """An icon in one colour, `size` px wide on a screen with `ratio` device pixels per px."""
    device = round(size * ratio)
    pixmap = QPixmap(device, device)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    QSvgRenderer(str(_icon_path(name))).render(painter, QRectF(0, 0, device, device))
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceIn)
    painter.fillRect(pixmap.rect(), QColor(colour))
    painter.end()
    pixmap.setDevicePixelRatio(ratio)
    return pixmap


def _icon_path(name: str) -> Path:
    path = ICONS / f"{name}.svg"
    if not path.is_file():
        raise FileNotFoundError(f"There is no icon {path}; is the resources folder complete?")
    return path


def _palette() -> QPalette:
    role = QPalette.ColorRole
    colours = {
        role.Window: WINDOW,
        role.WindowText: TEXT,
        role.Base: PANE,
        role.AlternateBase: WINDOW,
        role.Text: TEXT,
        role.PlaceholderText: QUIET,
        role.Button: RAISED,
        role.ButtonText: TEXT,
        role.BrightText: TEXT,
        role.ToolTipBase: PANE,
        role.ToolTipText: TEXT,
        role.Highlight: ACCENT,
        role.HighlightedText: PANE,
        role.Link: ACCENT,
        role.LinkVisited: ACCENT,
        role.Accent: ACCENT,
    }
    palette = QPalette(QColor(RAISED), QColor(WINDOW))
    for name, colour in colours.items():
        palette.setColor(name, QColor(colour))
    for name in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, name, QColor(EDGE))
    return palette


def style_sheet() -> str:
    """The style sheet of the whole program."""
    return f"""
    * {{ dialogbuttonbox-buttons-have-icons: 0; }}
    QToolTip {{ background: {PANE}; color: {TEXT}; border: 1px solid {EDGE}; padding: 4px; }}
    QLabel[role="caption"] {{ color: {QUIET}; }}
    QLabel[role="warning"] {{ color: {WARN}; }}
    QLabel[role="danger"] {{ color: {DANGER}; }}

    QPushButton, QToolButton {{
        background: {RAISED}; color: {TEXT}; border: 1px solid {EDGE}; border-radius: 3px;
        padding: 3px 10px; min-height: 16px;
    }}
    QPushButton:hover, QToolButton:hover {{ background: {LINE}; }}
    QPushButton:pressed, QToolButton:pressed {{ background: {PANE}; }}
    QPushButton:checked, QToolButton:checked {{
        background: {ACCENT}; color: {PANE}; border-color: {ACCENT};
    }}
    QPushButton:disabled, QToolButton:disabled {{
        background: {PANEL}; color: {EDGE}; border-color: {LINE};
    }}
    QPushButton[role="quiet"] {{
        background: transparent; color: {QUIET}; border: 1px solid transparent;
        padding: 3px 6px;
    }}
    QPushButton[role="quiet"]:disabled {{ background: transparent; border-color: transparent; }}
    QPushButton[role="quiet"]:focus {{ border: 2px solid {ACCENT}; padding: 2px 5px; }}
    QPushButton[role="quiet"]:hover {{ color: {TEXT}; border-color: {EDGE}; }}
    QPushButton[role="step"] {{ border: none; padding: 0; min-height: 0; }}
    QPushButton[role="main"] {{
        background: {ACCENT}; color: {PANE}; border: 1px solid {ACCENT}; padding: 8px 16px;
    }}
    QPushButton[role="main"]:hover {{ background: {TEXT}; }}
    QPushButton[role="main"]:disabled {{
        background: {PANEL}; color: {EDGE}; border-color: {LINE};
    }}
    QPushButton:focus, QToolButton:focus {{ border: 2px solid {ACCENT}; padding: 2px 9px; }}
    QPushButton:checked:focus, QToolButton:checked:focus {{ border: 2px solid {TEXT}; }}
    QPushButton[role="main"]:focus {{ border: 2px solid {TEXT}; padding: 7px 15px; }}

    QToolButton[role="segment"] {{ border-radius: 0; margin-left: -1px; padding: 3px 8px; }}
    QToolButton[role="segment"]:focus {{ padding: 2px 7px; }}

    QAbstractSpinBox, QLineEdit, QComboBox {{
        background: {PANE}; color: {TEXT}; border: 1px solid {EDGE}; border-radius: 3px;
        padding: 2px 5px; min-height: 18px;
        selection-background-color: {ACCENT}; selection-color: {PANE};
    }}
    QAbstractSpinBox:focus, QLineEdit:focus, QComboBox:focus {{
        border: 2px solid {ACCENT}; padding: 1px 4px;
    }}
    QAbstractSpinBox:disabled, QLineEdit:disabled, QComboBox:disabled {{
        background: {PANEL}; color: {EDGE}; border-color: {LINE};
    }}
    QAbstractSpinBox::up-button, QAbstractSpinBox::down-button {{ width: 0; border: none; }}
    QAbstractSpinBox QLineEdit, QAbstractSpinBox QLineEdit:focus {{
        border: none; padding: 0; min-height: 0; background: transparent;
    }}
    QComboBox {{ combobox-popup: 0; }}
    QComboBox::drop-down {{ border: none; width: 20px; }}
    QComboBox::down-arrow {{ image: url("{_url("chevron")}"); width: 12px; height: 12px; }}
    QComboBox QAbstractItemView {{
        background: {PANE}; color: {TEXT}; border: 1px solid {EDGE};
        selection-background-color: {ACCENT}; selection-color: {PANE};
    }}

    QComboBox QAbstractItemView::item {{ min-height: 24px; padding: 0 6px; }}

    QCheckBox {{ spacing: 8px; padding: 3px; border: 2px solid transparent; border-radius: 3px; }}
    QCheckBox:focus {{ border-color: {ACCENT}; }}
    QCheckBox::indicator {{
        width: 14px; height: 14px; background: {PANE}; border: 1px solid {EDGE};
        border-radius: 3px;
    }}
    QCheckBox::indicator:checked {{
        background: {ACCENT}; border-color: {ACCENT}; image: url("{_url("tick")}");
    }}

    QProgressBar {{
        background: {PANE}; border: 1px solid {LINE}; border-radius: 3px; max-height: 10px;
    }}
    QProgressBar::chunk {{ background: {ACCENT}; border-radius: 2px; }}

    QScrollArea {{ border: none; background: transparent; }}
    QScrollBar:vertical {{ background: transparent; width: 10px; margin: 0; }}
    QScrollBar:horizontal {{ background: transparent; height: 10px; margin: 0; }}
    QScrollBar::handle {{ background: {EDGE}; border-radius: 3px; margin: 2px; }}
    QScrollBar::handle:vertical {{ min-height: 24px; }}
    QScrollBar::handle:horizontal {{ min-width: 24px; }}
    QScrollBar::handle:hover {{ background: {QUIET}; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
    QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}

    QMenu {{ background: {PANEL}; color: {TEXT}; border: 1px solid {EDGE}; padding: 4px; }}
    QMenu::item {{ padding: 4px 24px; border-radius: 3px; }}
    QMenu::item:selected {{ background: {ACCENT}; color: {PANE}; }}
    QMenu::item:disabled {{ color: {EDGE}; }}
    QMenu::separator {{ height: 1px; background: {LINE}; margin: 4px 8px; }}
    QMenuBar {{ background: {WINDOW}; color: {TEXT}; }}
    QMenuBar::item:selected {{ background: {RAISED}; color: {TEXT}; }}
    QStatusBar {{ background: {WINDOW}; color: {QUIET}; }}
    QSplitter::handle {{ background: {WINDOW}; }}
    """


def _url(name: str) -> str:
    return _icon_path(name).as_posix()
