"""The powers and speeds that a strip shall try, and from where on the machine's tube fires."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app import theme
from app.strip.number_table import Column, NumberTable
from app.strip.parts import NumberField, caption, heading
from engine.strip.make import Plan
from shared.profile import Machine
from shared.profile_fields import figures

_FLOOR = figures(Machine)["firing_floor_pct"]
_ROWS = 3


class SettingTables(QWidget):
    """`edited(name)` and `floor_said(pct)` tell what the user does, `refused(sentence)` what cannot
    be taken."""

    edited = Signal(str)
    floor_said = Signal(float)
    refused = Signal(str)

    def __init__(self, machine: Machine) -> None:
        super().__init__()
        self.pairs = NumberTable("Powers", "pair", _power_columns(machine), _ROWS)
        self.speeds = NumberTable("Speeds", "speed", (_speed_column(machine),), _ROWS)
        self.floor = NumberField(_FLOOR.label, _FLOOR.unit, _FLOOR.low, _FLOOR.high)
        self.floor.setToolTip(_FLOOR.help)
        self.limits = caption()
        self.pairs.edited.connect(lambda: self.edited.emit("Powers"))
        self.speeds.edited.connect(lambda: self.edited.emit("Speeds"))
        self.pairs.refused.connect(self.refused)
        self.speeds.refused.connect(self.refused)
        self.floor.valueChanged.connect(self.floor_said)
        self._lay_out()

    def show_settings(self, plan: Plan, machine: Machine, guesses: str) -> None:
        """Show other settings, the machine's limits, and what of them is a guess, without telling
        anybody."""
        self.pairs.set_columns(_power_columns(machine))
        self.pairs.set_rows(plan.pairs)
        self.speeds.set_rows([(speed,) for speed in plan.speeds])
        self.floor.show_value(machine.firing_floor_pct)
        scan = f"scans at {machine.slowest_mm_s:g} to {machine.fastest_mm_s:g} mm/s."
        self.limits.setText(f"{machine.name}: {scan} {guesses}".strip())

    def _lay_out(self) -> None:
        tables = QHBoxLayout()
        tables.setSpacing(theme.GRID)
        for table, text, share in ((self.pairs, "Powers", 2), (self.speeds, "Speeds", 1)):
            column = QVBoxLayout()
            column.setSpacing(4)
            column.addWidget(heading(text))
            column.addWidget(table)
            tables.addLayout(column, share)
        label = caption(_FLOOR.label)
        label.setBuddy(self.floor)
        floor = QHBoxLayout()
        floor.setSpacing(theme.GRID)
        floor.addWidget(label)
        floor.addWidget(self.floor)
        floor.addWidget(self.limits, 1)
        everything = QVBoxLayout(self)
        everything.setContentsMargins(0, 0, 0, 0)
        everything.setSpacing(6)
        everything.addLayout(tables)
        everything.addLayout(floor)


def _power_columns(machine: Machine) -> tuple[Column, Column]:
    floor = machine.firing_floor_pct
    return Column("Greatest", "%", floor, 100.0), Column("Least", "%", floor, 100.0)


def _speed_column(machine: Machine) -> Column:
    return Column("Speed", "mm/s", machine.slowest_mm_s, machine.fastest_mm_s)
