"""The bench: the steps of the work in their order, one open at a time."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from app.bench.control import Control
from app.bench.curve_control import CurveControl
from app.bench.curve_editor import Shape
from app.bench.region_control import RegionControl
from app.bench.scale import Units
from app.bench.step import Step, Where
from app.bench.steps import STEPS, step_of
from shared.recipe import Recipe

WIDTH = 300


class Bench(QWidget):
    """Shows a recipe and reports what the user wants changed.

    A gesture is `edit_started(key)`, any number of `edited(key, value)`, and
    `edit_finished(key)`: one step of undo. `reset_wanted(key)` and `reset_step_wanted(step)` ask
    for defaults, `region_wanted(key, on)` for a drag in the pane. Nothing is reported for what
    `show_recipe` shows.
    """

    edited = Signal(str, object)
    edit_started = Signal(str)
    edit_finished = Signal(str)
    reset_wanted = Signal(str)
    reset_step_wanted = Signal(str)
    region_wanted = Signal(str, bool)
    step_opened = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Bench")
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        self._recipe = Recipe()
        self._units: Units = "mm"
        self._own_summaries: dict[str, str] = {}
        self._curve_shape: Shape | None = None
        self._curve_histogram: Sequence[float] = ()
        self._steps = {info.name: Step(info, self) for info in STEPS}
        self._open = STEPS[0].name
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for step in self._steps.values():
            column.addWidget(step)
            self._listen(step)
        column.addStretch(1)
        self._filled(self._open).set_open(True)
        self._show(self._recipe)

    def _filled(self, name: str) -> Step:
        """A step with its controls, which are made when it is opened or one of them is wanted."""
        step = self._steps[name]
        if not step.is_filled:
            step.fill()
            self._listen_to_controls(step)
            step.set_units(self._units)
            step.show_recipe(self._recipe)
            _fill_curves(step, self._curve_histogram)
            if self._curve_shape is not None:
                _shape_curves(step, self._curve_shape)
        return step

    def _listen(self, step: Step) -> None:
        name = step.info.name
        step.header.clicked.connect(lambda: self.open_step(name))
        step.header.neighbour_wanted.connect(lambda by: self._focus_neighbour(name, by))
        step.reset.clicked.connect(lambda: self.reset_step_wanted.emit(name))

    def _listen_to_controls(self, step: Step) -> None:
        for control in step.controls.values():
            control.started.connect(self.edit_started)
            control.edited.connect(self.edited)
            control.finished.connect(self.edit_finished)
            control.reset_wanted.connect(self.reset_wanted)
            if isinstance(control, RegionControl):
                control.drag_wanted.connect(self.region_wanted)

    def sizeHint(self) -> QSize:
        return QSize(WIDTH, super().sizeHint().height())

    @property
    def open_name(self) -> str:
        """The name of the open step."""
        return self._open

    def open_step(self, name: str) -> None:
        """Open a step and close the one that was open."""
        if name == self._open:
            return
        self._steps[self._open].set_open(False)
        self._open = name
        self._filled(name).set_open(True)
        self.step_opened.emit(name)

    def focus_step(self, name: str) -> None:
        """Let the keyboard go on in a step."""
        self._steps[name].header.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def show_recipe(self, recipe: Recipe) -> None:
        """Show a recipe; refusals that a good change has answered go away."""
        if recipe != self._recipe:
            for step in self._steps.values():
                step.clear_problems()
        self._show(recipe)

    def _show(self, recipe: Recipe) -> None:
        self._recipe = recipe
        for step in self._steps.values():
            step.show_recipe(recipe)
            self._sum_up(step)

    def _sum_up(self, step: Step) -> None:
        own = self._own_summaries.get(step.info.name)
        summary = step.info.summary(self._recipe, self._units) if own is None else own
        step.header.set_state(summary, is_changed=step.info.is_changed(self._recipe))

    def set_summary(self, name: str, text: str) -> None:
        """Sum a step up by other words than those of its recipe fields, such as a file's name."""
        self._own_summaries[name] = text
        self._sum_up(self._steps[name])

    def show_units(self, shown_units: Units) -> None:
        """Show lengths in mm and pitch in mm, or in inches and pixels per inch."""
        self._units = shown_units
        for step in self._steps.values():
            step.set_units(shown_units)
            self._sum_up(step)

    def show_problem(self, key: str, sentence: str) -> None:
        """Say under a control why its value was refused; the control goes back to the recipe."""
        self.control(key).show_value(self._recipe.get(key))
        self._steps[step_of(key)].show_problem(key, sentence)

    def add_to_step(self, name: str, widget: QWidget, where: Where = "top") -> None:
        """Put a widget above or below the controls of a step."""
        self._steps[name].add(widget, where)

    def control(self, key: str) -> Control:
        """The control of the field `group.field`."""
        return self._filled(step_of(key)).controls[key]

    def end_region(self) -> None:
        """The drag of an area in the pane is over or was called off."""
        for step in self._steps.values():
            for control in step.controls.values():
                if isinstance(control, RegionControl):
                    control.stop_drag()

    def set_curve_shape(self, shape: Shape) -> None:
        """Draw curves by a function from points to outputs at even inputs."""
        self._curve_shape = shape
        for step in self._steps.values():
            _shape_curves(step, shape)

    def set_curve_histogram(self, counts: Sequence[float]) -> None:
        """Draw how often each tone comes behind the curve."""
        self._curve_histogram = counts
        for step in self._steps.values():
            _fill_curves(step, counts)

    def _focus_neighbour(self, name: str, by: int) -> None:
        names = list(self._steps)
        there = names.index(name) + by
        if 0 <= there < len(names):
            self._steps[names[there]].header.setFocus()


def _shape_curves(step: Step, shape: Shape) -> None:
    for control in _curves(step):
        control.editor.set_shape(shape)


def _fill_curves(step: Step, counts: Sequence[float]) -> None:
    for control in _curves(step):
        control.editor.set_histogram(counts)


def _curves(step: Step) -> list[CurveControl]:
    return [control for control in step.controls.values() if isinstance(control, CurveControl)]
