"""From a photo to files: refused before any work, the same bytes by every way, stopped cleanly."""

import json
from pathlib import Path

import numpy as np
import pytest
import skimage
from PIL import Image
from PySide6.QtWidgets import QWidget

from app.command import run
from app.making import Targets, make_plate, read_recipe, write_plate
from app.output_dialog import OutputDialog
from engine import facts as ticket
from engine.flow import prepare
from engine.photo import open_photo
from engine.plate_bitmap import burn
from shared.errors import Cancelled, OutputError, PhotoError
from shared.profile import GENERIC
from shared.recipe import Recipe
from shared.recipe_file import dump_recipe

ASTRONAUT = Path(skimage.__file__).parent / "data" / "astronaut.png"
RECIPE = Recipe().with_values(
    {
        "plate.width_mm": 60.0,
        "plate.height_mm": 80.0,
        "grey.method": "contrast",
        "tone.lift": 0.37,
        "tone.curve": ((0.0, 0.0), (0.4, 0.55), (1.0, 1.0)),
        "detail.amount": 2.35,
        "placement.turn_deg": 3.7,
    }
)
NAMES = ("plate.png", "look.png", "proof.png", "report.json")


def targets_in(folder, **changed):
    folder.mkdir(exist_ok=True)
    plate, look, proof, report = (folder / name for name in NAMES)
    return Targets(**{"plate": plate, "look": look, "proof": proof, "report": report, **changed})


def ignore(_share):
    return None


def test_all_files_are_what_the_engine_computed(tmp_path):
    targets = targets_in(tmp_path / "a")
    found = make_plate(ASTRONAUT, RECIPE, targets, None, ignore)
    done = burn(prepare(open_photo(ASTRONAUT)), RECIPE)
    with Image.open(targets.plate) as image:
        np.testing.assert_array_equal(np.asarray(image) * 255, done.bitmap.pixels)
    with Image.open(targets.look) as image:
        np.testing.assert_array_equal(np.asarray(image), done.look)
    with Image.open(targets.proof) as image:
        np.testing.assert_array_equal(np.asarray(image), done.proof())
    report = json.loads(targets.report.read_text(encoding="utf-8"))
    assert report == json.loads(json.dumps(ticket.report(found, RECIPE)))
    assert found.bare_share == done.shares.bare


def test_only_the_plate_is_a_must(tmp_path):
    targets = Targets(tmp_path / "plate.tif")
    make_plate(ASTRONAUT, RECIPE, targets, None, ignore)
    assert [path.name for path in tmp_path.iterdir()] == ["plate.tif"]


def test_the_window_and_the_command_line_give_the_same_bytes(qtbot, tmp_path):
    by_command, by_window = tmp_path / "command", tmp_path / "window"
    for folder in (by_command, by_window):
        folder.mkdir()
    recipe_path = tmp_path / "mine.json"
    recipe_path.write_text(dump_recipe(RECIPE, "mine"), encoding="utf-8")
    words = ["plate", ASTRONAUT, "-o", by_command / "plate.png", "--recipe", recipe_path,
             "--look", by_command / "plate-look.png", "--proof", by_command / "plate-proof.png",
             "--report", by_command / "plate-ticket.json"]  # fmt: skip
    assert run([str(word) for word in words]) == 0

    window = QWidget()
    qtbot.addWidget(window)
    prepared = prepare(open_photo(ASTRONAUT))
    facts = ticket.facts(RECIPE, prepared.photo, GENERIC, None)
    dialog = OutputDialog(prepared, RECIPE, GENERIC, facts, "60 x 80 mm", by_window, window)
    dialog.path.setText(str(by_window / "plate.png"))
    for box in (dialog.look, dialog.proof, dialog.report):
        box.setChecked(True)
    dialog.open()
    with qtbot.waitSignal(dialog.written, timeout=30_000):
        dialog.write.click()
    qtbot.waitUntil(lambda: dialog._job is None)

    made = sorted(path.name for path in by_window.iterdir())
    assert made == ["plate-look.png", "plate-proof.png", "plate-ticket.json", "plate.png"]
    for name in made:
        assert (by_window / name).read_bytes() == (by_command / name).read_bytes(), name


def test_a_recipe_file_gives_the_very_recipe(tmp_path):
    path = tmp_path / "mine.json"
    path.write_text(dump_recipe(RECIPE, "mine"), encoding="utf-8")
    assert read_recipe(path) == RECIPE
    path.write_text('{"rimetype": "recipe", "version": 1, "recipe": {"tone": {"lift": 0.5}}}')
    assert read_recipe(path, onto=RECIPE) == RECIPE.changed(tone__lift=0.5)


@pytest.mark.parametrize("at", [0.0, 0.3, 0.9])
def test_stopped_work_leaves_no_file(tmp_path, at):
    def stop(share):
        if share >= at:
            raise Cancelled

    targets = targets_in(tmp_path / "a")
    with pytest.raises(Cancelled):
        write_plate(prepare(open_photo(ASTRONAUT)), RECIPE, targets, stop)
    assert list((tmp_path / "a").iterdir()) == []


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"look": Path("plate.png")}, "same name"),
        ({"plate": Path("plate.gif")}, ".png, .tif or .bmp"),
        ({"proof": Path("proof.jpg")}, "end in .png"),
        ({"report": Path("nowhere") / "report.json"}, "no folder"),
        ({"report": Path("taken.json")}, "exists already"),
    ],
)
def test_what_cannot_be_written_is_refused_before_any_work(tmp_path, monkeypatch, changed, told):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "taken.json").write_text("{}")
    targets = Targets(**{"plate": Path("plate.png"), **changed})

    def no_work(_share):
        pytest.fail("nothing may be computed")

    with pytest.raises(OutputError) as caught:
        make_plate(ASTRONAUT, RECIPE, targets, None, no_work)
    assert told in str(caught.value)
    assert [path.name for path in tmp_path.iterdir()] == ["taken.json"]


def test_the_photo_is_never_written_over_even_by_another_name(tmp_path):
    photo = tmp_path / "photo.png"
    photo.write_bytes(ASTRONAUT.read_bytes())
    link = tmp_path / "link.png"
    link.hardlink_to(photo)
    for path in (photo, link):
        with pytest.raises(OutputError, match="is the photo itself"):
            make_plate(photo, RECIPE, Targets(path, replace=True), None, ignore)
    assert photo.read_bytes() == ASTRONAUT.read_bytes()


def test_a_photo_that_cannot_be_opened_writes_nothing(tmp_path):
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(b"\xff\xd8\xff no more than a beginning")
    with pytest.raises(PhotoError):
        make_plate(photo, RECIPE, Targets(tmp_path / "plate.png"), None, ignore)
    assert [path.name for path in tmp_path.iterdir()] == ["photo.jpg"]
