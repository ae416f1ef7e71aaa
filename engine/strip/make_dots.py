"""The strip's runs as machine pixels."""

import attrs
import numpy as np
from numpy.typing import NDArray

from engine import screens
from engine.output import Bitmap
from engine.strip import labels
from engine.strip.layout_parts import Layout, Text
from shared import units
from shared.recipe import Screen
from shared.strip import Box, Patch, Strip

Dots = NDArray[np.uint8]

_LEAD_IN = 64
"""Pixels by which a flat field is wider than its patch, so that the screen has settled."""


def run_dots(
    strip: Strip, layout: Layout, run: int, cells: tuple[Dots, ...], screen: Screen
) -> Dots:
    """Everything that one run burns: rows x columns of the whole strip, from the front; 0 does
    not fire, 255 full power.

    cells: for each cell of the layout its dots.
    """
    width, height = (units.pixel_count(side, strip.pitch_mm) for side in strip.size_mm)
    dots = np.zeros((height, width), np.uint8)
    if run == 0:
        for marker in layout.markers:
            _burn_marker(dots, marker.id, marker.box, strip.pitch_mm)
    for text in layout.texts:
        if text.run == run:
            _burn_text(dots, text)
    for patch in layout.patches:
        if patch.run == run and patch.kind != "bare":
            part = window(patch.box, strip.pitch_mm)
            dots[part] = patch_dots(patch, screen, strip.pitch_mm)
    for cell, burnt in zip(layout.cells, cells, strict=True):
        if cell.run == run:
            dots[window(cell.box, strip.pitch_mm)] = burnt
    return dots


def patch_dots(patch: Patch, screen: Screen, pitch_mm: float) -> Dots:
    """A patch, rows x columns."""
    down, across = window(patch.box, pitch_mm)
    shape = down.stop - down.start, across.stop - across.start
    match patch.kind:
        case "solid":
            return np.full(shape, 255, np.uint8)
        case "power":
            return np.full(shape, round(255.0 * patch.drive), np.uint8)
        case "lines":
            period = round(1.0 / (patch.lines_per_mm * pitch_mm))
            place = np.indices(shape)[1 if patch.upright else 0]
            return np.where(place % period < period // 2, 255, 0).astype(np.uint8)
        case "screen":
            field = np.full(tuple(side + 2 * _LEAD_IN for side in shape), patch.drive, np.float32)
            wish = attrs.evolve(screen, kind=patch.screen)
            top, left = down.start, across.start  # so that no two patches have the same pattern
            burnt = screens.screen(field, wish, pitch_mm=pitch_mm, top=top, left=left)
            return burnt[_LEAD_IN:-_LEAD_IN, _LEAD_IN:-_LEAD_IN]
        case unknown:
            raise ValueError(f"no such patch: {unknown}")


def window(box: Box, pitch_mm: float) -> tuple[slice, slice]:
    """The rows and columns of a box."""
    left, top = round(box.left_mm / pitch_mm), round(box.top_mm / pitch_mm)
    width, height = round(box.width_mm / pitch_mm), round(box.height_mm / pitch_mm)
    return slice(top, top + height), slice(left, left + width)


def for_machine(dots: Dots, strip: Strip) -> Bitmap:
    """Dots from the front as the file has them: mirrored when the back is etched, 0 full power."""
    seen = dots[:, ::-1] if strip.etched == "back" else dots
    return Bitmap(np.ascontiguousarray(255 - seen), 8, strip.pitch_mm)


def _burn_marker(dots: Dots, marker_id: int, box: Box, pitch_mm: float) -> None:
    down, across = window(box, pitch_mm)
    module = (down.stop - down.start) // labels.MARKER_CELLS
    burnt = labels.marker_dots(marker_id, module)
    top, left = down.start - module, across.start - module
    dots[top : top + burnt.shape[0], left : left + burnt.shape[1]][burnt] = 255


def _burn_text(dots: Dots, text: Text) -> None:
    burnt = labels.text_dots(text.text, text.height)
    dots[text.top : text.top + text.height, text.left : text.left + burnt.shape[1]][burnt] = 255
