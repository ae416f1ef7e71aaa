"""`rimetype plate`: from real photographs to files of the right size, handedness and polarity."""

import json
import os
import struct
import subprocess
import sys
from pathlib import Path

import attrs
import cv2
import numpy as np
import pytest
import skimage
from PIL import Image

from app.command import run
from app.keeping import write_recipe
from engine.drive import aim_of, drive_of_frost, frost_asked
from shared.profile import GENERIC
from shared.recipe import Recipe

ROOT = Path(__file__).parents[2]
DATA = Path(skimage.__file__).parent / "data"
ASTRONAUT, CAT, CAMERA, ROCKET = (
    DATA / name for name in ("astronaut.png", "chelsea.png", "camera.png", "rocket.jpg")
)
COLUMNS, ROWS = 451, 602
SIZE = ["--size", "45.1x60.2", "--pitch", "0.1"]


def plate(folder, photo, *words, name="plate.png", size=SIZE):
    """Make a plate; returns its path."""
    path = folder / name
    assert run(["plate", str(photo), "-o", str(path), *size, *map(str, words)]) == 0
    return path


def pixels(path):
    with Image.open(path) as image:
        return np.asarray(image.convert("I" if image.mode == "I;16" else "L")).astype(int)


def look_of(path):
    return pixels(path) / 65535.0


def drive_of(look, screen, mark="light"):
    aim = aim_of(Recipe().changed(screen__kind=screen, plate__mark=mark), GENERIC)
    return drive_of_frost(frost_asked(look.astype(np.float32), aim, 0.1), aim)


def correlation(a, b):
    return float(np.corrcoef(np.ravel(a), np.ravel(b))[0, 1])


def blurred(values, sigma=3.0):
    return cv2.GaussianBlur(np.asarray(values, np.float32), (0, 0), sigma)


@pytest.mark.parametrize("photo", [ASTRONAUT, CAT, CAMERA, ROCKET], ids=lambda path: path.stem)
@pytest.mark.parametrize("screen", ["continuous", "threshold", "diffusion", "bluenoise"])
def test_the_plate_has_its_size_and_bits_and_is_the_look_mirrored_and_inverted(
    tmp_path, photo, screen
):
    look_path = tmp_path / "look.png"
    path = plate(tmp_path, photo, "--screen", screen, "--look", look_path)
    with Image.open(path) as image:
        assert image.size == (COLUMNS, ROWS)
        assert image.mode == ("L" if screen == "continuous" else "1")
        assert image.info["dpi"] == pytest.approx((254.0, 254.0), rel=1e-4)
    with Image.open(look_path) as image:
        assert image.size == (COLUMNS, ROWS)
        assert image.mode == "I;16"
    burnt = 1.0 - pixels(path)[:, ::-1] / 255.0
    look = look_of(look_path)
    if screen == "threshold":
        assert np.mean(burnt != (look >= 0.5)) < 1e-4
        return
    wanted = drive_of(look, screen)
    assert burnt.mean() == pytest.approx(wanted.mean(), abs=0.005)
    assert correlation(blurred(burnt), blurred(wanted)) > 0.99
    if screen != "continuous":
        assert set(np.unique(burnt)) == {0.0, 1.0}


@pytest.mark.parametrize("mark", ["light", "dark"])
@pytest.mark.parametrize("etched", ["back", "front"])
def test_a_continuous_plate_is_the_drive_of_the_look_to_the_code(tmp_path, etched, mark):
    """The look is stored to 1/65535, so a drive on the edge between two codes may fall either way:
    one code apart at most, and that seldom."""
    look_path = tmp_path / "look.png"
    path = plate(
        tmp_path, ASTRONAUT, "--screen", "continuous", "--look", look_path,
        "--set", f"plate.etched={etched}", "--set", f"plate.mark={mark}",
    )  # fmt: skip
    wanted = np.round(255.0 * (1.0 - drive_of(look_of(look_path), "continuous", mark)))
    found = pixels(path)
    apart = np.abs((found[:, ::-1] if etched == "back" else found) - wanted)
    assert apart.max() <= 1
    assert np.mean(apart > 0) < 0.01
    turned = correlation(found, look_of(look_path))
    straight = correlation(found[:, ::-1], look_of(look_path))
    aligned = straight if etched == "back" else turned
    assert (aligned < -0.8) if mark == "light" else (aligned > 0.8)


@pytest.mark.parametrize("screen", ["continuous", "diffusion"])
def test_png_tiff_and_bmp_carry_the_same_pixels_and_state_the_same_size(tmp_path, screen):
    paths = {
        suffix: plate(tmp_path, CAT, "--screen", screen, "--size", "90x60", "--pitch", "0.0847",
                      name=f"plate{suffix}", size=[])
        for suffix in (".png", ".tif", ".bmp")
    }  # fmt: skip
    found = {suffix: pixels(path) for suffix, path in paths.items()}
    columns, rows = round(90 / 0.0847), round(60 / 0.0847)
    assert found[".png"].shape == (rows, columns)
    np.testing.assert_array_equal(found[".tif"], found[".png"])
    np.testing.assert_array_equal(found[".bmp"], found[".png"])
    for path in paths.values():
        with Image.open(path) as image:
            across, down = (float(value) for value in image.info["dpi"])
        assert 25.4 * columns / across == pytest.approx(90.0, abs=0.0847)
        assert 25.4 * rows / down == pytest.approx(60.0, abs=0.0847)
    assert png_pixels_per_metre(paths[".png"]) == (11806, 11806)
    assert bmp_pixels_per_metre(paths[".bmp"]) == (11806, 11806)
    assert tiff_pixels_per_inch(paths[".tif"]) == pytest.approx(25.4 / 0.0847, rel=1e-9)


def png_pixels_per_metre(path):
    """The pHYs chunk (PNG third edition, 11.3.4.3): two numbers and the unit, 1 for the metre."""
    data = path.read_bytes()
    across, down, unit = struct.unpack(">IIB", data[data.index(b"pHYs") + 4 :][:9])
    assert unit == 1
    return across, down


def bmp_pixels_per_metre(path):
    """BITMAPINFOHEADER, biXPelsPerMeter and biYPelsPerMeter at bytes 38 and 42 of the file."""
    return struct.unpack("<ii", path.read_bytes()[38:46])


def tiff_pixels_per_inch(path):
    """XResolution (282) with ResolutionUnit (296) = 2 for the inch (TIFF 6.0, section 3)."""
    with Image.open(path) as image:
        assert image.tag_v2[296] == 2
        assert image.tag_v2[282] == image.tag_v2[283]
        return float(image.tag_v2[282])


def test_sizes_in_inches_and_pixels_per_inch(tmp_path):
    path = plate(tmp_path, CAT, "--size", "2x3in", "--ppi", "300", size=[])
    assert pixels(path).shape == (900, 600)


def test_eight_bit_dots_where_asked(tmp_path):
    path = plate(tmp_path, CAT, "--set", "output.eight_bit=true")
    with Image.open(path) as image:
        assert image.mode == "L"
    assert set(np.unique(pixels(path))) == {0, 255}


def test_the_proof_shows_the_look_from_the_front(tmp_path):
    look, proof = tmp_path / "look.png", tmp_path / "proof.png"
    plate(tmp_path, ASTRONAUT, "--look", look, "--proof", proof)
    shown = pixels(proof)
    assert shown.shape == (ROWS, COLUMNS)
    assert correlation(blurred(shown), blurred(look_of(look))) > 0.95


def test_the_report_is_the_ticket(tmp_path, capsys):
    report, recipe = tmp_path / "report.json", tmp_path / "mine.json"
    write_recipe(Recipe().changed(tone__lift=0.6), recipe, overwrite=False)
    path = plate(tmp_path, CAT, "--report", report, "--recipe", recipe, "--set", "grey.method=red")
    found = json.loads(report.read_text(encoding="utf-8"))
    setting = attrs.asdict(GENERIC.setting)
    assert found["machine"] == {**setting, "pitch_mm": 0.1, "lines": ROWS}
    assert (found["columns"], found["rows"], found["bits"]) == (COLUMNS, ROWS, 1)
    assert (found["width_mm"], found["height_mm"]) == (45.1, 60.2)
    assert found["mirrored"] is True
    assert found["inverted"] is True
    assert found["photo_name"] == "chelsea.png"
    assert found["handling"] == "The file is already mirrored and inverted: do neither again."
    assert found["profile_origin"] == "starting guess"
    assert 0.0 <= found["bare_share"] <= 1.0
    assert found["recipe"]["tone"]["lift"] == 0.6
    assert found["recipe"]["grey"]["method"] == "red"
    said = capsys.readouterr()
    assert said.out == (
        f"{path}: 451 x 602 pixels, 45.1 x 60.2 mm. "
        "The file is already mirrored and inverted: do neither again.\n"
    )
    told = [line.removeprefix("Note: ") for line in said.err.splitlines()]
    assert told == [caution["sentence"] for caution in found["cautions"]]


def test_set_is_stronger_than_all_other_options(tmp_path):
    recipe = tmp_path / "mine.json"
    write_recipe(Recipe().changed(tone__lift=0.6, tone__hold=0.3), recipe, overwrite=False)
    report = tmp_path / "report.json"
    plate(
        tmp_path, CAT, "--recipe", recipe, "--report", report, "--screen", "threshold",
        "--set", "plate.width_mm=30", "--set", "plate.pitch_mm=0.2", "--set", "tone.lift=10%",
        "--set", "screen.kind=bluenoise", "--set", "tone.lift=20%",
    )  # fmt: skip
    used = json.loads(report.read_text())["recipe"]
    assert used["plate"]["width_mm"] == 30.0
    assert used["plate"]["height_mm"] == 60.2
    assert used["plate"]["pitch_mm"] == 0.2
    assert used["screen"]["kind"] == "bluenoise"
    assert used["tone"] == {**used["tone"], "lift": 0.2, "hold": 0.3}


def test_how_the_photo_was_read_is_told(tmp_path, capsys):
    photo = tmp_path / "glassy.png"
    Image.new("RGBA", (400, 500), (200, 30, 60, 100)).save(photo)
    report = tmp_path / "report.json"
    plate(tmp_path, photo, "--report", report)
    notes = json.loads(report.read_text())["notes"]
    assert len(notes) == 1
    assert f"Note: {notes[0]}" in capsys.readouterr().err


def as_process(*words, **variables):
    return subprocess.run(
        [sys.executable, "-m", "app", "plate", *map(str, words)],
        cwd=ROOT,
        env={**os.environ, **variables},
        capture_output=True,
        timeout=120,
        check=False,
    )


def test_the_same_job_gives_the_same_bytes_in_every_process_and_on_any_number_of_cores(tmp_path):
    names = ("plate.png", "look.png", "proof.png", "report.json")
    made = []
    threads = cv2.getNumThreads()
    for number in (1, 2, None):
        folder = tmp_path / str(number)
        folder.mkdir()
        paths = [folder / name for name in names]
        words = [ASTRONAUT, "-o", paths[0], "--look", paths[1], "--proof", paths[2],
                 "--report", paths[3], "--size", "60x80", "--pitch", "0.05"]  # fmt: skip
        if number is None:
            done = as_process(*words)
            assert done.returncode == 0, done.stderr
            assert b"\r" not in done.stderr, "progress is for a terminal"
        else:
            cv2.setNumThreads(number)
            try:
                assert run(["plate", *map(str, words)]) == 0
            finally:
                cv2.setNumThreads(threads)
        made.append([path.read_bytes() for path in paths])
    assert made[0] == made[1]
    assert made[0] == made[2]


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo terminal")
def test_progress_is_shown_on_a_terminal_and_wiped_at_the_end(tmp_path):
    import pty

    leader, follower = pty.openpty()
    done = subprocess.run(
        [sys.executable, "-m", "app", "plate", str(CAT), "-o", str(tmp_path / "p.png"), *SIZE],
        cwd=ROOT, stderr=follower, stdout=subprocess.PIPE, timeout=120, check=False,
    )  # fmt: skip
    os.close(follower)
    shown = os.read(leader, 100_000).decode()
    os.close(leader)
    assert done.returncode == 0
    assert "\r100%" in shown
    assert "\r    \r" in shown[shown.rindex("100%") :]
