"""Readings in a file: decimal points and commas, and no line that is read otherwise than meant."""

from pathlib import Path

import pytest

from engine.strip.readings_file import fill_in, parse_readings, read_readings
from shared.errors import InputError
from tests import strip_in_a_folder as strips


@pytest.mark.parametrize(
    "line", ["12,0.35", "12;0,35", "12;0.35", "12\t0,35", " 12 , 0.35 ", "12; 0,35 # solid"]
)
def test_a_line_is_a_patch_and_its_value(line: str) -> None:
    assert parse_readings(f"# by hand\n1;1\n\n{line}\n") == {0: 1.0, 11: 0.35}


@pytest.mark.parametrize(
    "line",
    ["12,0,35", "12,0.35,0.99", "12;0,35;0,99", "12", "12 0.35", "solid,1", "1.5;0,2", "3;x"],
)
def test_a_line_of_anything_else_is_refused_with_its_number(line: str) -> None:
    with pytest.raises(InputError, match="Line 2 of the readings must hold"):
        parse_readings(f"1,0.5\n{line}\n")


def test_a_percentage_is_refused_with_how_to_write_it() -> None:
    with pytest.raises(InputError, match=r"Line 2 .* such as 0\.54 for 54 %"):
        parse_readings("1;0,5\n2;54 %;# solid\n")


@pytest.mark.parametrize("value", ["nan", "inf", "-inf"])
def test_a_value_that_is_no_number_names_its_patch(value: str) -> None:
    with pytest.raises(InputError, match="patch 7 is not a number"):
        parse_readings(f"7,{value}\n")


def test_a_patch_that_is_read_twice_is_told() -> None:
    with pytest.raises(InputError, match="Patch 1 is read twice"):
        parse_readings("1,0.5\n1,0.6\n")


def test_a_file_with_a_byte_order_mark_is_a_file_like_any_other(tmp_path: Path) -> None:
    path = tmp_path / "typed.csv"
    path.write_text("1;0,5\r\n2;1\r\n", encoding="utf-8-sig")
    assert read_readings(path) == {0: 0.5, 1: 1.0}


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="check the file's name"):
        read_readings(tmp_path / "none.csv")
    (tmp_path / "wide.csv").write_text("1;0,5\n", encoding="utf-16")
    with pytest.raises(InputError, match="no plain text in UTF-8"):
        read_readings(tmp_path / "wide.csv")


@pytest.mark.parametrize("line", ["12;", "12,", "12;;# solid", "12\t\t"])
def test_a_patch_without_a_value_is_skipped(line: str) -> None:
    assert parse_readings(f"1;1\n{line}\n") == {0: 1.0}


@pytest.mark.parametrize(
    ("empty", "value"), [(";;", ";0,25;"), (";;", ";0.25;"), (";;", ",0.25,"), (";;", "\t0,25\t")]
)
def test_the_file_to_fill_in_is_read_as_it_was_filled_in(empty: str, value: str) -> None:
    """By hand, or by a spreadsheet that puts its own mark between cells."""
    strip = strips.made().strip
    plain = fill_in(strip)
    assert parse_readings(plain) == {}
    read = [n for n, patch in enumerate(strip.patches) if patch.kind != "lines"]
    assert parse_readings(plain.replace(empty, value)) == dict.fromkeys(read, 0.25)


def test_the_file_to_fill_in_counts_as_the_strip_and_its_words_say() -> None:
    strip = strips.made().strip
    lines = [line for line in fill_in(strip).splitlines() if " at " in line]
    assert len(lines) == len(strip.patches)
    places = []
    for number, (line, patch) in enumerate(zip(lines, strip.patches, strict=True), start=1):
        assert line.startswith((f"{number};;# ", f"# {number} has no tone"))
        word = {"bare": "bare glass", "screen": patch.screen}.get(patch.kind, patch.kind)
        assert f" {word}" in line
        across, down = line.rsplit(" at ", 1)[1].removesuffix(" mm").split(" and ")
        assert float(across) == pytest.approx(patch.box.left_mm + patch.box.width_mm / 2, abs=0.051)
        assert float(down) == pytest.approx(patch.box.top_mm + patch.box.height_mm / 2, abs=0.051)
        places.append((float(down), float(across)))
        assert (f"of setting {patch.run + 1} (" in line) == (patch.kind != "bare")
    assert places == sorted(places)
    assert "row by row from the top left as the strip is seen from the front" in fill_in(strip)
    assert "," not in fill_in(strip)
