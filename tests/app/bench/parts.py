"""The least that keeps a recipe for a bench, and a user's way to its parts."""

import attrs
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QSlider,
    QWidget,
)

from app.bench.curve_editor import CurveEditor
from app.bench.steps import STEPS
from shared.errors import RecipeError
from shared.recipe import Recipe

KEY = Qt.Key
LEFT = Qt.MouseButton.LeftButton
NAMES = [step.name for step in STEPS]


class Desk:
    """The least that keeps a recipe for a bench: takes what is acceptable, refuses the rest."""

    def __init__(self, bench):
        self.bench, self.recipe = bench, Recipe()
        self.told = []
        bench.edited.connect(self.edit)
        bench.edit_started.connect(lambda key: self.told.append(("started", key)))
        bench.edit_finished.connect(lambda key: self.told.append(("finished", key)))
        bench.reset_wanted.connect(lambda key: self.show(self.recipe_with_default(key)))
        bench.reset_step_wanted.connect(self.reset_step)

    def edit(self, key, value):
        self.told.append((key, value))
        try:
            self.show(self.recipe.with_values({key: value}))
        except RecipeError as error:
            self.bench.show_problem(key, str(error))

    def recipe_with_default(self, key):
        return self.recipe.with_values({key: Recipe().get(key)})

    def reset_step(self, name):
        groups = next(step.groups for step in STEPS if step.name == name)
        start = Recipe()
        self.show(attrs.evolve(self.recipe, **{g: getattr(start, g) for g in groups}))

    def show(self, recipe):
        self.recipe = recipe
        self.bench.show_recipe(recipe)


def header(bench, name):
    return bench._steps[name].header


def body(bench, name):
    return bench._steps[name].body


def settle():
    for _ in range(3):
        QApplication.processEvents()


def is_focusable(widget):
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.isEnabled()


def parts_to_reach(bench):
    """Every visible part that acts, but the inner line of a spin box, and unmarked segments."""
    kinds = (QAbstractButton, QAbstractSpinBox, QComboBox, QSlider, CurveEditor)
    parts = [w for w in bench.findChildren(QWidget) if isinstance(w, kinds)]
    return [w for w in parts if w.isVisible() and w.isEnabled()]
