"""The usable area of a scrap and its lattice of places, filled in one way; whole etch pixels."""

import math
from collections.abc import Iterator

import attrs
import numpy as np

from engine.strip import labels
from engine.strip.layout_parts import Layout, Rect, Text, Way, Wish
from engine.strip.layout_scatter import Field, scatter, seed_of
from engine.strip.layout_steps import REPEATS, lines, others, wedges
from shared import units
from shared.strip import Cell, Marker, Patch

_GAP_SHARE = 0.25
_LONGEST_CELL_MM = 40.0
_TITLE_MM = 3.0
_LABEL_MM, _LEAST_LABEL_MM = 2.6, 1.8
_LABEL_GAP_MM = 0.6
_MOST_SPARE = 2
"""How often the wedges are repeated once more where there is room."""


@attrs.frozen(eq=False)
class Blocks:
    """Where the cells lie, with room for their labels above."""

    cells: tuple[Rect, ...]
    texts: tuple[Text, ...]
    whole: tuple[Rect, ...]
    middles: tuple[float, ...]
    """Of each row of cells, down, in pixels."""
    columns: int


@attrs.frozen(eq=False)
class Area:
    """The usable area and its lattice under one way of filling it; pixels throughout."""

    wish: Wish
    way: Way
    left: int
    top: int
    patch: int
    gap: int
    columns: int
    rows: int
    """Of the lattice."""
    module: int
    right: int
    bottom: int

    @classmethod
    def of(cls, wish: Wish, way: Way) -> "Area | None":
        """None when not even the markers have room."""
        pitch = wish.pitch_mm
        bare_x, bare_y = (_margin_px(wish, side) for side in wish.size_mm)
        width, height = (
            units.pixel_count(side, pitch) - 2 * bare
            for side, bare in zip(wish.size_mm, (bare_x, bare_y), strict=True)
        )
        patch = math.ceil(way.patch_mm / pitch - 1e-6)
        gap = max(2, math.ceil(_GAP_SHARE * way.patch_mm / pitch))
        module = max(2, math.ceil(way.module_mm / pitch))
        columns, rows = ((side + gap) // (patch + gap) for side in (width, height))
        if min(width, height) < 16 * module + 2 * gap or min(columns, rows) < 2:
            return None
        left = bare_x + (width - (columns * (patch + gap) - gap)) // 2
        top = bare_y + (height - (rows * (patch + gap) - gap)) // 2
        ends = bare_x + width, bare_y + height
        return cls(wish, way, left, top, patch, gap, columns, rows, module, *ends)

    @property
    def step(self) -> int:
        """From place to place."""
        return self.patch + self.gap

    def corners(self) -> list[Rect]:
        """The markers with their quiet zones, clockwise from the top left."""
        side = (labels.MARKER_CELLS + 2) * self.module
        left, top = (_margin_px(self.wish, length) for length in self.wish.size_mm)
        right, bottom = self.right - side, self.bottom - side
        places = ((left, top), (right, top), (right, bottom), (left, bottom))
        return [Rect(x, y, side, side) for x, y in places]

    def title(self) -> Text | None:
        """The strip's number between the upper markers; None if there is no room for it."""
        left, right, *_ = self.corners()
        start = left.left + left.width + self.gap
        room = right.left - self.gap - start
        most, least = self._line_px(_TITLE_MM), self._line_px(_LEAST_LABEL_MM)
        for text in (f"Test strip {self.wish.number}", str(self.wish.number)):
            height = labels.fitting_height((text,), room, most, least)
            if height is not None:
                middle = start + (room - labels.text_dots(text, height).shape[1]) // 2
                return Text(text, 0, middle, left.top, height)
        return None

    def all_blocks(self) -> Iterator[Blocks]:
        """Arrangements of cells, the largest cells first."""
        count = len(self.wish.runs)
        tried = []
        for across in range(1, count + 1):
            down = math.ceil(count / across)
            for width in range(1, self.columns // across + 1):
                blocks = self._arranged(across, down, width)
                if blocks is not None:
                    tried.append((width, -(across * down), blocks))
        yield from (blocks for _, _, blocks in sorted(tried, key=lambda t: t[:2], reverse=True))

    def _arranged(self, across: int, down: int, width: int) -> Blocks | None:
        """Cells `width` places wide, spread evenly; None where they do not suit or fit."""
        wide = width * self.step - self.gap
        tall = round(wide / self.wish.aspect)
        pitch = self.wish.pitch_mm
        short, long = min(wide, tall) * pitch, max(wide, tall) * pitch
        longest = max(_LONGEST_CELL_MM, self.way.least_cell_mm * long / short + self.step * pitch)
        if short < self.way.least_cell_mm or long > longest:
            return None
        texts = self._label(wide)
        if texts is None:
            return None
        line_height, line_count = texts
        above = line_height * line_count + max(6, round(_LABEL_GAP_MM / self.wish.pitch_mm))
        height = math.ceil((above + tall + self.gap) / self.step)
        edge = math.ceil((self.corners()[0].height + self.gap) / self.step)
        lefts = _spread(0, self.columns, across, width)
        tops = _spread(edge, self.rows - 2 * edge, down, height)
        if lefts is None or tops is None:
            return None
        return self._placed(lefts, tops, (wide, tall), above, line_height, line_count)

    def _placed(
        self,
        lefts: list[int],
        tops: list[int],
        cell: tuple[int, int],
        above: int,
        line_height: int,
        line_count: int,
    ) -> Blocks:
        cells, texts = [], []
        for number, run in enumerate(self.wish.runs):
            down, across = divmod(number, len(lefts))
            x = self.left + lefts[across] * self.step
            y = self.top + tops[down] * self.step
            said = labels.setting_lines(run) if line_count == 2 else (labels.setting_text(run),)
            for line, text in enumerate(said):
                texts.append(Text(text, number, x, y + line * line_height, line_height))
            cells.append(Rect(x, y + above, *cell))
        whole = tuple(Rect(c.left, c.top - above, c.width, c.height + above) for c in cells)
        middles = tuple(self.top + t * self.step + (above + cell[1]) / 2.0 for t in tops)
        return Blocks(tuple(cells), tuple(texts), whole, middles, len(lefts))

    def _label(self, width: int) -> tuple[int, int] | None:
        """Height of a label's line, and its lines."""
        most, least = self._line_px(_LABEL_MM), self._line_px(_LEAST_LABEL_MM)
        large = max(labels.LEAST_LINE_PX, round(0.85 * most))
        one = tuple(labels.setting_text(run) for run in self.wish.runs)
        two = tuple(line for run in self.wish.runs for line in labels.setting_lines(run))
        for texts, count, smallest in ((one, 1, large), (two, 2, least)):
            height = labels.fitting_height(texts, width, most, smallest)
            if height is not None:
                return height, count
        return None

    def room(self, blocks: Blocks) -> tuple[Text, list[Rect]] | None:
        """The title and the places for patches beside these cells; None when there are too few, or
        the number has no room."""
        corners, title = self.corners(), self.title()
        if title is None:
            return None
        if any(block.meets(c, self.gap) for block in blocks.whole for c in corners):
            return None
        named = Rect(title.left, title.top, title.width, title.height)
        taken = [*corners, *blocks.whole, named]
        places = [
            place
            for place in self._places()
            if not any(place.meets(other, self.gap) for other in taken)
        ]
        return (title, places) if self._needed() <= len(places) else None

    def filled(self, blocks: Blocks) -> Layout | None:
        """The layout with these cells, or None when the patches have no room."""
        room = self.room(blocks)
        if room is None:
            return None
        title, places = room
        pitch = self.wish.pitch_mm
        return Layout(
            markers=tuple(self._marker(*pair) for pair in enumerate(self.corners())),
            cells=tuple(Cell(rect.box(pitch), run) for run, rect in enumerate(blocks.cells)),
            patches=tuple(self._patches(places, blocks)),
            texts=(title, *blocks.texts),
        )

    def _needed(self) -> int:
        """How many patches there are at least."""
        evening = 2 * self.way.rich.evening
        return evening + len(self._first()) + sum(len(self._others(n)) for n in self._later_runs())

    def _places(self) -> list[Rect]:
        return [
            Rect(self.left + c * self.step, self.top + r * self.step, self.patch, self.patch)
            for r in range(self.rows)
            for c in range(self.columns)
        ]

    def _once(self) -> list[Patch]:
        return wedges(self.wish.runs[0], self.wish.screens)

    def _first(self) -> list[Patch]:
        return (self._once() + lines(self.wish.pitch_mm)) * REPEATS

    def _others(self, run: int) -> list[Patch]:
        return others(run, self.wish.runs[run], self.wish.screens, self.way.rich)

    def _later_runs(self) -> range:
        return range(1, len(self.wish.runs))

    def _patches(self, places: list[Rect], blocks: Blocks) -> list[Patch]:
        wish = self.wish
        rows: list[tuple[float, list[Patch]]] = [(middle, []) for middle in blocks.middles]
        for run in self._later_runs():
            rows[run // blocks.columns][1].extend(self._others(run))
        centres = np.array([(p.left + p.width / 2, p.top + p.height / 2) for p in places])
        field = Field(centres, seed_of(wish.number, wish.runs, wish.screens))
        spare = self._once() * _MOST_SPARE
        placed = scatter(field, self.way.rich.evening, self._first(), spare, rows)
        boxes = [(patch, places[index]) for patch, index in placed]
        boxes.sort(key=lambda pair: (pair[1].top, pair[1].left))
        return [attrs.evolve(patch, box=rect.box(wish.pitch_mm)) for patch, rect in boxes]

    def _marker(self, corner: int, rect: Rect) -> Marker:
        quiet, side = self.module, labels.MARKER_CELLS * self.module
        inner = Rect(rect.left + quiet, rect.top + quiet, side, side)
        return Marker(labels.marker_ids(self.wish.number)[corner], inner.box(self.wish.pitch_mm))

    def _line_px(self, mm: float) -> int:
        return max(labels.LEAST_LINE_PX, round(mm / self.wish.pitch_mm))


def _margin_px(wish: Wish, side_mm: float) -> int:
    """Etch pixels that keep the margin bare at both ends of a side.

    Where the last etch pixel reaches beyond the scrap's edge, the machine, which begins at the
    other corner, may have that little less of it.
    """
    beyond = max(0.0, units.pixel_count(side_mm, wish.pitch_mm) * wish.pitch_mm - side_mm)
    return math.ceil((wish.margin_mm + beyond) / wish.pitch_mm - 1e-6)


def _spread(first: int, room: int, count: int, size: int) -> list[int] | None:
    """Where `count` things of a size begin, evenly spread; None when the room is too small."""
    free = room - count * size
    if free < 0:
        return None
    return [first + k * size + round((k + 1) * free / (count + 1)) for k in range(count)]
