"""The control for a number: label, editable value, and a slider where one makes sense."""

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from app.bench.control import Control, FieldLabel
from app.bench.scale import (
    COARSE_STEPS,
    FINE_SHARE,
    Units,
    fraction_of,
    has_slider,
    scale_for,
    value_at,
)
from app.bench.slider import Slider
from app.bench.value_field import ValueField

_UP = {Qt.Key.Key_Up: 1, Qt.Key.Key_Down: -1}
_SIDEWAYS = {Qt.Key.Key_Right: 1, Qt.Key.Key_Left: -1}
_PAGES = {Qt.Key.Key_PageUp: COARSE_STEPS, Qt.Key.Key_PageDown: -COARSE_STEPS}


class NumberControl(Control):
    """Arrow keys step, with Shift finely; Page Up and Page Down coarsely; a held key is one change.

    On the slider, Home and End go to the ends and Backspace asks for the default.
    """

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(key, parent)
        self._scale = scale_for(key)
        self.label = FieldLabel(self.info, self)
        self.field = ValueField(self._scale, self)
        self.slider = self._make_slider() if has_slider(self.info) else None
        self.label.setBuddy(self.field)
        self.label.double_clicked.connect(self.ask_for_default)
        self.field.typed.connect(self.change)
        self.field.wheel_turned.connect(self._step)
        self.field.installEventFilter(self)
        self._lay_out()
        self.describe(*self._parts())
        self.display()

    def _make_slider(self) -> Slider:
        slider = Slider(fraction_of(self.info, self.default), self)
        slider.pressed_at.connect(self._drag)
        slider.dragged_to.connect(self._drag)
        slider.let_go.connect(self.end)
        slider.double_clicked.connect(self.ask_for_default)
        slider.wheel_turned.connect(self._step)
        slider.valueChanged.connect(self._moved_from_outside)
        slider.installEventFilter(self)
        return slider

    def _lay_out(self) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(2)
        grid.setColumnStretch(0, 1)
        grid.addWidget(self.label, 0, 0)
        grid.addWidget(self.field, 0, 1)
        if self.slider is not None:
            grid.addWidget(self.slider, 1, 0, 1, 2)

    def _parts(self) -> list[QWidget]:
        return [self.field] if self.slider is None else [self.field, self.slider]

    def display(self) -> None:
        self.field.set_stored(self.value)
        if self.slider is not None:
            self.slider.set_fraction(fraction_of(self.info, self.value))

    def set_units(self, shown_units: Units) -> None:
        self._scale = scale_for(self.key, shown_units)
        self.field.set_scale(self._scale)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            return self._press(event, on_slider=watched is self.slider)
        if event.type() == QEvent.Type.KeyRelease and isinstance(event, QKeyEvent):
            if not event.isAutoRepeat():
                self.end()
        elif event.type() == QEvent.Type.FocusOut:
            self.end()
        return super().eventFilter(watched, event)

    def _press(self, event: QKeyEvent, *, on_slider: bool) -> bool:
        key = Qt.Key(event.key())
        steps = _UP.get(key, 0) or _PAGES.get(key, 0) or (on_slider and _SIDEWAYS.get(key, 0))
        if steps:
            fine = event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            self.field.interpretText()
            self._hold(self._scale.stepped(self.value, steps * (FINE_SHARE if fine else 1.0)))
        elif on_slider and key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self._hold(self.info.low if key == Qt.Key.Key_Home else self.info.high)
        elif on_slider and key == Qt.Key.Key_Backspace:
            self.ask_for_default()
        else:
            return False
        return True

    def _hold(self, value: float) -> None:
        """A change that goes on until the key is let go."""
        if value != self.value:
            self.begin()
            self.change(value)

    def _step(self, steps: int) -> None:
        self.field.interpretText()
        self.change(self._scale.stepped(self.value, steps))

    def _drag(self, fraction: float) -> None:
        here = fraction_of(self.info, self.value)
        if self.slider is not None and abs(fraction - here) * self.slider.width() < 0.5:
            return
        value = self._scale.snapped(value_at(self.info, fraction))
        self._hold(value)

    def _moved_from_outside(self) -> None:
        """Assistive technology set the slider's value."""
        if self.slider is not None:
            self.change(self._scale.snapped(value_at(self.info, self.slider.fraction())))
