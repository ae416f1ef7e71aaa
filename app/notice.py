"""The line above the columns: what went wrong or what to do next, never in the way."""

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QWidget

from app import theme

PASSING_MS = 6000
SOON_MS = 500


class Notice(QWidget):
    """Shows one sentence, with one thing to do about it and a way to send it away."""

    def __init__(self, name: str, dismiss: str = "Dismiss", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setAutoFillBackground(True)
        self._text = QLabel()
        self._text.setWordWrap(True)
        self._text.setTextFormat(Qt.TextFormat.PlainText)
        self._do = QPushButton()
        self._do.hide()
        self._dismiss = QPushButton(dismiss)
        self._dismiss.setProperty("role", "quiet")
        self._action: Callable[[], None] | None = None
        self._on_dismiss: Callable[[], None] | None = None
        self._do.clicked.connect(self._act)
        self._dismiss.clicked.connect(self._send_away)
        self._passing = QTimer(self, singleShot=True, interval=PASSING_MS)
        self._passing.timeout.connect(self.hide)
        self._coming = ""
        self._soon = QTimer(self, singleShot=True, interval=SOON_MS)
        self._soon.timeout.connect(lambda: self.tell(self._coming))
        row = QHBoxLayout(self)
        row.setContentsMargins(theme.GRID * 2, theme.GRID // 2, theme.GRID, theme.GRID // 2)
        row.setSpacing(theme.GRID)
        row.addWidget(self._text, 1)
        row.addWidget(self._do)
        row.addWidget(self._dismiss)
        self.hide()

    @property
    def text(self) -> str:
        """The sentence that is shown."""
        return self._text.text()

    def tell(self, sentence: str) -> None:
        """Something that is good to know; it goes by itself."""
        self._show(sentence, "")
        self._passing.start()

    def tell_soon(self, sentence: str) -> None:
        """Something that is good to know only if it takes longer than a moment."""
        self._coming = sentence
        self._soon.start()

    def clear(self) -> None:
        """There is nothing to say any more."""
        self._soon.stop()
        self.hide()

    def warn(self, sentence: str) -> None:
        """Something that went wrong; it stays until it is sent away or answered."""
        self._show(f"\u26a0 {sentence}", "warning")

    def ask(
        self,
        sentence: str,
        label: str,
        action: Callable[[], None],
        on_dismiss: Callable[[], None] | None = None,
    ) -> None:
        """Something that the user may want done."""
        self._show(sentence, "")
        self._action, self._on_dismiss = action, on_dismiss
        self._do.setText(label)
        self._do.show()

    def _show(self, sentence: str, role: str) -> None:
        self._passing.stop()
        self._soon.stop()
        self._action = self._on_dismiss = None
        self._do.hide()
        self._text.setProperty("role", role)
        self._text.style().polish(self._text)
        self._text.setText(sentence)
        self.setAccessibleDescription(sentence)
        self.show()

    def _act(self) -> None:
        action = self._action
        self.hide()
        if action is not None:
            action()

    def _send_away(self) -> None:
        dismissed = self._on_dismiss
        self.hide()
        if dismissed is not None:
            dismissed()
