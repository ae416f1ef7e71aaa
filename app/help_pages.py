"""Help in the window: the cautions, the keys, and what every field does."""

from collections.abc import Iterable

from PySide6.QtWidgets import QDialog, QDialogButtonBox, QTextBrowser, QVBoxLayout, QWidget

from app import theme
from shared.paths import RESOURCES
from shared.recipe import all_fields, default_of

PANE_KEYS = (
    ("Wheel, pinch, + and -", "Zoom at the pointer"),
    ("Drag, arrow keys", "Move the view; with the step Plate open, move the photo"),
    ("Shift + arrow keys", "The same in fine steps"),
    ("Ctrl + wheel", "Scale the photo, with the step Plate open"),
    ("Double click", "The whole plate, or 1:1 at the pointer"),
    ("0, 1, 2", "The whole plate, 1:1, actual size"),
    ("Escape", "Leave what a drag began"),
)
CONTROL_KEYS = (
    ("Arrow keys, Page Up, Page Down", "Change a value by a step, or by a large one"),
    ("Shift + arrow keys", "Change a value finely"),
    ("Double click on a name", "Back to the default"),
)


class TextWindow(QDialog):
    """A page of text to read."""

    def __init__(self, title: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.resize(640, 560)
        self.page = QTextBrowser()
        self.page.setAccessibleName(title)
        self.page.setOpenExternalLinks(False)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.addWidget(self.page)
        column.addWidget(buttons)


def cautions(parent: QWidget) -> TextWindow:
    """The cautions, from the one place where they are kept."""
    window = TextWindow("Before you etch", parent)
    window.page.setMarkdown((RESOURCES / "cautions.md").read_text(encoding="utf-8"))
    return window


def keys(parent: QWidget, commands: list[tuple[str, str]]) -> TextWindow:
    """All keys: of the menus (as they are bound), the panes and the controls."""
    window = TextWindow("Keys", parent)
    parts = (("Commands", commands), ("Panes", PANE_KEYS), ("Controls", CONTROL_KEYS))
    window.page.setHtml("".join(_table(title, rows) for title, rows in parts))
    return window


def fields(parent: QWidget) -> TextWindow:
    """What every field of a recipe does, with its range and default."""
    window = TextWindow("Fields", parent)
    rows = []
    for key, info in all_fields():
        reach = ""
        if info.kind == "number":
            reach = f" From {info.shown(info.low)} to {info.shown(info.high)}; "
            reach += f"starts at {info.shown(default_of(key))}."
        elif info.kind == "choice":
            reach = " " + " ".join(f"<i>{o.label}</i>: {o.help}" for o in info.options)
        rows.append((f"{info.label}<br><small>{key}</small>", info.help + reach))
    window.page.setHtml(_table("Fields of a recipe", rows))
    return window


def _table(title: str, rows: Iterable[tuple[str, str]]) -> str:
    lines = "".join(
        f"<tr><td style='padding: 3px 16px 3px 0'>{left}</td>"
        f"<td style='padding: 3px 0'>{right}</td></tr>"
        for left, right in rows
    )
    return f"<h3>{title}</h3><table>{lines}</table>"
