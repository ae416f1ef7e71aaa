"""A burnt strip on disk, its photo, and the page on which it is read; a studio with a piece."""

import shutil

import attrs
import pytest

from engine.strip.make_files import write_strip
from shared.profile import Knot
from tests import strip_in_a_folder as strips
from tests.app.conftest import WAIT_MS
from tests.app.strip.parts import open_page, ranked

PLATE = {"plate.width_mm": 60.0, "plate.height_mm": 75.0, "plate.margin_mm": 2.0}
KNOTS = tuple(Knot(f, s) for f, s in ((0.3, 0.0), (0.5, 0.5), (0.8, 0.85), (1.4, 1.0)))


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


@pytest.fixture(scope="module")
def measured():
    """A measured profile of the machine."""
    profile = strips.machine_profile()
    setting = attrs.evolve(
        profile.setting, power_max_pct=55.0, power_min_pct=17.0, speed_mm_s=350.0
    )
    return attrs.evolve(profile, setting=setting, origin="measured", knots=KNOTS)


@pytest.fixture
def studio_with_piece(desk, measured):
    """The studio with the photo and the profile of a piece that was burnt."""
    desk.open(strips.DEMO)
    session = desk.studio.session
    session.set_recipe("A", session.recipe("A").with_values(PLATE), "Plate")
    session.set_profile(measured)
    return desk.studio
