"""Measure the numbers to hold and print them: python tests/bench/run.py [--tiny] [ROW ...].

The machine is taken to be shared: every ratio is of medians that were measured in turns. Without
words all rows are measured; `--tiny` does everything once on small pictures, to prove that it
works.
"""

import argparse
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

sys.path.insert(1, str(Path(__file__).parents[2]))
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from export import agreement_rows, export_rows, print_peak
from pictures import portrait
from sliders import LAYOUTS, SLIDERS, moves
from start import start_rows
from table import Row, lines

from engine.flow import prepare
from engine.photo import photo_from_array
from shared.recipe import Recipe


def slider_rows(tiny: bool) -> Iterator[Row]:
    """Every slider in both layouts, both panes."""
    rows, columns = (300, 200) if tiny else (6000, 4000)
    pitch, count = (4.0, 2) if tiny else (0.2, 20)
    prepared = prepare(photo_from_array(portrait(rows, columns), "bench"))
    base = Recipe().changed(plate__width_mm=180.0, plate__height_mm=220.0)
    for layout in LAYOUTS:
        for slider in SLIDERS:
            pairs = moves(prepared, base, pitch, slider, layout, count)
            yield pairs.row(f"{slider.key}: {layout}", 1.3)


PARTS: dict[str, Callable[[bool], Iterator[Row]]] = {
    "sliders": slider_rows,
    "export": export_rows,
    "agreement": agreement_rows,
    "start": start_rows,
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
