"""`rimetype strip read` without a photo: what it reads is safe, and what cannot be is told."""

import pytest

from app.command import run
from engine.strip.make_files import write_strip
from shared.profile_file import read_profile
from tests import strip_in_a_folder as strips


@pytest.fixture
def folder(tmp_path):
    """A strip and readings of it."""
    write_strip(strips.made(), tmp_path)
    strip = strips.made().strip
    lines = [
        f"{number};{frost(strip, patch):.3f}"
        for number, patch in enumerate(strip.patches, start=1)
        if patch.kind in ("bare", "solid", "power")
    ]
    (tmp_path / "typed.csv").write_text("\n".join(lines))
    return tmp_path


def frost(strip, patch):
    """As if frost followed the power from 12 to 55 %."""
    if patch.kind == "bare":
        return 0.0
    run_ = strip.runs[patch.run]
    power = run_.power_min_pct + (run_.power_max_pct - run_.power_min_pct) * patch.drive
    return (power - 12.0) / 43.0


def read(folder, *words):
    given = ["--strip", str(folder / "strip.json"), "--readings", str(folder / "typed.csv")]
    return run(["strip", "read", *given, *map(str, words)])


def files(folder):
    return {path: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("strip.json", "strip.json belongs to the strip and is never written over"),
        ("cell-look.png", "cell-look.png belongs to the strip"),
        (strips.made().strip.runs[0].file, "belongs to the strip"),
        ("placement-sheet.pdf", "belongs to the strip"),
        ("typed.csv", "typed.csv holds the readings and is never written over"),
        ("link.json", "link.json belongs to the strip"),
    ],
)
@pytest.mark.parametrize("replace", [[], ["--replace"]])
def test_what_is_read_is_never_written_over(folder, capsys, name, sentence, replace):
    (folder / "link.json").symlink_to("strip.json")
    before = files(folder)
    for words in (["-o", folder / name], ["-o", folder / "glass.json", "--report", folder / name]):
        assert read(folder, *words, *replace) == 2
        said = capsys.readouterr().err
        assert sentence in said
        assert said.count("\n") == 1
    assert files(folder) == before


def test_the_strip_is_safe_from_the_picture_too(folder, capsys):
    before = files(folder)
    words = ["--strip", folder / "strip.json", "-o", folder / "glass.json", "--replace"]
    picture = ["--picture", folder / "cell-look.png"]
    assert run(["strip", "read", "photo.jpg", *map(str, [*words, *picture])]) == 2
    assert "cell-look.png belongs to the strip" in capsys.readouterr().err
    assert files(folder) == before


def test_a_profile_is_refined_in_place_but_no_report_takes_its_place(folder, capsys):
    glass = folder / "glass.json"
    assert read(folder, "-o", glass) == 0
    first = read_profile(glass)
    earlier = ["--profile", glass, "--replace"]
    assert read(folder, "-o", folder / "other.json", "--report", glass, *earlier) == 2
    assert "glass.json is the earlier profile" in capsys.readouterr().err
    assert read_profile(glass) == first
    typed = folder / "typed.csv"
    typed.write_text(typed.read_text().rsplit("\n", 1)[0])
    assert read(folder, "-o", glass, *earlier) == 0
    assert "refines" in read_profile(glass).note


def test_a_unit_without_readings_is_refused(folder, capsys):
    words = ["--strip", folder / "strip.json", "-o", folder / "glass.json", "--unit", "density"]
    assert run(["strip", "read", "photo.jpg", *map(str, words)]) == 2
    assert "leave --unit out" in capsys.readouterr().err


def test_readings_are_frost_unless_another_unit_is_given(folder, capsys):
    assert read(folder, "-o", folder / "glass.json") == 0
    assert read(folder, "-o", folder / "same.json", "--unit", "frost") == 0
    assert (folder / "same.json").read_bytes() == (folder / "glass.json").read_bytes()
    capsys.readouterr()
    assert read(folder, "-o", folder / "other.json", "--unit", "density") == 2
    assert "no lighter" in capsys.readouterr().err
