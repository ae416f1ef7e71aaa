"""The form of a glass profile, made from the description of its figures."""

from typing import Any

import attrs
from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app import theme
from app.glass.figure_field import Field, FlagField, field_for
from app.glass.gains_table import GainsTable
from app.glass.lens_row import LensRow
from app.glass.points_table import PointsTable
from shared.errors import ProfileError
from shared.profile import GlassProfile, Light, Machine, Response, Setting, Sheet
from shared.profile_fields import Figure, figures

PARTS: dict[str, tuple[str, type]] = {
    "machine": ("Machine", Machine),
    "sheet": ("Glass", Sheet),
    "setting": ("Setting", Setting),
    "response": ("Curve", Response),
    "light": ("Light", Light),
}
"""Each part of a profile with its heading, in the order of the form."""
WHOLE = ("name", "note", "date")
_REPLACED = ("response.threshold_j_mm2", "response.middle_j_mm2", "response.slope")
"""What three measured points take the place of."""
MEASURED_NOTE = (
    "Three or more measured points replace threshold, middle and slope. "
    "Type power or fluence; the other follows by this setting."
)


class ProfileForm(QWidget):
    """All figures of a profile; `edited` after each change by the user."""

    edited = Signal()

    def __init__(self, profile: GlassProfile, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._base = profile
        self.fields: dict[str, Field] = {}
        self.lens = LensRow()
        self.points = PointsTable()
        self.gains = GainsTable()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, theme.GRID * 2, 0)
        self._column.setSpacing(theme.GRID)
        self._fill()
        self.lens.wanted.connect(self._take_beam)
        self.points.edited.connect(self._edited)
        self.gains.edited.connect(self._edited)
        self.set_profile(profile)

    def set_profile(self, profile: GlassProfile) -> None:
        """Show another profile, without telling anybody."""
        self._base = profile
        for key, field in self.fields.items():
            part, _, name = key.rpartition(".")
            value: Any = getattr(getattr(profile, part) if part else profile, name)
            field.set_value(value)
        self.points.set_knots(profile.knots)
        self.gains.set_gains(profile)
        self._follow(profile)

    def profile(self) -> GlassProfile:
        """The profile as it stands, its origin as it was. Raises ProfileError."""
        values: dict[str, Any] = {
            name: cls(**{n: self.fields[f"{name}.{n}"].value() for n in figures(cls)})
            for name, (_, cls) in PARTS.items()
        }
        for name in (*WHOLE, "spread_mm"):
            values[name] = self.fields[name].value()
        knots = self.points.knots()
        if knots != tuple(sorted(self._base.knots, key=lambda knot: knot.fluence_j_mm2)):
            values["knots"] = knots
        values["gains"] = self.gains.gains()
        profile = attrs.evolve(self._base, **values)
        self._follow(profile)
        return profile

    def _follow(self, profile: GlassProfile) -> None:
        """Keep the column of powers true, and what has no effect out of reach."""
        power = profile.setting.power_max_pct
        fires = max(power, profile.machine.firing_floor_pct)
        self.points.set_fluence_per_percent(profile.fluence_j_mm2(fires) / fires)
        for key in _REPLACED:
            self.fields[key].setEnabled(not profile.measured_curve)

    def _fill(self) -> None:
        whole = figures(GlassProfile)
        self._section("", {name: whole[name] for name in WHOLE})
        for part, (heading, cls) in PARTS.items():
            described = {f"{part}.{name}": figure for name, figure in figures(cls).items()}
            self._section(heading, described)
            if part == "machine":
                self._add_lens()
            elif part == "response":
                self._add_points()
        self._section("Spread", {"spread_mm": whole["spread_mm"]})
        self._column.addWidget(heading_label("Dot gain"))
        self._column.addWidget(self.gains)

    def _section(self, heading: str, described: dict[str, Figure]) -> None:
        if heading:
            self._column.addWidget(heading_label(heading))
        grid = QGridLayout()
        grid.setHorizontalSpacing(theme.GRID)
        grid.setVerticalSpacing(theme.GRID // 2)
        grid.setColumnStretch(1, 1)
        grid.setColumnMinimumWidth(0, 176)
        for row, (key, figure) in enumerate(described.items()):
            field = self.fields[key] = field_for(figure)
            field.edited.connect(self._edited)
            if isinstance(field, FlagField):
                grid.addWidget(field, row, 0, 1, 3)
                continue
            label = QLabel(figure.label)
            label.setBuddy(field)
            label.setToolTip(field.toolTip())
            grid.addWidget(label, row, 0)
            grid.addWidget(field, row, 1, 1, 1 if figure.kind == "number" else 2)
            if figure.kind == "number":
                reach = QLabel(figure.reach)
                theme.as_caption(reach)
                reach.setMinimumWidth(
                    reach.fontMetrics().horizontalAdvance("0.0001 to 1000 J/mm2 ")
                )
                grid.addWidget(reach, row, 2)
        self._column.addLayout(grid)

    def _add_lens(self) -> None:
        """Kept away until somebody asks for it."""
        self.from_lens = QPushButton("Beam diameter from the lens...")
        self.from_lens.setCheckable(True)
        self.from_lens.toggled.connect(self.lens.setVisible)
        self.lens.hide()
        self._column.addWidget(self.from_lens, 0, Qt.AlignmentFlag.AlignLeft)
        self._column.addWidget(self.lens)

    def _add_points(self) -> None:
        note = QLabel(MEASURED_NOTE)
        note.setWordWrap(True)
        theme.as_caption(note)
        self._column.addWidget(note)
        self._column.addWidget(self.points)

    def _take_beam(self, diameter_mm: float) -> None:
        field = self.fields["machine.beam_mm"]
        field.set_value(float(f"{diameter_mm:.3g}"))  # type: ignore[arg-type]
        self._edited()

    def _edited(self) -> None:
        self.edited.emit()


def heading_label(text: str) -> QLabel:
    """A heading above a section."""
    label = QLabel(text)
    font = label.font()
    font.setBold(True)
    label.setFont(font)
    label.setContentsMargins(0, theme.GRID, 0, 0)
    return label


def check(form: ProfileForm) -> GlassProfile | str:
    """The form's profile, or the sentence that says why it is none."""
    try:
        return form.profile()
    except ProfileError as problem:
        return str(problem)
