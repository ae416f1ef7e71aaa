"""Readings in a file: decimal points and commas, and no line that is read otherwise than meant."""

from pathlib import Path

import pytest

from engine.strip.readings_file import parse_readings, read_readings
from shared.errors import InputError


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
