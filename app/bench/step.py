"""One step of the bench: its header, and the body with its controls once they are wanted."""

import itertools
from typing import Literal

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtWidgets import (
    QFrame,
    QLayout,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.bench.control import Control
from app.bench.controls import control_for
from app.bench.problem_line import ProblemLine
from app.bench.scale import Units
from app.bench.step_header import StepHeader
from app.bench.steps import StepInfo
from shared.recipe import Recipe, split_key

Where = Literal["top", "bottom"]

_SIDE = 14
_LEAST_BODY = 120


class StepBody(QScrollArea):
    """As high as its content where there is room, scrolling up and down where there is not."""

    def __init__(self, content: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidget(content)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        content.installEventFilter(self)
        self.verticalScrollBar().rangeChanged.connect(self._keep_in_line)

    def _keep_in_line(self) -> None:
        """The scroll bar stands in the margin, so that controls do not move when it comes."""
        bar = self.verticalScrollBar()
        content = self.widget()
        layout = content.layout() if content else None
        if layout is not None:
            margins = layout.contentsMargins()
            margins.setRight(_SIDE - (bar.sizeHint().width() if bar.maximum() > 0 else 0))
            layout.setContentsMargins(margins)

    def sizeHint(self) -> QSize:
        content = self.widget()
        layout = content.layout() if content else None
        if layout is None:
            return super().sizeHint()
        width = self.viewport().width()
        high = layout.heightForWidth(width) if layout.hasHeightForWidth() else -1
        return QSize(240, max(high, layout.sizeHint().height() if high < 0 else high))

    def minimumSizeHint(self) -> QSize:
        return QSize(120, min(_LEAST_BODY, self.sizeHint().height()))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.LayoutRequest, QEvent.Type.Resize):
            self.updateGeometry()
        return super().eventFilter(watched, event)


class Step(QWidget):
    """Owns the controls of one step; the bench owns the steps.

    A step is empty but for what was added to it until it is filled: to make the controls of all
    steps takes as long as the rest of the window.
    """

    def __init__(self, info: StepInfo, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.info = info
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)
        self.header = StepHeader(info, self)
        self.controls: dict[str, Control] = {}
        self._problems: dict[str, ProblemLine] = {}
        self._content = QWidget(self)
        self._content.setObjectName("content")
        self._content.hide()
        self._column = QVBoxLayout(self._content)
        self._column.setContentsMargins(_SIDE, theme.GRID, _SIDE, theme.GRID)
        self._column.setSpacing(6)
        self._top = self._add_slot()
        self._middle = self._add_slot()
        self._bottom = self._add_slot()
        self.body: StepBody | None = None
        self.reset = QPushButton("Reset this step", self._content)
        self.reset.setProperty("role", "quiet")
        self.reset.setAccessibleName(f"Reset the step {info.label}")
        self._column.addWidget(self.reset, 0, Qt.AlignmentFlag.AlignRight)
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(0)
        self._rows.addWidget(self.header)

    def _add_slot(self) -> QVBoxLayout:
        slot = QVBoxLayout()
        slot.setSpacing(6)
        self._column.addLayout(slot)
        return slot

    @property
    def is_filled(self) -> bool:
        """Whether the controls were made."""
        return self.body is not None

    def fill(self) -> None:
        """Make the body and the controls, hidden until the step is opened."""
        self.body = StepBody(self._content, self)
        self.body.hide()
        self._content.show()
        self._rows.addWidget(self.body)
        group = self.info.groups[0]
        for key in self.info.keys:
            if split_key(key)[0] != group:
                group = split_key(key)[0]
                self._middle.addWidget(_hairline())
            control = self.controls[key] = control_for(key)
            self._middle.addWidget(control)
        self._order_tabs()

    def add(self, widget: QWidget, where: Where) -> None:
        """Put a widget above or below the controls."""
        (self._top if where == "top" else self._bottom).addWidget(widget)
        self._order_tabs()

    def _order_tabs(self) -> None:
        """Tab goes through the step from the top."""
        parts = [self.header, *_focus_chain(self._column)]
        for before, after in itertools.pairwise(parts):
            QWidget.setTabOrder(before, after)

    def set_open(self, is_open: bool) -> None:
        """Show or hide the body."""
        self.header.set_open(is_open)
        if self.body is not None:
            self.body.setVisible(is_open)

    def show_recipe(self, recipe: Recipe) -> None:
        """Show the recipe's values; controls without effect are hidden."""
        self.reset.setEnabled(self.info.is_changed(recipe))
        for key, control in self.controls.items():
            control.show_value(recipe.get(key))
            if control.info.when is not None:
                name, values = control.info.when
                has_effect = recipe.get(f"{split_key(key)[0]}.{name}") in values
                control.setVisible(has_effect)

    def set_units(self, shown_units: Units) -> None:
        """Show lengths in mm or inches."""
        for control in self.controls.values():
            control.set_units(shown_units)

    def show_problem(self, key: str, sentence: str) -> None:
        """Show a refusal under the control."""
        line = self._problems.get(key)
        if line is None:
            line = self._problems[key] = ProblemLine()
            below = self._middle.indexOf(self.controls[key]) + 1
            self._middle.insertWidget(below, line)
        line.tell(sentence)
        if self.body is not None:
            self.body.ensureWidgetVisible(line)

    def clear_problems(self) -> None:
        """Take all refusals away."""
        for line in self._problems.values():
            line.hide()


def _hairline() -> QFrame:
    line = QFrame()
    line.setFixedHeight(1)
    line.setStyleSheet(f"background: {theme.LINE};")
    return line


def _focus_chain(layout: QLayout) -> list[QWidget]:
    """The widgets that take the focus, in the order in which they are laid out."""
    chain: list[QWidget] = []
    for number in range(layout.count()):
        item = layout.itemAt(number)
        if item is None:
            continue
        widget, inner = item.widget(), item.layout()
        if inner is not None:
            chain += _focus_chain(inner)
        elif widget is not None:
            within = widget.layout()
            if widget.focusPolicy() & Qt.FocusPolicy.TabFocus:
                chain.append(widget)
            elif within is not None:
                chain += _focus_chain(within)
    return chain
