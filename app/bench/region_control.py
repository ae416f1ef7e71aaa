"""The control for a part of the photo: dragged in the pane, or typed as four shares."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QWidget

from app import theme
from app.bench.control import Control, FieldLabel
from app.bench.scale import Scale
from app.bench.value_field import ValueField
from shared.fields import Region

_WHOLE: Region = (0.0, 0.0, 1.0, 1.0)
_LEAST = 0.01
_SIDES = ("Left", "Top", "Right", "Bottom")
_SHARE = Scale("%", 1.0, 0, 0.0, 100.0, lambda share: share * 100.0, lambda shown: shown / 100.0)


class RegionControl(Control):
    """`drag_wanted(key, on)` asks for a drag in the pane, or calls it off."""

    drag_wanted = Signal(str, bool)

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(key, parent)
        self.label = FieldLabel(self.info, self)
        self.label.double_clicked.connect(self.ask_for_default)
        self.drag = QPushButton("Drag an area", self)
        self.drag.setCheckable(True)
        self.clear = QPushButton("Clear", self)
        self.state = QLabel(self)
        theme.as_caption(self.state)
        self.fields = [self._make_field(side) for side in range(4)]
        self._lay_out()
        self.describe(self.drag)
        self.drag.setAccessibleName(f"{self.info.label}: drag an area")
        self.clear.setAccessibleName(f"{self.info.label}: clear")
        self.display()
        self.drag.toggled.connect(lambda on: self.drag_wanted.emit(self.key, on))
        self.clear.clicked.connect(lambda: self.change(None))

    def _make_field(self, side: int) -> ValueField:
        field = ValueField(_SHARE, self, "100.00 %")
        field.setAccessibleName(f"{self.info.label}: {_SIDES[side].lower()}")
        field.setAccessibleDescription("A share of the photo's width or height.")
        field.typed.connect(lambda share: self._move_side(side, share))
        field.wheel_turned.connect(
            lambda turns: self._move_side(side, self._sides()[side] + turns / 100)
        )
        return field

    def _lay_out(self) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(theme.GRID)
        grid.setColumnStretch(0, 1)
        grid.addWidget(self.label, 0, 0)
        grid.addWidget(self.state, 0, 1, 1, 2, Qt.AlignmentFlag.AlignRight)
        grid.addWidget(self.drag, 1, 0, 1, 2)
        grid.addWidget(self.clear, 1, 2)
        for row, words in enumerate(("Left, right", "Top, bottom")):
            name = QLabel(words, self)
            name.setWordWrap(True)
            name.setBuddy(self.fields[row])
            grid.addWidget(name, 2 + row, 0)
            grid.addWidget(self.fields[row], 2 + row, 1)
            grid.addWidget(self.fields[row + 2], 2 + row, 2)

    def stop_drag(self) -> None:
        """The drag in the pane is over."""
        self.drag.setChecked(False)

    def display(self) -> None:
        self.stop_drag()
        self.state.setText("None yet" if self.value is None else "Chosen")
        self.clear.setEnabled(self.value is not None)
        for field, share in zip(self.fields, self._sides(), strict=True):
            field.set_stored(share)

    def _sides(self) -> Region:
        return _WHOLE if self.value is None else self.value

    def _move_side(self, side: int, share: float) -> None:
        sides = list(self._sides())
        opposite = sides[(side + 2) % 4]
        far = 1.0 - _LEAST if side < 2 else 1.0
        near = 0.0 if side < 2 else _LEAST
        share = min(share, opposite - _LEAST) if side < 2 else max(share, opposite + _LEAST)
        sides[side] = round(min(max(share, near), far), 6)
        self.change(tuple(sides))
        self.display()
