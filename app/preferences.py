"""Preferences: act at once, each with its default in reach."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.settings import GREATEST_LIMIT_MP, LEAST_LIMIT_MP, Settings
from shared.limits import DEFAULT_LIMIT_MP


class Preferences(QDialog):
    """Units and the largest photo."""

    units_changed = Signal()

    def __init__(self, settings: Settings, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("Preferences")
        self._settings = settings
        self.units = QComboBox()
        self.units.addItem("Millimetres", False)
        self.units.addItem("Inches and pixels per inch", True)
        self.units.setCurrentIndex(int(settings.inches))
        self.units.activated.connect(self._units_chosen)
        self.limit = QSpinBox()
        self.limit.setRange(round(LEAST_LIMIT_MP), round(GREATEST_LIMIT_MP))
        self.limit.setSuffix(" megapixels")
        self.limit.setValue(round(settings.limit_mp))
        self.limit.valueChanged.connect(self._limit_chosen)
        note = QLabel(
            f"Larger photos are refused, since a damaged file can claim any size. "
            f"The default is {DEFAULT_LIMIT_MP:.0f}; raise it only for a photo that you trust."
        )
        note.setWordWrap(True)
        theme.as_caption(note)
        form = QFormLayout()
        form.setVerticalSpacing(theme.GRID)
        form.addRow("Sizes in", self.units)
        form.addRow("Largest photo", self.limit)
        form.addRow("", note)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.setSpacing(theme.GRID * 2)
        column.addLayout(form)
        column.addWidget(buttons)
        self.setMinimumWidth(420)

    def _units_chosen(self) -> None:
        self._settings.inches = bool(self.units.currentData())
        self.units_changed.emit()

    def _limit_chosen(self, value: int) -> None:
        self._settings.limit_mp = float(value)
