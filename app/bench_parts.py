"""What the steps of the bench hold besides the recipe's fields: buttons and readouts."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import attrs
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QWidget

from app import theme
from app.compare.controls import QuietCombo
from shared import units
from shared.operators import Grey, Tone
from shared.paths import RESOURCES
from shared.recipe import field_info
from shared.units import percent

if TYPE_CHECKING:
    from app.studio import Studio
    from engine.facts import Facts
    from engine.flow import Prepared
    from engine.view import Picture

CURVE_STEP = 512
MARGIN_REASON = (
    "Common practice keeps twice the thickness bare: cracks that reach the cut edge run on."
)


def starting_recipes() -> dict[str, Path]:
    """The recipes that come with Rimetype, by the name that people read."""
    paths = sorted((RESOURCES / "recipes").glob("*.json"))
    return {path.stem.replace("-", " ").capitalize(): path for path in paths}


class TakeRow(QWidget):
    """Says which take the bench works on, and copies it to the other."""

    def __init__(self, copy: Callable[[], None], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._name = QLabel()
        self.copy = QPushButton()
        self.copy.setToolTip("Give the other take the same recipe (Ctrl+Shift+C)")
        self.copy.clicked.connect(copy)
        row = QHBoxLayout(self)
        row.setContentsMargins(14, theme.GRID, 14, theme.GRID)
        row.addWidget(self._name, 1)
        row.addWidget(self.copy)
        self.show_take("A")

    def show_take(self, take: str) -> None:
        """The take that is worked on."""
        other = "B" if take == "A" else "A"
        self._name.setText(f"Bench of take {take}")
        self.copy.setText(f"Copy to {other}")


class BenchParts(QObject):
    """Fills the steps and keeps their readouts true."""

    def __init__(self, studio: "Studio") -> None:
        super().__init__(studio)
        self._studio = studio
        self._inches = False
        self._photo = _caption("Photo facts")
        self._plate = _caption("Photo against etch pixels")
        self._tone = _caption("Share beyond the points")
        self._screen = _caption("What the screen does")
        self._output = _caption("What the file holds")
        self.takes = TakeRow(self._copy)
        self._fill_photo()
        self._fill_plate()
        self._fill_rest()
        studio.bench.set_curve_shape(_curve_outputs)
        self.show_photo(None)

    @property
    def first_focus(self) -> QWidget:
        """Where the keyboard starts."""
        return self._open

    def show_units(self, inches: bool) -> None:
        """Count per mm or per inch."""
        self._inches = inches

    def show_photo(self, prepared: "Prepared | None") -> None:
        """Name, size and notes of the photo."""
        for caption in (self._photo, self._plate, self._tone, self._screen, self._output):
            caption.setVisible(prepared is not None)
        self._demo.setVisible(prepared is None)
        if prepared is None:
            return
        photo = prepared.photo
        words = f"{photo.columns} \u00d7 {photo.rows} pixels, {photo.megapixels:.1f} megapixels."
        self._photo.setText(" ".join([words, *photo.notes]))

    def show_facts(self, found: "Facts") -> None:
        """Readouts that follow the recipe."""
        per, unit = (units.MM_PER_INCH, "inch") if self._inches else (1.0, "mm")
        self._plate.setText(
            f"{found.photo_pixels_per_mm * per:.{0 if self._inches else 1}f} photo pixels per "
            f"{unit} for {found.etch_pixels_per_mm * per:.{0 if self._inches else 1}f} etch "
            f"pixels: {found.enough}. "
            f"{found.columns} \u00d7 {found.rows} etch pixels, {found.rows} lines."
        )
        size = f"{found.columns} \u00d7 {found.rows}"
        self._screen.setText(field_info("screen.kind").option(found.screen).help)
        self._output.setText(f"{found.bits} bit, {size}. {found.handling}")

    def show_tones(self, picture: "Picture") -> None:
        """The histogram behind the curve, and what lies beyond the two points."""
        beyond = picture.beyond
        self._tone.setText(
            f"Beyond the points: {percent(beyond.bare, 1)} to bare glass, "
            f"{percent(beyond.full, 1)} to full frost."
        )
        self._studio.bench.set_curve_histogram(picture.greys.tolist())

    def take_grey(self, take: str, wish: object) -> None:
        """Give a take the grey that was chosen on the contact sheet."""
        assert isinstance(wish, Grey)
        values = {f"grey.{name}": value for name, value in attrs.asdict(wish).items()}
        self._studio.session.edit(take, values, f"Grey from the contact sheet in {take}")

    def _copy(self) -> None:
        take = self._studio.take
        self._studio.session.copy_take(take, "B" if take == "A" else "A")

    def _fill_photo(self) -> None:
        studio = self._studio
        row = _buttons(
            ("Open photo...", studio.files.choose_photo, "Open a photo (Ctrl+O)"),
            ("Paste", studio.paste, "Open the picture on the clipboard (Ctrl+V)"),
        )
        self._open = row.findChildren(QPushButton)[0]
        self._demo = _buttons(
            ("Open the demo portrait", studio.open_demo, "A portrait to try everything on")
        )
        studio.bench.add_to_step("photo", row, "top")
        studio.bench.add_to_step("photo", self._demo, "top")
        studio.bench.add_to_step("photo", self._photo, "top")
        paths = starting_recipes()
        if paths:
            studio.bench.add_to_step("photo", self._recipe_chooser(paths), "bottom")

    def _recipe_chooser(self, paths: dict[str, Path]) -> QWidget:
        box = QuietCombo()
        box.setAccessibleName("Starting recipe")
        for name, path in paths.items():
            box.addItem(name, path)
        use = QPushButton("Use")
        use.setAccessibleName("Use the starting recipe")
        use.setToolTip("Set grey, tone, detail and screen; plate and placement stay")
        use.clicked.connect(
            lambda: self._studio.files.load_recipe(self._studio.take, box.currentData())
        )
        widget = QWidget()
        grid = QGridLayout(widget)
        grid.setContentsMargins(0, theme.GRID, 0, 0)
        label = QLabel("Start from the recipe")
        label.setBuddy(box)
        grid.addWidget(label, 0, 0, 1, 2)
        grid.addWidget(box, 1, 0)
        grid.addWidget(use, 1, 1)
        grid.setColumnStretch(0, 1)
        return widget

    def _fill_plate(self) -> None:
        studio = self._studio
        reason = _caption("Why a margin")
        reason.setText(MARGIN_REASON)
        row = _buttons(
            ("Centre the photo", self._centre, "Put the middle of the photo on the plate's centre"),
        )
        studio.bench.add_to_step("plate", self._plate, "top")
        studio.bench.add_to_step("plate", row, "bottom")
        studio.bench.add_to_step("plate", reason, "bottom")

    def _centre(self) -> None:
        values = {"placement.centre_x": 0.5, "placement.centre_y": 0.5}
        self._studio.session.edit(self._studio.take, values, "Centre the photo")

    def _fill_rest(self) -> None:
        studio = self._studio
        sheet = _buttons(("Contact sheet...", studio.dialogs.contact_sheet, "All greys at once"))
        studio.bench.add_to_step("grey", sheet, "top")
        studio.bench.add_to_step("tone", self._tone, "top")
        for text, run, tip in (
            (
                "With and without, side by side",
                studio.glass.show_compensation,
                "The proof without and with making up for spread, pixel by pixel",
            ),
            (
                "Check a finished piece...",
                studio.check_piece,
                "Compare a photo of it with the plate",
            ),
        ):
            studio.bench.add_to_step("glass", _buttons((text, run, tip)), "bottom")
        studio.bench.add_to_step("screen", self._screen, "top")
        studio.bench.add_to_step("output", self._output, "top")
        write = _buttons(
            ("Output plate...", studio.dialogs.output, "Write the plate bitmap (Ctrl+E)")
        )
        studio.bench.add_to_step("output", write, "bottom")


def _curve_outputs(points: tuple[tuple[float, float], ...]) -> list[float]:
    """What the curve alone makes of even inputs."""
    from engine.tone import tone_table

    table = tone_table(Tone(lift=0.0, curve=points))
    return [float(v) for v in table[::CURVE_STEP]]


def _caption(name: str) -> QLabel:
    label = QLabel()
    label.setWordWrap(True)
    label.setAccessibleName(name)
    theme.as_caption(label)
    return label


def _buttons(*wanted: tuple[str, Callable[[], object], str]) -> QWidget:
    widget = QWidget()
    row = QHBoxLayout(widget)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(theme.GRID)
    for text, run, tip in wanted:
        button = QPushButton(text)
        button.setToolTip(tip)
        button.clicked.connect(lambda _=False, run=run: run())
        row.addWidget(button)
    return widget
