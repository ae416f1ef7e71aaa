"""A field that shows a number with its unit and takes it with point or comma."""

import re

from PySide6.QtCore import QLocale, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QValidator, QWheelEvent
from PySide6.QtWidgets import QDoubleSpinBox, QWidget

from app.bench.scale import Scale
from shared import units

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
_BEGUN = re.compile(r"[+-]?\d*[.,]?\d*")
_DIGITS_KEPT = 9
_ROOM = 18


class ValueField(QDoubleSpinBox):
    """Shows a stored value by a scale. `typed` carries the stored value that was entered.

    All fields that have room for the same `widest` text are equally wide. The keys that step are
    left to the owner. A value that was only looked at is never rounded to the digits on show.
    """

    typed = Signal(float)
    wheel_turned = Signal(int)

    def __init__(
        self, scale: Scale, parent: QWidget | None = None, widest: str = "3000.00 mm"
    ) -> None:
        super().__init__(parent)
        self._widest = widest
        self._scale = scale
        self._stored = 0.0
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.lineEdit().setTextMargins(3, 0, 3, 0)
        self.lineEdit().setAcceptDrops(False)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setKeyboardTracking(False)
        self.setDecimals(_DIGITS_KEPT)
        self.valueChanged.connect(self._entered)
        self.set_scale(scale)

    def set_scale(self, scale: Scale) -> None:
        """Show the same value in another unit."""
        self._scale = scale
        self.blockSignals(True)
        self.setRange(scale.low, scale.high)
        self.setSuffix(f" {scale.unit}" if scale.unit else "")
        self.blockSignals(False)
        self.set_stored(self._stored)
        self.updateGeometry()

    def set_stored(self, stored: float) -> None:
        """Show a stored value without telling anybody."""
        self._stored = stored
        self.blockSignals(True)
        self.setValue(self._scale.to_shown(stored))
        self.blockSignals(False)

    def textFromValue(self, value: float) -> str:
        locale = QLocale(self.locale())
        locale.setNumberOptions(QLocale.NumberOption.OmitGroupSeparator)
        return locale.toString(value, "f", self._scale.digits(value))

    def valueFromText(self, text: str) -> float:
        number = self._number_in(text)
        if number == self.textFromValue(self.value()):
            return self.value()
        try:
            typed = units.parse_number(number)
        except ValueError:
            return self.value()
        return min(max(typed, self.minimum()), self.maximum())

    def validate(self, text: str, position: int) -> tuple[QValidator.State, str, int]:
        number = self._number_in(text)
        if _NUMBER.fullmatch(number):
            state = QValidator.State.Acceptable
        elif _BEGUN.fullmatch(number):
            state = QValidator.State.Intermediate
        else:
            state = QValidator.State.Invalid
        return state, text, position

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self._is_being_typed():
            self.set_stored(self._stored)
            self.selectAll()
            return
        super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if not self.hasFocus():
            event.ignore()
            return
        event.accept()
        turned = event.angleDelta().y()
        if turned:
            self.wheel_turned.emit(1 if turned > 0 else -1)

    def sizeHint(self) -> QSize:
        width = self.fontMetrics().horizontalAdvance(self._widest) + _ROOM
        return QSize(width, super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    def _number_in(self, text: str) -> str:
        return text.strip().removesuffix(self._scale.unit).strip().replace("\u2212", "-")

    def _is_being_typed(self) -> bool:
        return self._number_in(self.text()) != self.textFromValue(self.value())

    def _entered(self, shown: float) -> None:
        self._stored = self._scale.stored_of(shown)
        self.typed.emit(self._stored)
