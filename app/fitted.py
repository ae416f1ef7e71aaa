"""What is fitted at the machine now, as the studio knows it."""

from PySide6.QtCore import QObject, Signal

from app.fitted_file import keep_fitted, read_fitted
from shared.errors import RimetypeError
from shared.profile import GlassProfile


class Fitted(QObject):
    """The machine and the glass of today; None until somebody says."""

    changed = Signal()
    failed = Signal(str)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.now = read_fitted()

    def keep(self, profile: GlassProfile) -> None:
        """Take a profile's machine and glass for those of today."""
        try:
            keep_fitted(profile)
        except RimetypeError as problem:
            self.failed.emit(str(problem))
            return
        self.now = profile
        self.changed.emit()

    def suppose(self, profile: GlassProfile) -> None:
        """The same, unless somebody has said already: a strip was just burnt there."""
        if self.now is None:
            self.keep(profile)
