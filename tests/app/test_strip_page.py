"""The guided page of the test strip from the first step to the last, as its user goes."""

import json
import shutil

import attrs
import numpy as np
import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget

from app.glass.profile_files import file_stem, known_profiles
from app.strip.patch_table import PATCH, USE, VALUE
from app.strip.strip_dialog import STEPS
from engine.strip.corrections import TYPED_SCATTER, corrected
from engine.strip.make_files import write_strip
from shared.profile import GENERIC
from shared.profile_file import read_profile
from tests import strip_in_a_folder as strips
from tests.app.conftest import COPY, LEFT, NO_KEYS, WAIT_MS, type_cell

KEY = Qt.Key
JUDGE_MS = 60_000


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


def open_page(studio, qtbot, folder=None):
    studio.strip.open()
    dialog = studio.dialogs._open
    qtbot.waitUntil(dialog.isVisible)
    if folder is not None:
        dialog.open_file(folder / "strip" / "strip.json")
    return dialog


def ranked(page, qtbot):
    work = page._work
    qtbot.waitUntil(lambda: not work.is_reading and not work.is_judging, timeout=JUDGE_MS)


def press(qtbot, button):
    assert button.isEnabled()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def type_value(qtbot, page, patch, text):
    type_cell(qtbot, page.read.table.table, patch, VALUE, text)


def test_from_a_scrap_of_glass_to_a_profile(desk, qtbot, tmp_path):
    studio = desk.studio
    desk.open(strips.DEMO)
    studio.session.set_profile(strips.machine_profile())
    before = studio.session.profile
    dialog = open_page(studio, qtbot)
    make = dialog.make
    make.pairs.set_rows(strips.PLAN.pairs)
    make.speeds.set_rows([(speed,) for speed in strips.PLAN.speeds])
    make.screens["mixed"].setChecked(False)
    make.width_field.setValue(75.0)
    make.height_field.setValue(90.0)
    qtbot.waitUntil(
        lambda: make.picture.strip is not None and make.picture.strip.size_mm == (75.0, 90.0),
        timeout=WAIT_MS,
    )
    where = tmp_path / "strip"
    make.folder.setText(str(where))
    press(qtbot, make.write)
    qtbot.waitUntil(lambda: dialog.step == "burn", timeout=WAIT_MS)
    photo = strips.save_jpeg(tmp_path / "photo.jpg", strips.photographed(where))

    press(qtbot, dialog.next)
    assert dialog.step == "photograph"
    desk.choose_file(photo)
    press(qtbot, dialog.photograph.choose)
    qtbot.waitUntil(lambda: dialog.step == "read", timeout=WAIT_MS)
    ranked(dialog, qtbot)
    assert dialog.read.picture.image is not None
    press(qtbot, dialog.next)
    assert dialog.choose.list.count() == 2
    assert "recommended, chosen" in dialog.choose.list.item(0).text()
    assert "It reaches only" in dialog.choose.list.item(1).text()
    press(qtbot, dialog.choose.use)
    found = studio.session.profile
    assert found.origin == "measured"
    assert found.setting.power_max_pct == 55.0
    assert found.setting.speed_mm_s == 350.0
    assert found.machine == attrs.evolve(before.machine, lag_ms=found.machine.lag_ms)
    assert "photo.jpg" in found.note
    (kept,) = [path for path in where.iterdir() if path.name in dialog.choose.state.text()]
    assert read_profile(kept) == found
    assert found in known_profiles(studio.settings)

    saved = tmp_path / "my glass.json"
    desk.choose_file(saved)
    press(qtbot, dialog.choose.save)
    assert read_profile(saved) == found
    dialog.reject()
    studio.session.undo()
    assert studio.session.profile == before
    studio.session.redo()
    assert studio.session.profile == found
    studio.bench.open_step("glass")
    assert studio.glass.panel.profile == found


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
    press(qtbot, page.read.forget)
    ranked(page, qtbot)
    assert corrected(work.strip, work.reading, work.notes.corrections) == before
    assert not page.read.forget.isEnabled()


def test_the_profile_knows_the_dot_gain_of_screens_beside_the_cells_own(page, folder, qtbot):
    described = folder / "strip" / "strip.json"
    strip = json.loads(described.read_text())
    strip["screen"]["kind"] = "mixed"
    described.write_text(json.dumps(strip))
    page.open_file(described)
    page.take_photo(folder / "IMG_0007.jpg")
    ranked(page, qtbot)
    for run in (None, strips.WEAK):
        page._work.choose(run)
        qtbot.waitUntil(lambda: page._work.profile is not None, timeout=JUDGE_MS)
        assert page._work.profile.gains_of("diffusion")


def test_a_profile_that_cannot_be_kept_is_used_and_said_to_be_unsaved(read_page, qtbot, folder):
    page = read_page
    page.go_to("choose")
    profile = page._work.profile
    (folder / "strip" / f"{file_stem(profile.name)}.json").mkdir()
    press(qtbot, page.choose.use)
    assert page.parent().session.profile == profile
    assert "unsaved" in page.choose.state.text()
    assert "is a folder" in page.choose.state.text()


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


def test_ranking_is_stopped_and_begun_again(page, folder, qtbot):
    page.take_photo(folder / "IMG_0007.jpg")
    qtbot.waitUntil(lambda: page._work.is_judging, timeout=WAIT_MS)
    page.go_to("choose")
    row, choose = page.choose.progress, page.choose
    shares = []
    page._work.judge_progressed.connect(shares.append)
    press(qtbot, row.stop)
    qtbot.waitUntil(lambda: not page._work.is_judging, timeout=WAIT_MS)
    assert not row.isVisible()
    assert "was stopped" in choose.state.text()
    assert not choose.use.isEnabled()
    shares.clear()
    press(qtbot, choose.once_more)
    ranked(page, qtbot)
    assert choose.list.count() == 2
    assert len(shares) >= 4
    assert shares == sorted(shares)
    assert not choose.once_more.isVisible()


def test_the_eye_may_overrule_and_go_back(read_page, qtbot):
    page = read_page
    page.go_to("choose")
    best = page._work.profile
    page.choose.list.setFocus()
    qtbot.keyClick(page.choose.list, KEY.Key_Down)
    assert page._work.chosen == strips.WEAK
    assert not page.choose.use.isEnabled()
    qtbot.waitUntil(page.choose.use.isEnabled, timeout=JUDGE_MS)
    assert page._work.profile.setting.power_max_pct == 20.0
    assert page.choose.plot.profile == page._work.profile
    assert "against the recommendation" in page.choose.state.text()
    press(qtbot, page.choose.recommended)
    assert page._work.profile == best


def test_everything_is_there_again_after_closing(read_page, folder, make_studio, qtbot):
    page, studio = read_page, read_page.parent()
    page.go_to("choose")
    qtbot.keyClick(page.choose.list, KEY.Key_Down)
    reading = page._work.reading
    press(qtbot, page.close_button)
    again = open_page(studio, qtbot)
    assert again.step == "choose"
    assert again._work.reading is reading
    assert again._work.chosen == strips.WEAK
    again.reject()
    studio.session.mark_saved()
    studio.close()

    later = open_page(make_studio(), qtbot)
    assert later._work.folder == folder / "strip"
    ranked(later, qtbot)
    assert later.step == "choose"
    assert later._work.chosen == strips.WEAK
    assert later._work.profile.origin == "measured"
    later.reject()


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
    page.go_to("photograph")
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(folder / "IMG_0007.jpg"))])
    target = page.photograph.target
    enter = QDragEnterEvent(QPoint(5, 5), COPY, data, LEFT, NO_KEYS)
    QApplication.sendEvent(target, enter)
    assert enter.isAccepted()
    assert "IMG_0007.jpg" in target.text()
    QApplication.sendEvent(target, QDropEvent(QPointF(5, 5), COPY, data, LEFT, NO_KEYS))
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


def test_without_a_photo_the_layout_shows_which_patch_is_meant(page, qtbot):
    page.go_to("read")
    layout, table = page.read.layout_picture, page.read.table.table
    assert layout.isVisible()
    patch = strips.patches_of(page._work.strip, "solid")[1]
    spot = layout._placed(page._work.strip.patches[patch].box).center().toPoint()
    qtbot.mouseClick(layout, Qt.MouseButton.LeftButton, pos=spot)
    assert table.currentRow() == patch
    assert page.read.patch.text().startswith("Solid")
    assert layout._marked == patch


def test_a_printed_grey_scale_serves_too(page, qtbot):
    work = page._work
    page.go_to("read")
    strip, unit = work.strip, page.read.unit
    unit.box.setCurrentIndex(unit.box.findData("eye"))
    unit.box.activated.emit(unit.box.currentIndex())
    assert unit.scale.isVisible()
    qtbot.keyClicks(unit.scale, "10, 20, 30, 40, 50, 60")
    qtbot.keyClick(unit.scale, KEY.Key_Return)
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


def test_a_strip_that_cannot_be_opened_is_told_of(page, tmp_path):
    before = page._work.strip
    damaged = tmp_path / "strip.json"
    damaged.write_text(json.dumps({"rimetype": "test strip", "version": 1}))
    page.open_file(damaged)
    assert "damaged" in page.which.text()
    assert page._work.strip is before


def test_notes_that_are_damaged_or_of_another_strip_count_as_absent(page, folder):
    notes = folder / "strip" / "window-notes.json"
    whole = {"strip": 1, "photo": str(folder / "IMG_0007.jpg"), "values": {}, "used": {}}
    whole |= {"unit": "frost", "scale": [], "choice": 1, "step": "choose"}
    own = page._work.strip.number
    for text in ("{", "[]", json.dumps({"strip": own, "values": 3}), json.dumps(whole)):
        notes.write_text(text)
        page.open_file(folder / "strip" / "strip.json")
        assert page._work.notes.photo is None
        assert page.step == "burn"


def test_only_a_measured_profile_can_be_refined(read_page, qtbot):
    page, studio = read_page, read_page.parent()
    page.go_to("choose")
    assert not page.choose.refine.isVisible()
    press(qtbot, page.choose.use)
    page.reject()
    again = open_page(studio, qtbot)
    again.go_to("choose")
    assert again.choose.refine.isVisible()
    again.choose.refine.setChecked(True)
    ranked(again, qtbot)
    assert "refines an earlier profile" in again._work.profile.note
    again.reject()


def test_the_page_fits_and_is_reached_by_keyboard(read_page, qtbot):
    page = read_page
    assert page.minimumSizeHint().width() <= 1280
    assert page.minimumSizeHint().height() <= 720
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    for number, step in enumerate(STEPS, start=1):
        qtbot.keyClick(page, Qt.Key(KEY.Key_0 + number), Qt.KeyboardModifier.AltModifier)
        assert page.step == step
        for widget in page.pages.currentWidget().findChildren(QWidget):
            wants_keys = widget.focusPolicy() & Qt.FocusPolicy.TabFocus
            if not wants_keys or not widget.isVisible() or widget.focusProxy():
                continue
            named = widget.accessibleName() or (
                isinstance(widget, QAbstractButton) and widget.text()
            )
            assert named, widget


def test_the_step_glass_leads_here(desk, qtbot):
    studio = desk.studio
    studio.bench.open_step("glass")
    buttons = studio.bench.findChildren(QAbstractButton)
    press(qtbot, next(b for b in buttons if b.text() == "Test strip..."))
    assert studio.dialogs._open.windowTitle() == "Test strip"
    assert studio.dialogs._open.step == "make"
    studio.dialogs._open.reject()
    assert studio.session.profile == GENERIC
