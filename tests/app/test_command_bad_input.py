"""Bad input to `rimetype plate`: one line that says what to do, and nothing is written."""

import os
from pathlib import Path

import pytest
import skimage
from PIL import Image

from app.command import run
from app.command_plate import SCREENS

CAT = Path(skimage.__file__).parent / "data" / "chelsea.png"
COLUMNS, ROWS = 451, 602
SIZE = ["--size", "45.1x60.2", "--pitch", "0.1"]

BAD_RECIPES = {
    "broken.json": "{",
    "session.json": '{"rimetype": "session", "version": 1}',
    "newer.json": '{"rimetype": "recipe", "version": 99, "recipe": {}}',
    "wrong.json": '{"rimetype": "recipe", "version": 1, "recipe": {"tone": {"lift": 9}}}',
    "list.json": "[1, 2]",
}


@pytest.fixture
def bench(tmp_path):
    """A folder with a photo, recipes good and bad, and a plate that is there already."""
    (tmp_path / "cat.png").write_bytes(CAT.read_bytes())
    (tmp_path / "there.png").write_bytes(b"there already")
    (tmp_path / "text.jpg").write_text("no picture")
    (tmp_path / "folder").mkdir()
    for name, text in BAD_RECIPES.items():
        (tmp_path / name).write_text(text)
    return tmp_path


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("cat.png", "'-o'"),
        ("-o new.png", "PHOTO"),
        ("missing.png -o new.png", "missing.png is not there"),
        ("text.jpg -o new.png", "text.jpg"),
        ("folder -o new.png", "folder is a folder"),
        ("cat.png other.png -o new.png", "other.png"),
        ("cat.png -o new.png --nonsense", "--nonsense"),
        ("cat.png -o new.png --set tone.lfit=0.4", "Did you mean tone.lift?"),
        ("cat.png -o new.png --set lift=0.4", "no recipe field named lift"),
        ("cat.png -o new.png --set tone.lift", "write it like tone.lift=0.4"),
        ("cat.png -o new.png --set tone.lift=much", "0% to 100%"),
        ("cat.png -o new.png --set tone.lift=", "0% to 100%"),
        ("cat.png -o new.png --set tone.lift=nan", "between 0 % and 100 %"),
        ("cat.png -o new.png --set tone.lift=40", "for percent write tone.lift=40%"),
        ("cat.png -o new.png --set tone.lift=-0.1", "between 0 % and 100 %"),
        ("cat.png -o new.png --set plate.margin_mm=-1", "between 0.0 mm and 200.0 mm"),
        ("cat.png -o new.png --set output.eight_bit=maybe", "true or false"),
        ("cat.png -o new.png --set plate.etched=left", "back, front"),
        ("cat.png -o new.png --set photo.matte=red", "#ffffff"),
        ("cat.png -o new.png --set grey.area=1,2", "four numbers"),
        ("cat.png -o new.png --set grey.area=a,b,c,d", "left,top,right,bottom"),
        ("cat.png -o new.png --set tone.curve=0:0", "2 to 16 points"),
        ("cat.png -o new.png --set tone.curve=0-1", "0:0 0.5:0.6 1:1"),
        ("cat.png -o new.png --size 90", "90x120"),
        ("cat.png -o new.png --size 90x120cm", "90x120"),
        ("cat.png -o new.png --size 0x120", "between 5.0 mm and 3000.0 mm"),
        ("cat.png -o new.png --size 10x10", "The margin leaves no room"),
        ("cat.png -o new.png --pitch thin", "0.0847"),
        ("cat.png -o new.png --pitch 0", "between 0.0100 mm and 1.0000 mm"),
        ("cat.png -o new.png --ppi 0", "above 0"),
        ("cat.png -o new.png --ppi -300", "above 0"),
        ("cat.png -o new.png --ppi inf", "between 0.0100 mm and 1.0000 mm"),
        ("cat.png -o new.png --ppi fine", "above 0"),
        ("cat.png -o new.png --pitch 0.1 --ppi 300", "not both"),
        ("cat.png -o new.png --size 3000x3000 --pitch 0.05", "million etch pixels"),
        ("cat.png -o new.png --screen dots", f"must be one of: {', '.join(SCREENS)}"),
        ("cat.png -o new.png --limit-mp 0", "--limit-mp"),
        ("cat.png -o new.png --limit-mp many", "--limit-mp"),
        ("cat.png -o there.png", "there.png exists already"),
        ("cat.png -o cat.png", "cat.png is the photo itself"),
        ("cat.png -o cat.png --replace", "cat.png is the photo itself"),
        ("cat.png -o new.png --look cat.png --replace", "cat.png is the photo itself"),
        ("cat.png -o nowhere/new.png", "There is no folder"),
        ("cat.png -o new.png --report nowhere/r.json", "There is no folder"),
        ("cat.png -o folder", ".png, .tif or .bmp"),
        ("cat.png -o new.jpg", ".png, .tif or .bmp"),
        ("cat.png -o new", ".png, .tif or .bmp"),
        ("cat.png -o new.png --look look.tif", "end in .png"),
        ("cat.png -o new.png --proof new.png", "same name"),
        ("cat.png -o new.png --recipe missing.json", "missing.json cannot be read"),
        ("cat.png -o new.png --recipe folder", "folder cannot be read"),
        ("cat.png -o new.png --recipe cat.png", "cat.png cannot be read"),
        ("cat.png -o new.png --recipe broken.json", "not a Rimetype recipe file"),
        ("cat.png -o new.png --recipe session.json", "not a Rimetype recipe file"),
        ("cat.png -o new.png --recipe list.json", "not a Rimetype recipe file"),
        ("cat.png -o new.png --recipe newer.json", "newer Rimetype"),
        ("cat.png -o new.png --recipe wrong.json", "between 0 % and 100 %"),
    ],
)
def test_bad_input_is_told_in_one_line_and_nothing_is_written(
    bench, capsys, monkeypatch, words, told
):
    monkeypatch.chdir(bench)
    before = {path: path.read_bytes() for path in bench.iterdir() if path.is_file()}
    assert run(["plate", *words.split()]) == 2
    heard = capsys.readouterr()
    assert heard.out == ""
    assert len(heard.err.splitlines()) == 1
    assert heard.err.endswith((".\n", "?\n"))
    assert told in heard.err
    assert "Usage" not in heard.err
    assert {path: path.read_bytes() for path in bench.iterdir() if path.is_file()} == before


def test_replace_writes_over_what_is_there(bench, monkeypatch):
    monkeypatch.chdir(bench)
    assert run(["plate", "cat.png", "-o", "there.png", "--replace", *SIZE]) == 0
    with Image.open(bench / "there.png") as image:
        assert image.size == (COLUMNS, ROWS)
    assert (bench / "cat.png").read_bytes() == CAT.read_bytes()


def test_a_photo_beyond_the_limit_can_be_let_in_knowingly(tmp_path, capsys):
    photo = tmp_path / "wide.png"
    Image.new("L", (1200, 1000), 130).save(photo)
    words = ["plate", str(photo), "-o", str(tmp_path / "p.png"), *SIZE, "--limit-mp"]
    assert run([*words, "1"]) == 2
    assert "megapixel" in capsys.readouterr().err
    assert run([*words, "2"]) == 0


@pytest.mark.skipif(os.name != "posix", reason="needs a limit on the size of files")
def test_a_machine_that_cannot_write_is_not_the_users_fault(tmp_path, capsys, monkeypatch):
    """A limit on the size of files stands in for a full disk: the system answers the same way."""
    import resource
    import signal

    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    monkeypatch.chdir(tmp_path)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, before[1]))
    try:
        status = run(["plate", str(CAT), "-o", "p.png", *SIZE])
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, ignored)
    assert status == 1
    assert capsys.readouterr().err == (
        "There is no room left for p.png; make room on the disk or choose another one.\n"
    )
    assert list(tmp_path.iterdir()) == []
