"""The measured points of the characteristic curve as a table that can be edited."""

from collections.abc import Sequence

import attrs
from PySide6.QtWidgets import QWidget

from app.glass.exact_table import ExactTable
from app.glass.row_table import Row
from shared.errors import ProfileError
from shared.profile import Knot
from shared.profile_fields import Figure, figures

_KNOT = figures(Knot)
POWER = Figure("number", "Power", "At this setting's speed and pitch.", "%", 0.0, 100.0)
COLUMNS: tuple[Figure, ...] = (POWER, *_KNOT.values())
_POWER, _FLUENCE = 0, 1
_FIRST = Knot(fluence_j_mm2=0.2, frost=0.0)
_STEP = 1.25


class PointsTable(ExactTable):
    """Power follows fluence and the other way round."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Measured points", "Measured point", COLUMNS, parent)
        self._per_percent = 0.0

    def set_knots(self, knots: Sequence[Knot]) -> None:
        """Show measured points, without telling anybody."""
        rising = sorted(knots, key=lambda knot: knot.fluence_j_mm2)
        self.set_rows([(0.0, *attrs.astuple(knot)) for knot in rising])

    def knots(self) -> tuple[Knot, ...]:
        """The points as they stand; ProfileError when one cannot be."""
        return tuple(self._knot(row) for row in range(self.table.rowCount()))

    def set_fluence_per_percent(self, fluence: float) -> None:
        """J/mm2 for each percent of power, from which the power's column is reckoned."""
        self._per_percent = fluence
        self.table.blockSignals(True)
        for row in range(self.table.rowCount()):
            self._show_power(row)
        self.table.blockSignals(False)

    def _append(self, values: Row) -> None:
        super()._append(values)
        self._show_power(self.table.rowCount() - 1)

    def _show_power(self, row: int) -> None:
        try:
            power = self._stored(row, _FLUENCE) / self._per_percent
        except (ProfileError, ZeroDivisionError):
            self._item(row, _POWER).setText("")
        else:
            self._put(row, _POWER, float(f"{power:.3g}"))

    def _knot(self, row: int) -> Knot:
        values = [self._stored(row, column) for column in range(_FLUENCE, len(COLUMNS))]
        try:
            return Knot(*values)
        except ProfileError as problem:
            raise ProfileError(f"Measured point {row + 1}: {problem}") from None

    def _typed(self, row: int, column: int) -> None:
        if column == _POWER:
            self._take_power(row)
        elif column == _FLUENCE:
            self._show_power(row)

    def _take_power(self, row: int) -> None:
        try:
            fluence = self._stored(row, _POWER) * self._per_percent
        except ProfileError:
            self._show_power(row)
        else:
            self._put(row, _FLUENCE, fluence)

    def _next(self) -> Row:
        """A point a little further up the curve than the last."""
        try:
            last = self.knots()[-1]
        except (IndexError, ProfileError):
            new = _FIRST
        else:
            further = float(f"{last.fluence_j_mm2 * _STEP:.3g}")
            new = attrs.evolve(last, fluence_j_mm2=min(further, COLUMNS[_FLUENCE].high))
        return (0.0, *attrs.astuple(new))
