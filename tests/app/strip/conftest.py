"""A burnt strip on disk, its photo, and the page on which it is read."""

import shutil

import pytest

from engine.strip.make_files import write_strip
from tests import strip_in_a_folder as strips
from tests.app.conftest import WAIT_MS
from tests.app.strip.parts import open_page, ranked


@pytest.fixture(scope="module")
def burnt(tmp_path_factory):
    """A folder with the strip's files and the photo of the burnt strip."""
    folder = tmp_path_factory.mktemp("burnt")
    write_strip(strips.made(), folder / "strip")
    strips.save_jpeg(folder / "IMG_0007.jpg", strips.photographed(folder / "strip"))
    return folder


@pytest.fixture
def folder(burnt, tmp_path):
    """A copy of it for one test."""
    return shutil.copytree(burnt, tmp_path / "bench")


@pytest.fixture
def page(desk, folder, qtbot):
    """The page with that strip opened."""
    desk.studio.session.set_profile(strips.machine_profile())
    return open_page(desk.studio, qtbot, folder)


@pytest.fixture
def read_page(page, folder, qtbot):
    """The page after the photo was read and the settings ranked."""
    page.take_photo(folder / "IMG_0007.jpg")
    ranked(page, qtbot)
    return page


@pytest.fixture
def make_page(open_desk, qtbot):
    """The step Make, with the layout of the opened photo shown."""
    dialog = open_page(open_desk.studio, qtbot)
    qtbot.waitUntil(lambda: dialog.make.picture.strip is not None, timeout=WAIT_MS)
    yield dialog.make
    dialog.reject()
