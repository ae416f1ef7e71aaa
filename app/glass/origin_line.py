"""Where a profile's figures come from: a sign and words, amber for a guess."""

from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from app import theme
from shared.profile import GlassProfile

GUESS = "starting guess"
_SIGN = 16


class OriginLine(QWidget):
    """One line."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sign = QLabel()
        self._sign.setPixmap(
            theme.icon_pixmap("warning", theme.WARN, _SIGN, self.devicePixelRatioF())
        )
        self.words = QLabel()
        self.words.setWordWrap(True)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.GRID)
        row.addWidget(self._sign)
        row.addWidget(self.words, 1)

    def show_origin(self, profile: GlassProfile) -> None:
        """Say where the figures come from."""
        guess = profile.origin == GUESS
        self._sign.setVisible(guess)
        words = profile.origin.capitalize()
        if profile.date:
            words += f", {profile.date}"
        self.words.setText(words)
        self.words.setAccessibleName(f"Origin of the figures: {words}")
        self.words.setProperty("role", "warning" if guess else "caption")
        self.words.style().polish(self.words)
