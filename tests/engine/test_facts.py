"""The ticket: its facts are right, and every warning starts exactly at its limit."""

import json

import attrs
import numpy as np
import pytest

from engine import glass
from engine.facts import Facts, facts, report, screen_label
from engine.measure import Shares
from engine.photo import Photo, photo_from_array
from shared.profile import GENERIC
from shared.recipe import GROUPS, Recipe, field_info

ENOUGH = (2380, 1880)
"""Rows and columns that give the default plate, 188 x 238 mm inside its margin, 10 pixels a mm."""


def photo(rows: int = ENOUGH[0], columns: int = ENOUGH[1]) -> Photo:
    return photo_from_array(np.zeros((rows, columns, 3), np.uint8), "portrait")


LARGE = photo()


def ticket(
    recipe: Recipe | None = None, shown: Photo = LARGE, bare: float = 0.1, full: float = 0.0
) -> Facts:
    return facts(recipe or Recipe(), shown, GENERIC, Shares(bare, full))


def warned(found: Facts) -> list[str]:
    return [caution.step for caution in found.cautions]


def test_a_good_job_has_no_warning() -> None:
    found = ticket()
    assert found.cautions == ()
    assert found.enough == "enough"


def test_the_facts_are_those_of_plate_and_photo() -> None:
    found = ticket(Recipe().changed(plate__width_mm=90.0, plate__pitch_mm=0.0847))
    assert (found.columns, found.rows) == (round(90 / 0.0847), round(250 / 0.0847))
    assert (found.photo_columns, found.photo_rows) == (1880, 2380)
    assert found.photo_pixels_per_mm == pytest.approx(2380 / 238.0)
    assert found.etch_pixels_per_mm == pytest.approx(1 / 0.0847)
    assert found.profile_origin == "starting guess"


def test_a_photo_fitted_or_scaled_has_its_own_density() -> None:
    fitted = ticket(Recipe().changed(placement__fit="fit"), photo(1000, 3760))
    assert fitted.photo_pixels_per_mm == pytest.approx(3760 / 188.0)
    doubled = ticket(Recipe().changed(placement__scale=2.0))
    assert doubled.photo_pixels_per_mm == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("kind", "eight_bit", "bits"),
    [("diffusion", False, 1), ("diffusion", True, 8), ("continuous", False, 8)],
)
def test_bits(kind: str, eight_bit: bool, bits: int) -> None:
    assert ticket(Recipe().changed(screen__kind=kind, output__eight_bit=eight_bit)).bits == bits


@pytest.mark.parametrize(
    ("etched", "mark", "said"),
    [
        ("back", "light", "already mirrored and inverted: do neither again"),
        ("back", "dark", "already mirrored and must not be inverted"),
        ("front", "light", "already inverted and must not be mirrored"),
        ("front", "dark", "neither mirrored nor inverted, and must not be"),
    ],
)
def test_the_ticket_says_what_was_done_to_the_file(etched: str, mark: str, said: str) -> None:
    found = ticket(Recipe().changed(plate__etched=etched, plate__mark=mark))
    assert said in found.handling
    assert found.mirrored == (etched == "back")
    assert found.inverted == (mark == "light")


def test_unmeasured_shares_are_unknown_and_warn_of_nothing() -> None:
    found = facts(Recipe(), LARGE, GENERIC, None)
    assert found.bare_share is None
    assert found.full_share is None
    assert found.cautions == ()


@pytest.mark.parametrize(
    ("thickness", "margin", "steps"),
    [(3.0, 6.0, []), (3.0, 5.9, ["plate"]), (10.0, 20.0, []), (10.0, 19.9, ["plate"])],
)
def test_a_margin_under_twice_the_thickness_is_warned_of(
    thickness: float, margin: float, steps: list[str]
) -> None:
    recipe = Recipe().changed(plate__thickness_mm=thickness, plate__margin_mm=margin)
    found = ticket(recipe, photo(2500, 2000))
    assert warned(found) == steps
    assert all(f"{2 * thickness:.1f} mm" in caution.sentence for caution in found.cautions)


@pytest.mark.parametrize(
    ("rows", "columns", "enough"),
    [
        (2380, 1880, "enough"),
        (2370, 1872, "fair"),
        (1429, 1129, "fair"),
        (1427, 1127, "too few"),
        (100, 80, "too few"),
    ],
)
def test_too_few_photo_pixels_are_warned_of(rows: int, columns: int, enough: str) -> None:
    found = ticket(shown=photo(rows, columns))
    assert found.enough == enough
    assert warned(found) == ([] if enough == "enough" else ["plate"])


@pytest.mark.parametrize(("bare", "steps"), [(0.30, []), (0.301, ["tone"])])
def test_much_bare_glass_is_warned_of(bare: float, steps: list[str]) -> None:
    found = ticket(bare=bare)
    assert warned(found) == steps
    assert all("30 % of the picture stays bare" in c.sentence for c in found.cautions)


@pytest.mark.parametrize(("full", "steps"), [(0.08, []), (0.081, ["tone"])])
def test_much_full_frost_is_warned_of(full: float, steps: list[str]) -> None:
    assert warned(ticket(full=full)) == steps


def test_a_light_backing_is_warned_of_where_frost_stands_out_by_less_than_30() -> None:
    seen: set[bool] = set()
    for backing in np.arange(0.10, 0.25, 0.005):
        recipe = Recipe().changed(glass__backing=float(backing))
        stands_out = glass.ends(GENERIC.light, float(backing), "light").lightness_range >= 30.0
        assert warned(ticket(recipe)) == ([] if stands_out else ["glass"])
        seen.add(stands_out)
    assert seen == {True, False}


def test_a_dark_mark_before_a_light_needs_no_dark_backing() -> None:
    assert warned(ticket(Recipe().changed(glass__backing=0.9, plate__mark="dark"))) == []


@pytest.mark.parametrize(
    ("width", "pitch", "steps"),
    [
        (2600.0, 0.0847, []),
        (2750.0, 0.0847, ["output"]),
        (3000.0, 0.1, []),
    ],
)
def test_a_pitch_that_whole_pixels_per_metre_miss_by_a_pixel_is_warned_of(
    width: float, pitch: float, steps: list[str]
) -> None:
    """0.0847 mm are 11806.4 pixels per metre, stored as 11806: 32 millionths too coarse, which on
    2663 mm is one pixel."""
    recipe = Recipe().with_values(
        {
            "plate.width_mm": width,
            "plate.height_mm": 20.0,
            "plate.pitch_mm": pitch,
            "placement.fit": "fit",
        }
    )
    found = ticket(recipe)
    assert warned(found) == steps
    assert all("Write TIFF" in caution.sentence for caution in found.cautions)


def test_every_warning_is_plain_and_leads_to_a_step() -> None:
    recipe = Recipe().with_values(
        {
            "plate.width_mm": 2900.0,
            "plate.height_mm": 30.0,
            "plate.margin_mm": 1.0,
            "plate.pitch_mm": 0.0847,
            "glass.backing": 0.8,
        }
    )
    found = ticket(recipe, photo(100, 80), bare=0.6, full=0.3)
    assert warned(found) == ["plate", "plate", "tone", "tone", "glass", "output"]
    for caution in found.cautions:
        assert caution.step in GROUPS
        assert caution.sentence.endswith(".")
        assert caution.sentence[0].isupper() or caution.sentence[0].isdigit()
        assert "_" not in caution.sentence


def test_how_the_photo_was_read_is_passed_on() -> None:
    shown = attrs.evolve(LARGE, notes=("Transparent parts were laid over black.",))
    assert ticket(shown=shown).notes == shown.notes


def test_the_report_is_plain_data_with_all_facts() -> None:
    recipe = Recipe().changed(plate__margin_mm=1.0, grey__area=(0.1, 0.2, 0.3, 0.4))
    found = ticket(recipe)
    data = json.loads(json.dumps(report(found, recipe)))
    assert data["machine"]["pitch_mm"] == 0.1
    assert data["machine"]["lines"] == 2500
    assert data["photo_enough"] == found.enough
    assert data["handling"] == found.handling
    assert data["cautions"][0]["step"] == "plate"
    assert data["recipe"]["grey"]["area"] == [0.1, 0.2, 0.3, 0.4]
    assert {field.name for field in attrs.fields(Facts)} <= set(data)


def test_screens_have_labels() -> None:
    for option in field_info("screen.kind").options:
        assert screen_label(option.value) == option.label


def test_a_profile_measured_with_another_tube_is_marked() -> None:
    measured = attrs.evolve(GENERIC, origin="measured")
    now = attrs.evolve(GENERIC, machine=attrs.evolve(GENERIC.machine, tube="new"))
    assert facts(Recipe(), LARGE, measured, None, measured).cautions == ()
    (caution,) = facts(Recipe(), LARGE, measured, None, now).cautions
    assert caution.step == "glass"
    assert "another tube" in caution.sentence
    assert "Make a new test strip" in caution.sentence
    assert facts(Recipe(), LARGE, GENERIC, None, now).cautions == ()


def test_a_profile_of_thicker_glass_is_marked_without_knowing_the_machine() -> None:
    thick = attrs.evolve(
        GENERIC, origin="measured", sheet=attrs.evolve(GENERIC.sheet, thickness_mm=6.0)
    )
    (caution,) = facts(Recipe(), LARGE, thick, None).cautions
    assert "6 mm" in caution.sentence
    assert facts(Recipe().changed(plate__thickness_mm=6.0, plate__margin_mm=12.0), LARGE, thick,
                 None).cautions == ()  # fmt: skip
