"""The descriptions from which the profile's form is made."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.profile import Gain, GlassProfile, Knot, Light, Machine, Response, Setting, Sheet
from shared.profile_fields import Figure, figures
from shared.units import parse_number

SHARE = Figure("number", "Share", unit="%", high=1.0)
PERCENT = Figure("number", "Power", unit="%", high=100.0)


@pytest.mark.parametrize(
    "part", [Machine, Sheet, Setting, Response, Light, Knot, Gain, GlassProfile]
)
def test_every_figure_is_described_within_its_range(part: type) -> None:
    described = figures(part)
    assert len({figure.label for figure in described.values()}) == len(described)
    for name, figure in described.items():
        assert figure.label
        if figure.kind == "number":
            assert figure.low < figure.high
            assert bool(figure.unit), name


@given(st.floats(0.0001, 200_000.0))
def test_shown_digits_are_plain_and_right_to_six_that_count(value: float) -> None:
    text = PERCENT.digits(value)
    assert "e" not in text
    assert parse_number(text) == pytest.approx(value, rel=6e-6)


@pytest.mark.parametrize(
    ("figure", "value", "words"),
    [
        (SHARE, 0.917, "91.7 %"),
        (PERCENT, 45.0, "45 %"),
        (Figure("number", "Slope"), 0.0001, "0.0001"),
        (Figure("flag", "Both"), True, "yes"),
        (Figure("text", "Tube"), "new", "new"),
    ],
)
def test_a_value_is_shown_with_its_unit(figure: Figure, value: object, words: str) -> None:
    assert figure.shown(value) == words


def test_a_range_is_told_in_shown_values() -> None:
    assert figures(Light)["frost_reflectance"].reach == "1 to 95 %"
