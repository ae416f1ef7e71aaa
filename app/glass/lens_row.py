"""The beam's diameter from the lens: focal length, beam before the lens, and its quality."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QWidget

from app import theme
from app.glass.figure_field import FigureField
from shared.errors import ProfileError
from shared.profile import focus_diameter_mm
from shared.profile_fields import Figure

FOCAL = Figure("number", "Focal length", "As engraved on the lens.", "mm", 10.0, 500.0)
BEAM = Figure("number", "Beam before the lens", "Diameter at 1/e\u00b2.", "mm", 1.0, 50.0)
QUALITY = Figure("number", "Beam quality M\u00b2", "1 is perfect; 1.2 is common.", "", 1.0, 10.0)


class LensRow(QWidget):
    """Three figures and the diameter that follows; `wanted` gives it in mm."""

    wanted = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.fields = [FigureField(figure) for figure in (FOCAL, BEAM, QUALITY)]
        self.use = QPushButton()
        self.use.clicked.connect(lambda: self.wanted.emit(self.diameter_mm()))
        grid = QGridLayout(self)
        grid.setContentsMargins(theme.GRID * 2, 0, 0, theme.GRID)
        grid.setSpacing(theme.GRID // 2)
        for row, (field, value) in enumerate(zip(self.fields, (50.8, 6.0, 1.2), strict=True)):
            field.set_value(value)
            field.edited.connect(self._follow)
            label = QLabel(field.figure.label)
            label.setBuddy(field)
            grid.addWidget(label, row, 0)
            grid.addWidget(field, row, 1)
        grid.addWidget(self.use, len(self.fields), 0, 1, 2)
        grid.setColumnStretch(0, 1)
        self._follow()

    def diameter_mm(self) -> float:
        """Of the focus; ProfileError when a figure is none or out of its range."""
        values = []
        for field in self.fields:
            value, figure = field.value(), field.figure
            if not figure.low <= value <= figure.high:
                raise ProfileError(f"{figure.label} must lie between {figure.reach}.")
            values.append(value)
        return focus_diameter_mm(*values)

    def _follow(self) -> None:
        try:
            words, good = f"Use {self.diameter_mm():.3g} mm as beam diameter", True
        except ProfileError as problem:
            words, good = str(problem), False
        self.use.setText(words)
        self.use.setEnabled(good)
