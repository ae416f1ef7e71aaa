"""With which version of a refined profile the plate of a piece was made."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from app import theme
from app.compare.controls import QuietCombo
from app.strip.parts import caption
from shared.profile import GlassProfile


class BurntWith(QWidget):
    """Hidden where there is one version only; `chosen` when the user says which."""

    chosen = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._versions: Sequence[GlassProfile] = ()
        self.box = QuietCombo()
        self.box.setAccessibleName("The plate was made with")
        self.box.setPlaceholderText("Say which")
        self.box.activated.connect(lambda _: self.chosen.emit())
        label = caption("The plate was made with")
        label.setWordWrap(False)
        label.setBuddy(self.box)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.GRID)
        row.addWidget(label)
        row.addWidget(self.box, 1)

    @property
    def profile(self) -> GlassProfile | None:
        """The version; None until it is known."""
        index = self.box.currentIndex()
        return self._versions[index] if index >= 0 else None

    def show_versions(
        self, versions: Sequence[GlassProfile], chosen: GlassProfile | None = None
    ) -> None:
        """The newest first; without `chosen` the only one, or none of many."""
        self._versions = versions
        self.box.clear()
        self.box.addItems([_words(back) for back in range(len(versions))])
        if chosen is None and len(versions) == 1:
            chosen = versions[0]
        self.box.setCurrentIndex(-1 if chosen is None else list(versions).index(chosen))
        self.setVisible(len(versions) > 1)


def _words(back: int) -> str:
    if back == 0:
        return "the profile as it is now, refined"
    if back == 1:
        return "the profile as it was before it was refined last"
    return f"the profile as it was before its last {back} refinements"
