"""What does not fit on a scrap is said in one sentence, and what it says would fit does."""

import itertools
import re

import attrs
import pytest

from engine.strip.layout import SIDES_MM, lay_out
from engine.strip.layout_parts import Wish
from shared.errors import InputError
from shared.strip import Run


def runs(count):
    grid = itertools.product((250.0, 400.0), ((60.0, 15.0), (45.0, 15.0), (30.0, 12.0)))
    return tuple(
        Run(f"{number}.png", most, least, speed, (0.0, 0.0))
        for number, (speed, (most, least)) in enumerate(itertools.islice(grid, count))
    )


USUAL = Wish(runs(6), ("diffusion", "mixed"), 1234)


def refusal(wish):
    with pytest.raises(InputError) as error:
        lay_out(wish)
    return str(error.value)


def size_in(sentence, words):
    found = re.search(rf"{words} ([0-9.]+) x ([0-9.]+) mm", sentence)
    return found and (float(found[1]), float(found[2]))


@pytest.mark.parametrize("size", [(80.0, 100.0), (60.0, 60.0), (120.0, 40.0)])
def test_what_does_not_fit_is_said_with_what_would(size):
    wish = attrs.evolve(USUAL, size_mm=size)
    sentence = refusal(wish)
    larger = size_in(sentence, "take one of")
    assert larger is not None
    lay_out(attrs.evolve(wish, size_mm=larger))
    fewer = re.search(r"ask for (\d+) setting", sentence)
    if fewer:
        count = int(fewer[1])
        lay_out(attrs.evolve(wish, runs=wish.runs[:count]))
        with pytest.raises(InputError):
            lay_out(attrs.evolve(wish, runs=wish.runs[: count + 1]))


@pytest.mark.parametrize("size", [(300.0, 40.0), (400.0, 60.0)])
def test_a_scrap_that_would_do_when_turned_shall_be_turned(size):
    wish = attrs.evolve(USUAL, runs=runs(1), size_mm=size)
    turned = size_in(refusal(wish), "turn it to")
    assert turned == size[::-1]
    lay_out(attrs.evolve(wish, size_mm=turned))


def test_a_long_scrap_grows_on_its_short_side_alone():
    wish = attrs.evolve(USUAL, runs=runs(1), size_mm=(300.0, 40.0))
    assert size_in(refusal(wish), "take one of") == (300.0, 75.0)


@pytest.mark.parametrize("size", [(30.0, 1000.0), (1000.0, 30.0), (980.0, 35.0)])
def test_no_scrap_is_named_that_would_be_refused_for_its_length(size):
    wish = attrs.evolve(USUAL, runs=runs(1), size_mm=size)
    larger = size_in(refusal(wish), "take one of")
    assert max(larger) <= SIDES_MM[1]
    lay_out(attrs.evolve(wish, size_mm=larger))


def test_fewer_screens_are_named_where_they_would_do():
    screens = ("diffusion", "mixed", "bluenoise", "clustered")
    wish = attrs.evolve(USUAL, runs=runs(1), screens=screens, size_mm=(90.0, 80.0))
    fewer = re.search(r" or measure (\d+) screens?\.$", refusal(wish))
    assert fewer is not None
    lay_out(attrs.evolve(wish, screens=screens[: int(fewer[1])]))
    with pytest.raises(InputError):
        lay_out(attrs.evolve(wish, screens=screens[: int(fewer[1]) + 1]))
