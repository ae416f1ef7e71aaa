"""`rimetype strip make`: a folder for the machine, or one plain sentence."""

import json
from pathlib import Path

import pytest
import skimage

from app.command import run
from shared.profile import GENERIC
from shared.profile_file import dump_profile
from shared.strip import dump_strip, read_strip
from tests.strip_parts import strip_of

CAT = Path(skimage.__file__).parent / "data" / "chelsea.png"
SMALL = ["--size", "110x90", "--power", "60/15,40/12", "--speed", "300"]


def make(folder, *words, photo=CAT):
    return run(["strip", "make", *([str(photo)] if photo else []), "-o", str(folder), *words])


def test_a_strip_is_made(tmp_path, capsys):
    folder = tmp_path / "strips" / "first"
    assert make(folder, *SMALL, "--number", "7") == 0
    document = json.loads((folder / "strip.json").read_text(encoding="utf-8"))
    assert document["size_mm"] == [110.0, 90.0]
    assert document["pitch_mm"] == 0.1
    settings = [(r["power_max_pct"], r["power_min_pct"], r["speed_mm_s"]) for r in document["runs"]]
    assert settings == [(40.0, 12.0, 300.0), (60.0, 15.0, 300.0)]
    for burnt in document["runs"]:
        assert (folder / burnt["file"]).is_file()
        assert burnt["origin_mm"] == [0.0, 0.0]
    assert (folder / "placement-sheet.pdf").read_bytes().startswith(b"%PDF-")
    assert (folder / document["cell_look"]).is_file()
    said = capsys.readouterr()
    assert said.err == ""
    assert "test strip 7, 110 x 90 mm, 2 runs" in said.out


def test_without_anything_the_demo_portrait_and_the_profiles_setting(tmp_path):
    profile = tmp_path / "mine.json"
    profile.write_text(dump_profile(GENERIC), encoding="utf-8")
    assert make(tmp_path / "s", "--profile", str(profile), photo=None) == 0
    strip = read_strip(tmp_path / "s" / "strip.json")
    assert strip.size_mm == (150.0, 200.0)
    assert strip.runs[0].power_max_pct == GENERIC.setting.power_max_pct
    assert len(strip.runs) == 6


def test_without_a_speed_a_coarser_pitch_is_burnt_slower(tmp_path):
    words = ["--pitch", "0.2", "--power", "45/10", "--screens", "continuous", "--size", "110x90"]
    assert make(tmp_path / "s", *words) == 0
    speeds = [run.speed_mm_s for run in read_strip(tmp_path / "s" / "strip.json").runs]
    assert speeds[0] == 0.5 * GENERIC.setting.speed_mm_s


def test_options_reach_the_strip(tmp_path):
    words = ["--pitch", "0.2", "--margin", "8", "--screens", "bluenoise,continuous",
             "--floor", "12", "--crop", "0.2,0.1,0.8,0.9", "--set", "plate.etched=front",
             "--set", "screen.kind=bluenoise"]  # fmt: skip
    assert make(tmp_path / "s", *SMALL, *words) == 0
    strip = read_strip(tmp_path / "s" / "strip.json")
    assert strip.pitch_mm == 0.2
    assert strip.etched == "front"
    assert {p.screen for p in strip.patches} == {"", "bluenoise"}
    assert strip.screen["kind"] == "bluenoise"
    assert strip.profile["machine"]["firing_floor_pct"] == 12.0
    assert min(p.box.left_mm for p in strip.patches) >= 8.0


def test_a_second_strip_does_not_overwrite_the_first(tmp_path, capsys):
    assert make(tmp_path, *SMALL) == 0
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    assert make(tmp_path, *SMALL) == 2
    assert "exists already" in capsys.readouterr().err
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before
    assert make(tmp_path, *SMALL, "--replace") == 0


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--power", "60/x"], "--power 60/x holds something that is no number"),
        (["--power", "60"], "pairs of greatest and least power"),
        (["--power", "10/60"], "write the greatest first"),
        (["--power", "60/59.9"], "too close together to learn from; make the greatest at least"),
        (["--power", "60/9"], "firing floor of 10 %"),
        (["--power", "60/12", "--floor", "13"], "firing floor of 13 %"),
        (["--speed", "9000"], "beyond this machine's"),
        (["--speed", "fast"], "no number"),
        (["--floor", "nan"], "between 0 and 60 %"),
        (["--size", "60x50"], "take one of"),
        (["--size", "large"], "must look like 150x200"),
        (["--margin", "3"], "margin of 6 to 200 mm"),
        (["--pitch", "x"], "--pitch x is no number"),
        (["--screens", "offset"], "no dot gain of offset"),
        (["--screens", "mixed,"], "lacks a name"),
        (["--power", ""], "write 60/15,45/12"),
        (["--speed", ""], "write 250,400"),
        (["--screens", ""], "lacks a name"),
        (["--size", ""], "must look like 150x200"),
        (["--margin", ""], "is no number"),
        (["--crop", ""], "write 0.3,0.1,0.7,0.6"),
        (["--crop", "0.1,0.2,0.3"], "left, top, right and bottom"),
        (["--crop", "0.9,0.2,0.3,0.4"], "rise from 0 to 1"),
        (["--number", "0"], "strip make --help"),
        (["--set", "tone.lift"], "lacks its value"),
        (["--profile", "none.json"], "cannot be read"),
    ],
)
def test_what_cannot_be_used_is_said_in_one_sentence(tmp_path, capsys, words, sentence):
    assert make(tmp_path / "s", *words) == 2
    said = capsys.readouterr()
    assert sentence in said.err
    assert said.err.count("\n") == 1
    assert not (tmp_path / "s").exists()


def test_a_missing_photo_and_a_missing_command_are_told(tmp_path, capsys):
    assert make(tmp_path / "s", photo=tmp_path / "none.jpg") == 2
    assert run(["strip"]) == 2
    assert "Missing command; see rimetype strip --help." in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "value"), [("pitch_mm", 0.0), ("runs", []), ("patches", [{}]), ("size_mm", [1e308, 1])]
)
def test_a_damaged_strip_is_one_plain_sentence(tmp_path, capsys, name, value):
    document = json.loads(dump_strip(strip_of()))
    damaged = tmp_path / "strip.json"
    damaged.write_text(json.dumps({**document, "cell_look": "look.png", name: value}))
    words = ["strip", "read", str(CAT), "--strip", str(damaged), "-o", str(tmp_path / "p.json")]
    assert run(words) == 2
    said = capsys.readouterr().err
    assert "damaged" in said
    assert said.count("\n") == 1
