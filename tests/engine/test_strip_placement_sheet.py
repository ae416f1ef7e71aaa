"""The placement sheet: one page on which everything has its room."""

import itertools
import re
import tracemalloc

import attrs
import numpy as np
import pytest

from engine.strip import placement_page, placement_sheet
from engine.strip.make_files import SHEET, write_strip
from shared.profile import GENERIC
from tests import strip_in_a_folder as strips


@pytest.fixture
def made():
    return strips.made()


def test_the_sheet_is_one_page_of_a4(tmp_path, made):
    write_strip(made, tmp_path)
    data = (tmp_path / SHEET).read_bytes()
    assert data.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", data)) == 1
    box = re.search(rb"/MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+) \]", data)
    assert box is not None
    mm = [float(points) / 72.0 * 25.4 for points in box.groups()]
    np.testing.assert_allclose(mm, placement_page.A4_MM, atol=0.1)


@pytest.mark.parametrize("count", [1, 24])
def test_the_sheet_holds_a_table_of_any_length(made, count):
    """The last thing on the page, the cautions, ends above its bottom edge."""
    strip = attrs.evolve(made.strip, runs=made.strip.runs[:1] * count)
    page = placement_page.Page()
    y = placement_sheet.laid_out(page, strip, made.bitmaps[:1] * count, GENERIC)
    assert y < placement_page.A4_MM[1] - 8.0


class NotedPage(placement_page.Page):
    """A page that keeps where its single lines of text lie."""

    def __init__(self):
        super().__init__()
        self.noted = []

    def text(self, x, y, text, size, **how):
        """As the page's own."""
        self.noted.append((y, x, x + placement_page.text_width(text, size), text))
        super().text(x, y, text, size, **how)


@pytest.mark.parametrize(
    ("most", "least", "speed"),
    [(60.0, 15.0, 300.0), (60.55, 15.25, 300.25), (100.0, 15.1234, 1234.56)],
)
def test_no_text_of_the_table_meets_another_or_the_edge(made, most, least, speed):
    name = f"run01_{most:g}-{least:g}_{speed:g}.png"
    run = attrs.evolve(
        made.strip.runs[0], file=name, power_max_pct=most, power_min_pct=least, speed_mm_s=speed
    )
    strip = attrs.evolve(made.strip, runs=(run,) * 2)
    page = NotedPage()
    placement_sheet.laid_out(page, strip, made.bitmaps[:1] * 2, GENERIC)
    assert {name, f"{speed:g} mm/s", f"{most:g} %"} <= {text for *_, text in page.noted}
    assert all(end <= placement_page.A4_MM[0] - 13.5 for _, _, end, _ in page.noted)
    for above, below in itertools.pairwise(sorted(page.noted)):
        assert above[0] != below[0] or above[2] + 1.0 <= below[1]


def test_the_sheet_carries_the_cautions():
    text = " ".join(placement_sheet.cautions())
    assert text.startswith("Before you etch")
    for word in ("interlocked", "extinguisher", "extraction", "PVC", "annealed", "gloves"):
        assert word in text
    assert "**" not in text


def test_text_wraps_within_its_width():
    text = " ".join(placement_sheet.cautions())
    lines = placement_page.wrapped(text, 60.0, 3.0)
    assert " ".join(lines) == text
    assert all(placement_page.text_width(line, 3.0) <= 60.0 for line in lines)


def test_a_run_takes_the_time_of_the_lines_that_it_burns(made):
    """w/v + 2 v/a for each line from the first to the last that burns (see references)."""
    burnt = np.argwhere(made.bitmaps[1].pixels < 255)
    lines, columns = np.ptp(burnt, axis=0) + 1
    speed = made.strip.runs[1].speed_mm_s
    wanted = lines * (columns * 0.1 / speed + 2.0 * speed / GENERIC.machine.acceleration_mm_s2)
    found = placement_sheet.run_time_s(made.strip, 1, made.bitmaps[1], GENERIC)
    assert found == pytest.approx(wanted)


def test_hours_are_told_as_hours(made):
    slow = attrs.evolve(made.strip.runs[0], speed_mm_s=10.0)
    strip = attrs.evolve(made.strip, runs=(slow, made.strip.runs[1]))
    page = NotedPage()
    placement_sheet.laid_out(page, strip, made.bitmaps, GENERIC)
    minutes = round(placement_sheet.run_time_s(strip, 0, made.bitmaps[0], GENERIC) / 60.0)
    assert minutes > 60
    assert f"{minutes // 60} h {minutes % 60} min" in {text for *_, text in page.noted}


def test_the_picture_of_many_runs_needs_room_for_few_of_them(made):
    strip = attrs.evolve(made.strip, runs=made.strip.runs[:1] * 24)
    tracemalloc.start()
    try:
        placement_sheet.placement_sheet(strip, made.bitmaps[:1] * 24, GENERIC)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 10 * made.bitmaps[0].pixels.nbytes
