"""What is to be laid out on a scrap, and what comes of it."""

import attrs

from engine.strip import labels
from engine.strip.layout_steps import Richness
from shared.strip import Box, Cell, Marker, Patch, Run


@attrs.frozen
class Wish:
    """What is to be laid out. Runs in burning order; the first is the starting setting."""

    runs: tuple[Run, ...]
    screens: tuple[str, ...]
    """Whose wedges are burnt."""
    number: int
    size_mm: tuple[float, float] = (150.0, 200.0)
    margin_mm: float = 6.0
    pitch_mm: float = 0.1
    aspect: float = 0.8
    """Width over height of a cell."""


@attrs.frozen
class Text:
    """A line of text that is burnt."""

    text: str
    run: int
    left: int
    top: int
    height: int
    """Of the line, in etch pixels."""

    @property
    def width(self) -> int:
        """In etch pixels."""
        return int(labels.text_dots(self.text, self.height).shape[1])


@attrs.frozen
class Layout:
    """Where everything lies, from the front."""

    markers: tuple[Marker, ...]
    cells: tuple[Cell, ...]
    patches: tuple[Patch, ...]
    texts: tuple[Text, ...]


@attrs.frozen
class Rect:
    """In etch pixels."""

    left: int
    top: int
    width: int
    height: int

    def meets(self, other: "Rect", gap: int) -> bool:
        return (
            self.left < other.left + other.width + gap
            and other.left < self.left + self.width + gap
            and self.top < other.top + other.height + gap
            and other.top < self.top + self.height + gap
        )

    def box(self, pitch_mm: float) -> Box:
        sides = (self.left, self.top, self.width, self.height)
        return Box(*(round(side * pitch_mm, 6) for side in sides))


@attrs.frozen
class Way:
    """One way to fill the scrap."""

    rich: Richness
    patch_mm: float
    least_cell_mm: float
    module_mm: float
