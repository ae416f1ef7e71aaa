"""The strip's files: true to the strip, all or none, and nothing of the user's is lost."""

import shutil

import attrs
import cv2
import numpy as np
import pytest
from PIL import Image

from engine.strip.make_files import READINGS, STRIP, write_strip
from engine.strip.readings_file import fill_in
from shared.errors import OutputError, WriteError
from shared.profile import GENERIC
from shared.profile_file import profile_from_data
from shared.strip import read_strip
from tests import astronaut_strip as strips
from tests.astronaut_strip import PLAN, make


@pytest.fixture
def made():
    return strips.made()


def test_the_files_are_the_strip(tmp_path, made):
    paths = write_strip(made, tmp_path / "new" / "folder")
    folder = tmp_path / "new" / "folder"
    assert sorted(paths) == sorted(folder.iterdir())
    strip = read_strip(folder / STRIP)
    assert strip == made.strip
    for run, bitmap in zip(strip.runs, made.bitmaps, strict=True):
        with Image.open(folder / run.file) as image:
            assert image.mode == "L"
            np.testing.assert_array_equal(np.asarray(image), bitmap.pixels)
            assert float(image.info["dpi"][0]) == pytest.approx(254.0, abs=0.01)
        assert run.origin_mm == (0.0, 0.0)
        assert bitmap.pixels.shape == (900, 1100)
    look = cv2.imread(str(folder / strip.cell_look), cv2.IMREAD_UNCHANGED)
    np.testing.assert_array_equal(look, made.cell_look)
    planned = profile_from_data(strip.profile)
    assert planned.machine == GENERIC.machine
    assert planned.setting.power_max_pct == strip.runs[0].power_max_pct


def test_nothing_is_written_over_unless_it_may(tmp_path, made):
    write_strip(made, tmp_path)
    kept = {path: path.read_bytes() for path in tmp_path.iterdir()}
    with pytest.raises(OutputError, match="exists already"):
        write_strip(made, tmp_path)
    write_strip(made, tmp_path, overwrite=True)
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == kept
    (tmp_path / STRIP).unlink()
    with pytest.raises(OutputError, match="the photo itself"):
        write_strip(made, tmp_path, overwrite=True, photo_path=tmp_path / made.strip.runs[1].file)
    assert not (tmp_path / STRIP).exists()


def test_a_strip_that_cannot_be_written_costs_nothing(tmp_path, made):
    """By a limit on the size of files, which only the largest of them exceeds."""
    resource = pytest.importorskip("resource", reason="limits of POSIX")
    write_strip(made, tmp_path)
    kept = {path: path.read_bytes() for path in tmp_path.iterdir()}
    other = make(attrs.evolve(PLAN, speeds=(310.0,)))
    write_strip(other, tmp_path / "measured")
    largest = max(path.stat().st_size for path in (tmp_path / "measured").iterdir())
    shutil.rmtree(tmp_path / "measured")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (largest - 1, hard))
    try:
        with pytest.raises(WriteError, match="no room left"):
            write_strip(other, tmp_path, overwrite=True)
        with pytest.raises(WriteError, match="no room left"):
            write_strip(other, tmp_path / "new")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert not list((tmp_path / "new").iterdir())
    (tmp_path / "new").rmdir()
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == kept


def test_readings_that_were_filled_in_outlive_another_strip(tmp_path, made):
    other = make(attrs.evolve(PLAN, speeds=(310.0,)))
    readings = tmp_path / READINGS
    write_strip(made, tmp_path)
    write_strip(other, tmp_path, overwrite=True)
    assert readings.read_text() == fill_in(other.strip)
    readings.write_text(readings.read_text().replace("3;;", "3;0,4;"))
    kept = {path: path.read_bytes() for path in tmp_path.iterdir()}
    for again in (made, other):
        with pytest.raises(OutputError, match=r"readings\.csv was filled in"):
            write_strip(again, tmp_path, overwrite=True)
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == kept
    readings.unlink()
    write_strip(made, tmp_path, overwrite=True)
    assert readings.read_text() == fill_in(made.strip)


def test_runs_of_a_strip_that_is_replaced_go_and_nothing_else_does(tmp_path, made):
    other = make(attrs.evolve(PLAN, speeds=(310.0,)))
    (tmp_path / "mine.png").write_bytes(b"mine")
    write_strip(made, tmp_path)
    described = tmp_path / STRIP
    name = made.strip.runs[0].file
    described.write_text(described.read_text().replace(f'"{name}"', '"mine.png"'))
    write_strip(other, tmp_path, overwrite=True)
    there = {path.name for path in tmp_path.glob("*.png")}
    assert {run.file for run in other.strip.runs} <= there
    assert made.strip.runs[1].file not in there
    assert {"mine.png", name} <= there


def test_a_file_is_no_folder(tmp_path, made):
    (tmp_path / "taken").write_text("mine")
    with pytest.raises(OutputError, match="cannot be made"):
        write_strip(made, tmp_path / "taken")
    assert (tmp_path / "taken").read_text() == "mine"


def test_the_same_job_gives_the_same_strip(tmp_path, made):
    write_strip(made, tmp_path / "a")
    write_strip(make(), tmp_path / "b")
    for path in (tmp_path / "a").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes()
    other = make(attrs.evolve(PLAN, speeds=(310.0,)))
    assert other.strip.number != made.strip.number
