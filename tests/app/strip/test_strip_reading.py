"""What the page reads from a photo, or is told without one; corrected by hand."""

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt

from app.strip.patch_table import NUMBER, PATCH, USE, VALUE
from engine.strip.corrections import TYPED_SCATTER, corrected
from tests import strip_in_a_folder as strips
from tests.app.conftest import WAIT_MS
from tests.app.strip.parts import JUDGE_MS, drop, open_page, press, ranked, type_value

KEY = Qt.Key


def test_what_was_read_is_near_the_truth_and_drawn_over_the_strip(read_page):
    work = read_page._work
    strip, reading = work.strip, work.reading
    solids = [reading.patches[n].frost for n in strips.patches_of(strip, "solid")]
    assert np.mean(solids) == pytest.approx(1.0, abs=0.03)
    shown = read_page.read.picture.image
    assert (shown.height(), shown.width()) == reading.picture.shape[:2]
    assert read_page.read.table.table.rowCount() == len(strip.patches)
    assert "patches count" in read_page.read.state.text()


def test_a_press_in_the_picture_finds_the_patch_and_the_other_way_round(read_page, qtbot):
    picture, table = read_page.read.picture, read_page.read.table.table
    strip, reading = read_page._work.strip, read_page._work.reading
    patch = strips.patches_of(strip, "power")[5]
    box = strip.patches[patch].box
    scale, corner = picture._view()
    middle = QPointF(box.left_mm + box.width_mm / 2, box.top_mm + box.height_mm / 2)
    spot = middle * reading.picture_px_per_mm * scale + corner
    read_page.go_to("read")
    qtbot.mouseClick(picture, Qt.MouseButton.LeftButton, pos=spot.toPoint())
    assert table.currentRow() == patch
    assert picture._mark.contains(middle * reading.picture_px_per_mm)
    assert "Power" in picture.accessibleDescription()
    picture.setFocus()
    qtbot.keyClick(picture, KEY.Key_Plus)
    assert picture.zoom > 1.0
    qtbot.keyClick(picture, KEY.Key_0)
    assert picture.zoom == 1.0


def test_readings_are_corrected_and_left_out_by_hand(read_page, qtbot):
    page, work = read_page, read_page._work
    page.go_to("read")
    table = page.read.table.table
    patch, other = strips.patches_of(work.strip, "screen")[:2]
    before = corrected(work.strip, work.reading, work.notes.corrections)
    type_value(qtbot, page, patch, "33")
    table.item(other, USE).setCheckState(Qt.CheckState.Unchecked)
    ranked(page, qtbot)
    now = corrected(work.strip, work.reading, work.notes.corrections)
    values = {value.patch: value for value in now.values}
    assert values[patch].frost == pytest.approx(0.33)
    assert values[patch].scatter == TYPED_SCATTER
    assert other not in values
    assert len(now.values) == len(before.values) - 1
    assert "typed in" in table.item(patch, PATCH).toolTip()
    assert "\u26a0" not in table.item(patch, PATCH).text()
    type_value(qtbot, page, patch, "lots")
    assert table.item(patch, VALUE).text() == "33.0"
    assert "lots was not taken" in page.read.state.text()
    press(qtbot, page.read.forget)
    ranked(page, qtbot)
    assert corrected(work.strip, work.reading, work.notes.corrections) == before
    assert not page.read.forget.isEnabled()


def test_reading_is_stopped_and_begun_again(page, folder, qtbot):
    photo = folder / "IMG_0007.jpg"
    page.take_photo(photo)
    row = page.read.progress
    assert row.isVisible()
    press(qtbot, row.stop)
    qtbot.waitUntil(lambda: not row.isVisible(), timeout=WAIT_MS)
    assert "was stopped" in page.read.state.text()
    assert page._work.reading is None
    assert not page._work.is_judging
    shares = []
    page._work.read_progressed.connect(shares.append)
    press(qtbot, page.read.once_more)
    assert row.isVisible()
    ranked(page, qtbot)
    assert page._work.reading is not None
    assert shares == sorted(shares)
    assert len(shares) > 4
    assert not page.read.once_more.isVisible()


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda pixels: np.full_like(pixels, 90), "There is no test strip in this photo"),
        (lambda pixels: pixels[:, ::-1], "turn the glass over"),
        (lambda pixels: pixels // 16, "too dark"),
    ],
)
def test_a_bad_photo_is_refused_with_what_to_do(page, qtbot, tmp_path, spoil, words, folder):
    good = strips.cv2.imread(str(folder / "IMG_0007.jpg"))[:, :, ::-1]
    page.take_photo(strips.save_jpeg(tmp_path / "bad.jpg", np.ascontiguousarray(spoil(good))))
    ranked(page, qtbot)
    assert page.step == "read"
    assert words in page.read.state.text()
    assert page._work.profile is None
    page.go_to("choose")
    assert not page.choose.use.isEnabled()
    assert not page.choose.save.isEnabled()


def test_a_photo_is_dropped_on_its_place(page, folder, qtbot):
    assert drop(page, folder / "IMG_0007.jpg") == "Let go to read IMG_0007.jpg"
    assert page.step == "read"
    ranked(page, qtbot)
    assert page._work.reading is not None
    assert page.photograph.file.text() == "Chosen: IMG_0007.jpg"


def test_numbers_without_a_camera(page, qtbot):
    work = page._work
    page.go_to("read")
    strip = work.strip
    powers = strips.patches_of(strip, "power")
    for patch in powers[:5]:
        type_value(qtbot, page, patch, f"{100 * strip.patches[patch].drive:.0f}")
    ranked(page, qtbot)
    assert "at least 6 patches" in page.read.state.text()
    for patch in powers[5:12] + strips.patches_of(strip, "solid")[:1]:
        type_value(qtbot, page, patch, f"{100 * strip.patches[patch].drive:.0f}")
    ranked(page, qtbot)
    assert work.profile is not None
    assert work.profile.origin == "measured"
    assert "typed in" in work.profile.note
    page.go_to("choose")
    assert page.choose.list.count() == 2

    page.go_to("read")
    box = page.read.unit.box
    box.setCurrentIndex(box.findData("density"))
    box.activated.emit(box.currentIndex())
    assert page.read.table.table.horizontalHeaderItem(VALUE).text() == "Density"
    for patch in powers[:7]:
        type_value(qtbot, page, patch, "0.5")
    ranked(page, qtbot)
    assert "At least one bare patch and one solid patch" in page.read.state.text()


def test_a_value_beyond_its_unit_is_refused_in_a_sentence(page, qtbot):
    page.go_to("read")
    type_value(qtbot, page, 3, "33")
    type_value(qtbot, page, 3, "999")
    assert page.read.table.table.item(3, VALUE).text() == "33.0"
    said = "999 was not taken; the column Frost takes a number from 0 to 120 %"
    assert said in page.read.state.text()
    ranked(page, qtbot)
    assert said in page.read.state.text()
    type_value(qtbot, page, 4, "44")
    assert "not taken" not in page.read.state.text()


def type_scale(qtbot, page, text):
    """Say that steps of a grey scale are typed, and type what they are."""
    unit = page.read.unit
    unit.box.setCurrentIndex(unit.box.findData("eye"))
    unit.box.activated.emit(unit.box.currentIndex())
    assert unit.scale.isVisible()
    qtbot.keyClicks(unit.scale, text)
    qtbot.keyClick(unit.scale, KEY.Key_Return)


def test_a_scale_with_a_slip_stays_and_is_told_of(page, qtbot):
    page.go_to("read")
    unit = page.read.unit
    type_scale(qtbot, page, "95, 85, 75, 65 55, 45")
    assert "65 55 is neither an L* from 0 to 100 nor a density" in page.read.state.text()
    type_value(qtbot, page, 3, "2")
    assert unit.scale.text() == "95, 85, 75, 65 55, 45"
    unit.scale.setFocus()
    unit.scale.setCursorPosition(len("95, 85, 75, 65"))
    qtbot.keyClicks(unit.scale, ",")
    qtbot.keyClick(unit.scale, KEY.Key_Return)
    assert page._work.notes.corrections.scale == (95.0, 85.0, 75.0, 65.0, 55.0, 45.0)
    assert page._work.notes.corrections.values == {3: 2.0}


def test_densities_with_commas_are_kept_apart_by_semicolons(page, qtbot):
    page.go_to("read")
    type_scale(qtbot, page, "0,05; 0,25; 0,5; 0,75; 1; 1,5")
    assert page._work.notes.corrections.scale == (0.05, 0.25, 0.5, 0.75, 1.0, 1.5)


def test_without_a_photo_the_layout_shows_which_patch_is_meant(page, qtbot):
    page.go_to("read")
    layout, table = page.read.layout_picture, page.read.table.table
    assert layout.isVisible()
    patch = strips.patches_of(page._work.strip, "solid")[1]
    spot = layout._placed(page._work.strip.patches[patch].box).center().toPoint()
    qtbot.mouseClick(layout, Qt.MouseButton.LeftButton, pos=spot)
    assert table.currentRow() == patch
    assert page.read.patch.text().startswith(f"Patch {patch + 1}: Solid")
    assert table.item(patch, NUMBER).text() == str(patch + 1)
    assert layout._marked == patch


def test_a_printed_grey_scale_serves_too(page, qtbot):
    work = page._work
    page.go_to("read")
    strip = work.strip
    type_scale(qtbot, page, "10, 20, 30, 40, 50, 60")
    chosen = {strips.patches_of(strip, "bare")[0]: 1, strips.patches_of(strip, "solid")[0]: 6}
    for patch in strips.patches_of(strip, "power")[:8]:
        chosen[patch] = round(1 + 5 * strip.patches[patch].drive)
    for patch, step in chosen.items():
        type_value(qtbot, page, patch, str(step))
    ranked(page, qtbot)
    assert "judged by eye" in work.profile.note


def test_closing_while_a_photo_is_read_loses_nothing(page, folder, qtbot):
    studio = page.parent()
    page.take_photo(folder / "IMG_0007.jpg")
    page.reject()
    work = studio.strip.work
    qtbot.waitUntil(lambda: not work.is_reading and not work.is_judging, timeout=JUDGE_MS)
    assert work.reading is not None
    again = open_page(studio, qtbot)
    assert again.read.picture.image is not None
    again.reject()
