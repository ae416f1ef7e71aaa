"""How much fine detail the glass keeps, without and with compensation for the spread."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from app import theme
from engine.compensate import Modulation

WORRYING = 0.02
"""Headroom that runs out on less of the plate is not warned of; starting guess."""
_HEADS = ("Detail kept at", "without", "with")


class ModulationTable(QWidget):
    """One line a frequency; empty until something was reckoned."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(theme.GRID)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        self.headroom = QLabel()
        self.headroom.setWordWrap(True)
        self.cells: list[list[QLabel]] = []
        self.setToolTip("Share of the look's modulation that the glass shows")
        self.set_rows((), None)

    def set_rows(self, rows: Sequence[Modulation], ran_out: float | None) -> None:
        """Show them; `ran_out` is the share of the plate without headroom."""
        self.setVisible(bool(rows))
        while self._grid.count():
            item = self._grid.takeAt(0)
            widget = item.widget() if item else None
            if widget is not None and widget is not self.headroom:
                widget.deleteLater()
        texts = [_HEADS, *(_texts(row) for row in rows)]
        self.cells = [[self._cell(text, n) for n, text in enumerate(line)] for line in texts]
        for number, line in enumerate(self.cells):
            for column, label in enumerate(line):
                if number == 0 or column == 0:
                    theme.as_caption(label)
                self._grid.addWidget(label, number, column)
        self._grid.addWidget(self.headroom, len(texts), 0, 1, len(_HEADS))
        self._show_headroom(ran_out)
        words = "; ".join(f"{a}: {b} without, {c} with compensation" for a, b, c in texts[1:])
        self.setAccessibleName("Detail kept")
        self.setAccessibleDescription(f"{words}. {self.headroom.text()}")

    def _show_headroom(self, ran_out: float | None) -> None:
        self.headroom.setVisible(ran_out is not None)
        share = ran_out or 0.0
        worrying = share >= WORRYING
        sign = "\u26a0 " if worrying else ""
        self.headroom.setText(
            f"{sign}Headroom ran out on {100 * share:.1f} % of the plate."
            if share > 0.0
            else "Headroom everywhere."
        )
        theme.as_caption(self.headroom)
        self.headroom.setProperty("role", "warning" if worrying else "caption")
        self.headroom.style().polish(self.headroom)

    def _cell(self, text: str, column: int) -> QLabel:
        label = QLabel(text)
        side = Qt.AlignmentFlag.AlignLeft if column == 0 else Qt.AlignmentFlag.AlignRight
        label.setAlignment(side | Qt.AlignmentFlag.AlignVCenter)
        return label


def _texts(row: Modulation) -> tuple[str, str, str]:
    return (
        f"{row.cycles_per_mm:g} cycles/mm",
        f"{100 * row.without:.0f} %",
        f"{100 * row.with_compensation:.0f} %",
    )
