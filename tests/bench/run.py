"""Measure the numbers to hold and print them: python tests/bench/run.py [--tiny] [ROW ...].

The machine is taken to be shared: every ratio is of medians that were measured in turns. The
rows are called sliders, repaint, export, following, curves, agreement, start, loop and modulation;
without words all are measured.
`--tiny` does everything once on small pictures, to prove that it works.
"""

import argparse
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

sys.path.insert(1, str(Path(__file__).parents[2]))
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from export import agreement_rows, curve_rows, export_rows, following_rows, print_peak
from loop import loop_rows, modulation_rows
from pictures import portrait
from repaint import window_rows
from sliders import LAYOUTS, SLIDERS, moves
from start import start_rows
from table import Row, lines

from engine.flow import Prepared, prepare
from engine.photo import photo_from_array
from shared.recipe import Recipe


def slider_rows(tiny: bool) -> Iterator[Row]:
    """Every slider in both layouts, both panes."""
    prepared, base, pitch, count = slider_scene(tiny)
    for layout in LAYOUTS:
        for slider in SLIDERS:
            pairs = moves(prepared, base, pitch, slider, layout, count)
            yield pairs.row(f"{slider.key}: {layout}", 1.3)


def repaint_rows(tiny: bool) -> Iterator[Row]:
    """Every slider, until both panes are painted."""
    prepared, base, pitch, count = slider_scene(tiny)
    plate = base.plate
    pane = round(plate.width_mm / pitch), round(plate.height_mm / pitch)
    yield from window_rows(prepared, base, pane, count)


def slider_scene(tiny: bool) -> tuple[Prepared, Recipe, float, int]:
    """A photo, a plate that fills panes of 900 x 1100 px, their pitch, and how many steps."""
    rows, columns = (300, 200) if tiny else (6000, 4000)
    prepared = prepare(photo_from_array(portrait(rows, columns), "bench"))
    base = Recipe().changed(plate__width_mm=180.0, plate__height_mm=220.0)
    return prepared, base, 4.0 if tiny else 0.2, 2 if tiny else 20


PARTS: dict[str, Callable[[bool], Iterator[Row]]] = {
    "sliders": slider_rows,
    "repaint": repaint_rows,
    "export": export_rows,
    "following": following_rows,
    "curves": curve_rows,
    "agreement": agreement_rows,
    "start": start_rows,
    "loop": loop_rows,
    "modulation": modulation_rows,
}


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", choices=[*PARTS, []], metavar="ROW")
    parser.add_argument("--tiny", action="store_true")
    parser.add_argument("--peak-of", type=Path, metavar="PHOTO", help=argparse.SUPPRESS)
    wish = parser.parse_args()
    if wish.peak_of:
        print_peak(wish.peak_of, wish.tiny)
        return
    rows: list[Row] = []
    for part in wish.parts or PARTS:
        rows.extend(PARTS[part](wish.tiny))
    print("\n".join(lines(rows)))


if __name__ == "__main__":
    main()
