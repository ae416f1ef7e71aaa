"""The closed loop by the command line: strip made, burnt on a sheet that is not the engine's model,
photographed, read; the portrait burnt with its profile comes out right.

The whole table (four sheets, three screens, three photographs) is printed by
`python -m tests.strip_loop`; here are parts of it.
"""

import json
from pathlib import Path

import attrs
import numpy as np
import pytest
from PIL import Image

from app.command import run
from engine.strip.fit_values import measured_of
from engine.strip.judge import judge
from engine.strip.judge_photo import read_look
from engine.strip.make import Plan, make_strip
from engine.strip.read import read_photo
from shared.profile_file import dump_profile, read_profile
from shared.recipe import Recipe
from shared.strip import read_strip
from tests import bad_photos as bad
from tests import strip_loop, virtual_camera, virtual_sheet
from tests.strip_in_a_folder import save_jpeg
from tests.strip_loop import DEMO, STRIP_PIECE, plate_error
from tests.virtual_sheet import SHEETS
from tests.virtual_strip import etched

LEAST_RATIO = 4.0
SCRAP = ["--size", "110x150", "--power", "52/11.5,38/11", "--speed", "350", "--floor", "9"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A strip made for a continuous portrait on weak glass, burnt and photographed."""
    place = tmp_path_factory.mktemp("strip")
    words = [*SCRAP, "--screens", "diffusion", "--set", "screen.kind=continuous"]
    assert run(["strip", "make", str(DEMO), "-o", str(place), *words]) == 0
    strip = read_strip(place / "strip.json")
    glass = virtual_sheet.another_piece(SHEETS["weak"], STRIP_PIECE)
    pieces = []
    for setting in strip.runs:
        with Image.open(place / setting.file) as image:
            bitmap = np.asarray(image.convert("L"))
        pieces.append((etched(glass, bitmap, setting, strip.pitch_mm), setting.origin_mm))
    whole = virtual_sheet.assemble(glass, strip.size_mm, pieces)
    shot = virtual_camera.photograph(whole, px_per_mm=8.0, tilt_deg=(9.0, -11.0), turn_deg=4.0)
    Image.fromarray(shot).save(place / "photo.jpg", quality=85)
    darker = virtual_camera.photograph(whole, tilt_deg=(8.0, -9.0), exposure=0.5, seed=1)
    save_jpeg(place / "bent.jpg", bent(shot))
    save_jpeg(place / "bent-darker.jpg", bent(darker), (1, 100))
    return place


def bent(photo: bad.Photo) -> bad.Photo:
    """By a camera whose tones are a power of the light, with a shoulder."""
    return bad.shouldered(bad.powered(photo))


def read(folder: Path, *words: str, output: str = "profile.json") -> int:
    return run(
        ["strip", "read", str(folder / "photo.jpg"), "--strip", str(folder / "strip.json"),
         "-o", str(folder / output), *words]
    )  # fmt: skip


@pytest.fixture(scope="module")
def learnt(folder: Path) -> Path:
    words = ["--report", str(folder / "report.json"), "--picture", str(folder / "seen.png")]
    assert read(folder, *words) == 0
    return folder


def test_the_portrait_comes_out_right(learnt: Path) -> None:
    profile = read_profile(learnt / "profile.json")
    sheet = SHEETS["weak"]
    error = plate_error(sheet, profile, "continuous", size_mm=(50.0, 60.0))
    plain = plate_error(sheet, profile, "continuous", size_mm=(50.0, 60.0), plain=True)
    assert error <= 1.0
    assert plain >= LEAST_RATIO * error


def test_a_camera_that_bends_the_tones_does_no_harm_with_a_second_photo(folder: Path) -> None:
    words = ["--strip", str(folder / "strip.json"), "-o", str(folder / "bent.json")]
    second = ["--darker", str(folder / "bent-darker.jpg")]
    assert run(["strip", "read", str(folder / "bent.jpg"), *second, *words]) == 0
    profile = read_profile(folder / "bent.json")
    assert plate_error(SHEETS["weak"], profile, "continuous", size_mm=(50.0, 60.0)) <= 1.0


def test_a_dot_screen_comes_out_right_by_the_same_strip(learnt: Path) -> None:
    profile = read_profile(learnt / "profile.json")
    assert profile.gains_of("diffusion")
    error = plate_error(SHEETS["weak"], profile, "diffusion", size_mm=(50.0, 60.0))
    plain = plate_error(SHEETS["weak"], profile, "diffusion", size_mm=(50.0, 60.0), plain=True)
    assert error <= 1.0
    assert plain >= LEAST_RATIO * error


def test_the_report_names_the_setting_that_the_profile_has(learnt: Path) -> None:
    report = json.loads((learnt / "report.json").read_text())
    profile = read_profile(learnt / "profile.json")
    for name in ("power_max_pct", "power_min_pct", "speed_mm_s"):
        assert report["best"][name] == getattr(profile.setting, name)
    assert len(report["ranking"]) == 2
    assert profile.origin == "measured"
    assert "photo.jpg" in profile.note
    assert f"; {report['fit']['patches_read']} patches read" in profile.note
    with Image.open(learnt / "seen.png") as picture:
        assert picture.mode == "RGB"


def test_the_users_eye_overrules_by_the_command(learnt: Path) -> None:
    best = json.loads((learnt / "report.json").read_text())["best"]["run"]
    other = 3 - best
    assert read(learnt, "--choose", str(other), output="other.json") == 0
    strip = read_strip(learnt / "strip.json")
    setting = read_profile(learnt / "other.json").setting
    assert setting.power_max_pct == strip.runs[other - 1].power_max_pct


def test_a_reading_refines_what_another_one_taught(learnt: Path) -> None:
    known = read_profile(learnt / "profile.json")
    assert len(known.readings) == 1
    text = dump_profile(attrs.evolve(known, readings=(1,)))
    (learnt / "other.json").write_text(text, encoding="utf-8")
    assert read(learnt, "--profile", str(learnt / "other.json"), output="second.json") == 0
    second = read_profile(learnt / "second.json")
    assert "refines" in second.note
    assert second.readings == (1, *known.readings)


def test_a_reading_does_not_refine_itself(learnt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert read(learnt, "--profile", str(learnt / "profile.json"), output="twice.json") == 0
    assert "it brings nothing new" in capsys.readouterr().err
    once, twice = (read_profile(learnt / f"{name}.json") for name in ("profile", "twice"))
    assert twice.doubt == once.doubt
    assert "refines" not in twice.note


def test_readings_by_hand_by_the_command(learnt: Path) -> None:
    strip = read_strip(learnt / "strip.json")
    known = read_profile(learnt / "profile.json")
    knots = np.array([(k.fluence_j_mm2, k.frost) for k in known.knots]).T
    lines = ["# patch, frost"]
    for number, patch in enumerate(strip.patches, start=1):
        if patch.kind == "power":
            run_ = strip.runs[patch.run]
            span = run_.power_max_pct - run_.power_min_pct
            percent = run_.power_min_pct + span * patch.drive
            watts = known.machine.rated_w * percent / 100.0
            fluence = watts / (run_.speed_mm_s * strip.pitch_mm)
            lines.append(f"{number},{np.interp(fluence, *knots):.2f}")
    (learnt / "readings.csv").write_text("\n".join(lines))
    words = ["--readings", str(learnt / "readings.csv"), "-o", str(learnt / "hand.json")]
    assert run(["strip", "read", "--strip", str(learnt / "strip.json"), *words]) == 0
    found = read_profile(learnt / "hand.json")
    by_hand = np.array([(k.fluence_j_mm2, k.frost) for k in found.knots]).T
    at = np.geomspace(0.3, 0.8, 30)
    assert np.abs(np.interp(at, *by_hand) - np.interp(at, *knots)).mean() < 0.03


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--strip", "nowhere.json"], "cannot be read"),
        (["--choose", "9"], "no setting 9"),
        (["--picture", "seen.jpg"], ".png"),
        (["--readings", "x.csv"], "one of the two"),
        (["--profile", "nowhere.json"], "cannot be read"),
    ],
)
def test_what_the_user_gave_wrong_is_said(
    learnt: Path, words: list[str], sentence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert read(learnt, *words, output="never.json") == 2
    assert sentence in capsys.readouterr().err
    assert not (learnt / "never.json").exists()


def test_a_profile_is_not_written_over(learnt: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = (learnt / "profile.json").read_bytes()
    assert read(learnt) == 2
    assert capsys.readouterr().err.strip()
    assert (learnt / "profile.json").read_bytes() == before


def test_a_photo_of_something_else_gives_no_profile(learnt: Path, capsys) -> None:
    words = ["--strip", str(learnt / "strip.json"), "-o", str(learnt / "never.json")]
    assert run(["strip", "read", str(DEMO), *words]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert not (learnt / "never.json").exists()


def test_the_cells_look_is_read_as_it_was_written(learnt: Path) -> None:
    strip = read_strip(learnt / "strip.json")
    look = read_look(learnt, strip)
    box = strip.cells[0].box
    assert look.dtype == np.uint16
    assert look.shape == (
        round(box.height_mm / strip.pitch_mm),
        round(box.width_mm / strip.pitch_mm),
    )


def test_a_setting_that_flakes_spoils_neither_reading_nor_choice() -> None:
    """The first setting of the grid lies beyond the flaking of the coarse glass."""
    sheet = SHEETS["coarse"]
    plan = Plan(((60.0, 15.0),), (250.0, 400.0), ("diffusion",), (110.0, 150.0))
    machine = strip_loop.planned(sheet)
    made = make_strip(strip_loop.photo("portrait"), Recipe(), machine, plan)
    whole = strip_loop.burnt_of(made, virtual_sheet.another_piece(sheet, STRIP_PIECE))
    reading = read_photo(virtual_camera.photograph(whole), made.strip)
    found = judge(made.strip, measured_of(reading, made.strip), made.cell_look, reading)
    assert found.profile.setting.speed_mm_s == 400.0
    assert found.chosen.fit.power.flakes
    assert "flakes" in found.verdicts[1].reason


def test_every_part_of_the_table_is_there() -> None:
    assert set(strip_loop.GRIDS) == {"continuous", "mixed", "diffusion"}
    assert len(strip_loop.SHOTS) == 3
    for shot in strip_loop.SHOTS:
        assert max(abs(angle) for angle in shot.tilt_deg) <= 15.0
        assert 6.0 <= shot.px_per_mm <= 12.0
