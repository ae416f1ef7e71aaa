"""How far long work has come, with a way to stop it."""

from collections.abc import Callable

from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QWidget

from app import theme
from app.strip.parts import push

_PARTS = 1000


class ProgressRow(QWidget):
    """Hidden while nothing is done."""

    def __init__(self, name: str, stop: Callable[[], object]) -> None:
        super().__init__()
        self.bar = QProgressBar()
        self.bar.setRange(0, _PARTS)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(name)
        self.stop = push("Stop", stop, name=f"Stop: {name.lower()}")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.GRID)
        row.addWidget(self.bar, 1)
        row.addWidget(self.stop)
        self.hide()

    def show_busy(self, busy: bool) -> None:
        """Work has begun, goes on, or has come to its end."""
        if busy and self.isHidden():
            self.bar.setValue(0)
        self.setVisible(busy)

    def show_share(self, share: float) -> None:
        """Show how much is done, from 0 to 1."""
        self.bar.setValue(round(_PARTS * share))
