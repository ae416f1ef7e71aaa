"""The guided page of the test strip from the first step to the last, as its user goes."""

import json
import math

import attrs
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QWidget

from app.glass.profile_files import file_stem, known_profiles
from app.strip.choose_page import facts, recommendation
from app.strip.strip_dialog import STEPS
from shared.profile import GENERIC
from shared.profile_file import read_profile
from tests import strip_in_a_folder as strips
from tests.app.conftest import WAIT_MS
from tests.app.strip.parts import JUDGE_MS, open_page, press, ranked

KEY = Qt.Key


def test_from_a_scrap_of_glass_to_a_profile(desk, qtbot, tmp_path):
    studio = desk.studio
    desk.open(strips.DEMO)
    studio.session.set_profile(strips.machine_profile())
    before = studio.session.profile
    dialog = open_page(studio, qtbot)
    make = dialog.make
    make.settings.pairs.set_rows(strips.PLAN.pairs)
    make.settings.speeds.set_rows([(speed,) for speed in strips.PLAN.speeds])
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
    assert dialog.choose.state.text().startswith("The recommended setting is chosen; your eye")
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


def test_flaking_that_no_patch_showed_is_called_a_guess(read_page):
    read_page.go_to("choose")
    fit = read_page._work.judgement.chosen.fit
    assert not fit.power.flakes
    said = "No frost flaked off; flaking in the picture is a starting guess."
    assert said in read_page.choose.facts.text()
    seen = attrs.evolve(fit, power=attrs.evolve(fit.power, flakes=True))
    assert said not in facts(seen)
    assert "Frost flakes off beyond" in facts(seen)


def test_patches_that_disagree_are_counted(read_page):
    fit = read_page._work.judgement.chosen.fit
    one, two = (attrs.evolve(fit, bad=bad) for bad in ((3,), (3, 7)))
    assert "1 patch disagreed with the rest and counts little." in facts(one)
    assert "2 patches disagreed with the rest and count little." in facts(two)


def test_settings_as_good_as_the_recommended_one_are_told_of(read_page):
    judgement = read_page._work.judgement
    first, second = judgement.verdicts
    near = attrs.evolve(second, error=first.error + 0.05, marks=True)
    three = attrs.evolve(judgement, verdicts=(first, near, near))
    two = attrs.evolve(judgement, verdicts=(first, near))
    assert "the next 2 are as good as far as can be told (within 0.1 L*)" in recommendation(three)
    assert "the next is as good" in recommendation(two)


def test_a_profile_that_cannot_be_kept_is_used_and_said_to_be_unsaved(read_page, qtbot, folder):
    page = read_page
    page.go_to("choose")
    profile = page._work.profile
    (folder / "strip" / f"{file_stem(profile.name)}.json").mkdir()
    press(qtbot, page.choose.use)
    assert page.parent().session.profile == profile
    assert "unsaved" in page.choose.state.text()
    assert "is a folder" in page.choose.state.text()


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


def test_a_strip_that_cannot_be_opened_is_told_of(page, tmp_path):
    before = page._work.strip
    damaged = tmp_path / "strip.json"
    damaged.write_text(json.dumps({"rimetype": "test strip", "version": 1}))
    page.open_file(damaged)
    assert "damaged" in page.which.text()
    assert page._work.strip is before
    page.go_to("photograph")
    assert page.which.text().startswith(f"Strip {before.number} in ")
    assert "damaged" not in page.which.toolTip()


def test_notes_that_are_damaged_or_of_another_strip_count_as_absent(page, folder):
    notes = folder / "strip" / "window-notes.json"
    whole = {"strip": 1, "photo": str(folder / "IMG_0007.jpg"), "values": {}, "used": {}}
    whole |= {"unit": "frost", "scale": [], "choice": 1, "step": "choose"}
    own = page._work.strip.number
    bad = [{"unit": "ells"}, {"unit": 3}, {"values": {"0": math.nan}}, {"scale": [10**400]}]
    texts = ["{", "[]", json.dumps({"strip": own, "values": 3}), json.dumps(whole)]
    for text in (*texts, *(json.dumps({**whole, "strip": own, **one}) for one in bad)):
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
    assert "it brings nothing new" in again._work.judgement.warnings[-1]
    again.choose.refine.setChecked(False)
    ranked(again, qtbot)
    again.reject()


def test_a_profile_of_another_strip_is_refined(read_page, qtbot):
    page, studio = read_page, read_page.parent()
    known = attrs.evolve(page._work.profile, readings=(1,))
    page.reject()
    studio.session.set_profile(known)
    again = open_page(studio, qtbot)
    again.go_to("choose")
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
