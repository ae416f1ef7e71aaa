"""The demo without a window: the main job on a portrait, and a picture of the studio."""

import os
from pathlib import Path

import numpy as np
import pytest
import skimage
from PIL import Image

from app import demo
from app.command import run
from shared.recipe import Recipe

ASTRONAUT = Path(skimage.__file__).parent / "data" / "astronaut.png"


def test_the_demo_makes_plate_look_proof_and_a_picture_of_the_studio(
    qtbot, tmp_path, monkeypatch, capsys
):
    home = tmp_path / "home"
    monkeypatch.setenv("RIMETYPE_HOME", str(home))
    monkeypatch.setattr(demo.make, "__defaults__", (ASTRONAUT,))
    folder = tmp_path / "new" / "folder"
    assert run(["demo", "--headless", str(folder)]) == 0
    names = ["plate.png", "look.png", "proof.png", "studio.png"]
    assert capsys.readouterr().out.splitlines() == [str(folder / name) for name in names]
    plate = Recipe().plate
    for name, mode in zip(names[:3], ("1", "I;16", "L"), strict=True):
        with Image.open(folder / name) as image:
            assert image.size == (plate.columns, plate.rows)
            assert image.mode == mode
    with Image.open(folder / "studio.png") as image:
        shown = np.asarray(image.convert("RGB"))
    assert shown.shape[1] >= 1024
    assert len(np.unique(shown.reshape(-1, 3), axis=0)) > 200, "a photo is to be seen"
    assert not home.exists(), "the person's own home is left alone"
    assert os.environ["RIMETYPE_HOME"] == str(home)
    qtbot.wait(1)


def test_a_folder_that_cannot_be_made_is_told(tmp_path, capsys):
    (tmp_path / "file").write_text("")
    assert run(["demo", "--headless", str(tmp_path / "file" / "folder")]) == 2
    assert "cannot be made; choose another one." in capsys.readouterr().err


@pytest.mark.parametrize("name", ["QT_QPA_PLATFORM", "RIMETYPE_HOME"])
def test_the_environment_comes_back_as_it_was(monkeypatch, name):
    for value in ("mine", None):
        if value is None:
            monkeypatch.delenv(name)
        else:
            monkeypatch.setenv(name, value)
        with demo._apart():
            assert os.environ[name] not in ("mine", "")
        assert os.environ.get(name) == value
