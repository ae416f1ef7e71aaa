"""Sessions, recipes and pasted pictures on disk, there and back; every failure is a sentence."""

import io
import json
import os
from pathlib import Path

import numpy as np
import pytest
import skimage
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from app import keeping
from app.making import read_recipe
from app.session import Session
from engine.flow import prepare
from engine.photo import open_photo, photo_from_bytes
from shared.errors import OutputError, RecipeError, SessionError, WriteError
from shared.recipe import Recipe

CAT = Path(skimage.__file__).parent / "data" / "chelsea.png"
SHARES = st.floats(0.0, 1.0)
AREAS = st.none() | st.just((0.125, 0.25, 0.5, 0.75))
CURVES = st.sampled_from([((0.0, 0.0), (1.0, 1.0)), ((0.0, 0.1), (0.3, 0.5), (1.0, 0.9))])


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A home of the test's own."""
    monkeypatch.setenv("RIMETYPE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def session(tmp_path):
    photo = tmp_path / "cat.png"
    photo.write_bytes(CAT.read_bytes())
    made = Session()
    made.open_photo(prepare(open_photo(photo)))
    made.edit("A", {"tone.lift": 0.7})
    made.edit("B", {"grey.method": "skin", "grey.area": (0.1, 0.2, 0.3, 0.4)})
    return made


def test_a_session_comes_back_as_it_was(session, tmp_path):
    path = tmp_path / "work.rimetype"
    keeping.write_session(session, path)
    found = keeping.read_session(path)
    assert found == keeping.saved(session)
    assert found.takes == session.takes
    assert found.photo_path == str(tmp_path / "cat.png")
    assert found.photo_fingerprint == session.prepared.photo.fingerprint


def test_a_session_without_a_photo_comes_back_too(tmp_path):
    path = tmp_path / "empty.rimetype"
    keeping.write_session(Session(), path)
    assert keeping.read_session(path).photo_path is None


def test_saving_again_replaces_the_earlier_save(session, tmp_path):
    path = tmp_path / "work.rimetype"
    keeping.write_session(session, path)
    session.edit("A", {"tone.lift": 0.1})
    keeping.write_session(session, path)
    assert keeping.read_session(path).takes["A"].tone.lift == 0.1


def test_a_photo_named_from_here_is_found_from_anywhere(tmp_path, monkeypatch):
    (tmp_path / "cat.png").write_bytes(CAT.read_bytes())
    monkeypatch.chdir(tmp_path)
    session = Session()
    session.open_photo(prepare(open_photo("cat.png")))
    assert keeping.saved(session).photo_path == str(tmp_path / "cat.png")


def test_a_relative_photo_in_a_session_file_is_meant_from_its_folder(session, tmp_path):
    path = tmp_path / "work.rimetype"
    keeping.write_session(session, path)
    document = json.loads(path.read_text())
    document["photo"]["path"] = "photos/cat.png"
    path.write_text(json.dumps(document))
    assert keeping.read_session(path).photo_path == str(tmp_path / "photos" / "cat.png")


def test_a_session_is_never_written_over_its_photo(session, tmp_path):
    before = (tmp_path / "cat.png").read_bytes()
    with pytest.raises(OutputError, match="is the photo itself"):
        keeping.write_session(session, tmp_path / "cat.png")
    assert (tmp_path / "cat.png").read_bytes() == before


@settings(max_examples=30, deadline=None)
@given(lift=SHARES, hold=SHARES, area=AREAS, curve=CURVES, dark=st.booleans())
def test_any_recipe_comes_back_from_its_file_exactly(
    tmp_path_factory, lift, hold, area, curve, dark
):
    recipe = Recipe().with_values(
        {
            "tone.lift": lift,
            "tone.hold": hold,
            "tone.curve": curve,
            "grey.area": area,
            "plate.mark": "dark" if dark else "light",
        }
    )
    path = tmp_path_factory.mktemp("recipes") / "mine.json"
    keeping.write_recipe(recipe, path, overwrite=False)
    assert read_recipe(path) == recipe
    assert json.loads(path.read_text())["name"] == "mine"


def test_a_recipe_is_not_written_over_another_unasked(tmp_path):
    path = tmp_path / "mine.json"
    keeping.write_recipe(Recipe(), path, overwrite=False)
    with pytest.raises(OutputError, match="exists already"):
        keeping.write_recipe(Recipe(), path, overwrite=False)


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"{",
        b"[]",
        b'{"rimetype": "recipe", "version": 1}',
        b'{"rimetype": "session", "version": 2}',
        b'{"rimetype": "session", "version": 1, "photo": {}, "takes": {"A": {}}}',
        b'{"rimetype": "session", "version": 1, "photo": {"path": 3}, "takes": {"A": {}, "B": {}}}',
        b'{"rimetype": "session", "version": 1, "photo": {}, "takes": {"A": {"x": {}}, "B": {}}}',
        b"\xff\xfe\x00",
    ],
)
def test_what_is_no_session_is_told(tmp_path, text):
    path = tmp_path / "odd.rimetype"
    path.write_bytes(text)
    with pytest.raises(SessionError) as caught:
        keeping.read_session(path)
    assert str(caught.value).endswith(".")


def test_a_session_that_cannot_be_read_is_told(tmp_path):
    for path in (tmp_path / "missing.rimetype", tmp_path):
        with pytest.raises(SessionError, match="cannot be read; choose another session"):
            keeping.read_session(path)
    with pytest.raises(RecipeError, match="cannot be read"):
        read_recipe(tmp_path)


def png(mode="RGB", colour=(10, 200, 30)):
    file = io.BytesIO()
    Image.new(mode, (40, 30), colour).save(file, "PNG")
    return file.getvalue()


def test_a_pasted_picture_gets_a_file_that_a_session_can_find(home):
    data = png()
    photo = photo_from_bytes(data, name="Pasted picture")
    kept = keeping.keep_pasted(photo, data)
    assert kept.path.parent == home / "data" / "pasted"
    assert kept.path.read_bytes() == data
    assert kept.name == kept.path.name
    again = open_photo(kept.path)
    assert again.fingerprint == kept.fingerprint
    np.testing.assert_array_equal(again.pixels, kept.pixels)


def test_the_same_picture_pasted_twice_is_kept_once_and_a_damaged_one_is_mended():
    data = png()
    photo = photo_from_bytes(data, name="Pasted picture")
    first = keeping.keep_pasted(photo, data)
    first.path.write_bytes(b"damaged")
    second = keeping.keep_pasted(photo, data)
    assert second.path == first.path
    assert second.path.read_bytes() == data
    assert len(list(first.path.parent.iterdir())) == 1


def test_a_pasted_16_bit_grey_keeps_its_bits(home):
    data = png("I;16", 40_000)
    kept = keeping.keep_pasted(photo_from_bytes(data, name="Pasted picture"), data)
    assert home in kept.path.parents
    assert open_photo(kept.path).pixels.dtype == np.uint16


def test_a_picture_that_cannot_be_kept_is_told(home):
    home.mkdir()
    (home / "data").write_text("a file where the folder should be")
    data = png()
    with pytest.raises(OutputError, match="pasted picture cannot be kept"):
        keeping.keep_pasted(photo_from_bytes(data, name="Pasted picture"), data)


@pytest.mark.skipif(os.name != "posix", reason="needs a limit on the size of files")
def test_a_full_disk_costs_neither_the_old_session_nor_an_explanation(session, tmp_path):
    """A limit on the size of files stands in for a full disk: the system answers the same way."""
    import resource
    import signal

    path = tmp_path / "work.rimetype"
    keeping.write_session(session, path)
    before = path.read_bytes()
    session.edit("A", {"tone.lift": 0.1})
    limit = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (512, limit[1]))
    try:
        with pytest.raises(WriteError, match=r"no room left for work\.rimetype"):
            keeping.write_session(session, path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limit)
        signal.signal(signal.SIGXFSZ, ignored)
    assert path.read_bytes() == before
