"""A refusal under the control that it is about."""

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from app import theme

_SHOWN_MS = 10_000
_SIGN = 16


class ProblemLine(QWidget):
    """A warning sign and a sentence; goes away by itself."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        sign = QLabel(self)
        sign.setPixmap(theme.icon_pixmap("warning", theme.WARN, _SIGN, self.devicePixelRatioF()))
        self._sentence = QLabel(self)
        self._sentence.setWordWrap(True)
        self._sentence.setProperty("role", "warning")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.GRID)
        row.addWidget(sign, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self._sentence, 1)
        self.clock = QTimer(self)
        self.clock.setSingleShot(True)
        self.clock.setInterval(_SHOWN_MS)
        self.clock.timeout.connect(self.hide)
        self.hide()

    def text(self) -> str:
        """The sentence on show."""
        return self._sentence.text()

    def tell(self, sentence: str) -> None:
        """Show a sentence for a while."""
        self._sentence.setText(sentence)
        self._sentence.setAccessibleName(sentence)
        self.show()
        self.clock.start()
