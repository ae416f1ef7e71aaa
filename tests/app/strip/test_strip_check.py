"""A finished piece is photographed and held against its plate, in the window."""

import attrs
import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication

from app.strip.check_words import DROP
from engine.plate_bitmap import burn
from engine.strip.check_refine import REFINED
from tests import bad_photos as bad
from tests import strip_in_a_folder as strips
from tests import virtual_camera, virtual_sheet
from tests.app.conftest import COPY, LEFT, NO_KEYS
from tests.app.strip.parts import press
from tests.virtual_strip import etched

CHECK_MS = 60_000


@pytest.fixture
def dialog(studio_with_piece, qtbot):
    studio_with_piece.strip.check()
    dialog = studio_with_piece.dialogs._open
    qtbot.waitUntil(dialog.isVisible)
    yield dialog
    dialog.reject()


def spotted(photo):
    """With a reflection in its middle."""
    return bad.with_spot(photo, 0.5, 0.5, 50, 0.15)


def photo_of_piece(studio, path, style=lambda photo: photo, seconds=(1, 50), **how):
    """The plate of the session burnt on a virtual sheet and photographed."""
    session = studio.session
    done = burn(session.prepared, session.recipe("A"), session.profile)
    glass, pitch_mm = virtual_sheet.another_piece(strips.SHEET, 2), done.recipe.plate.pitch_mm
    piece = etched(glass, done.bitmap.pixels, session.profile.setting, pitch_mm)
    return strips.save_jpeg(path, style(virtual_camera.photograph(piece, **how)), seconds)


def shows_nothing(dialog):
    """No trace of an earlier photo."""
    assert dialog.check is None
    assert dialog.map.image is None
    assert dialog.map.accessibleDescription() == DROP
    assert not dialog.legend.isVisible()
    assert not dialog.refine.isEnabled()
    assert not dialog.refine.toolTip()


def dragged_over(dialog, data):
    """Files over the middle of the picture; whether they are welcome there."""
    target = dialog.map
    while not target.acceptDrops():
        target = target.parentWidget()
    enter = QDragEnterEvent(QPoint(90, 90), COPY, data, LEFT, NO_KEYS)
    QApplication.sendEvent(target, enter)
    return target, enter.isAccepted()


def drop(dialog, *photos):
    """Let files go over the picture."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in photos])
    target, welcome = dragged_over(dialog, data)
    assert welcome
    assert dialog.sign.isVisible()
    QApplication.sendEvent(target, QDropEvent(QPointF(90, 90), COPY, data, LEFT, NO_KEYS))
    assert not dialog.sign.isVisible()


def settle(dialog, qtbot):
    qtbot.waitUntil(lambda: not dialog._work.busy, timeout=CHECK_MS)


def test_a_piece_is_compared_and_the_profile_refined(
    studio_with_piece, dialog, qtbot, tmp_path, measured
):
    dialog.take_photo(photo_of_piece(studio_with_piece, tmp_path / "piece.jpg"))
    settle(dialog, qtbot)
    assert dialog.check is not None, dialog.state.text()
    assert "differs from its proof by" in dialog.state.text()
    assert dialog.map.isVisible()
    assert dialog.legend.isVisible()
    rows, columns = dialog.check.difference.shape
    assert (dialog.map.image.height(), dialog.map.image.width()) == (rows, columns)
    qtbot.mouseClick(dialog.refine, Qt.MouseButton.LeftButton)
    session = studio_with_piece.session
    assert session.profile != measured
    assert "Refined by a finished piece" in session.profile.note
    assert not dialog.refine.isEnabled()
    session.undo()
    assert session.profile == measured


def choose(box, index):
    box.setCurrentIndex(index)
    box.activated.emit(index)


def test_after_refining_the_piece_is_still_compared_with_its_own_plate(
    studio_with_piece, dialog, qtbot, tmp_path
):
    first = photo_of_piece(studio_with_piece, tmp_path / "first.jpg")
    second = photo_of_piece(studio_with_piece, tmp_path / "second.jpg", turn_deg=6.0)
    dialog.take_photo(first)
    settle(dialog, qtbot)
    before = dialog.check
    assert before.offers
    assert not dialog.burnt_with.isVisible()
    press(qtbot, dialog.refine)
    assert dialog.burnt_with.isVisible()
    assert "before it was refined" in dialog.burnt_with.box.currentText()
    dialog.take_photo(first)
    settle(dialog, qtbot)
    assert dialog.check.by_tone < 0.5 * before.by_tone
    assert "refining" not in dialog.state.text()
    assert not dialog.refine.isEnabled()
    assert "with this photo already" in dialog.refine.toolTip()
    dialog.take_photo(second)
    settle(dialog, qtbot)
    assert dialog.check.by_tone < 0.5 * before.by_tone
    assert not dialog.check.offers
    assert dialog.refine.isEnabled()


def test_a_piece_burnt_before_the_refinement_is_checked_in_a_new_window(
    studio_with_piece, qtbot, tmp_path
):
    studio = studio_with_piece
    first = photo_of_piece(studio, tmp_path / "first.jpg")
    studio.strip.check()
    dialog = studio.dialogs._open
    dialog.take_photo(first)
    settle(dialog, qtbot)
    before = dialog.check
    press(qtbot, dialog.refine)
    dialog.reject()
    studio.strip.check()
    dialog = studio.dialogs._open
    assert "refined by a finished piece earlier" not in dialog.how.text()
    dialog.take_photo(first)
    assert "say with which version" in dialog.state.text()
    assert not dialog._work.busy
    choose(dialog.burnt_with.box, 1)
    settle(dialog, qtbot)
    assert dialog.check.by_tone < 0.5 * before.by_tone
    assert not dialog.refine.isEnabled()
    choose(dialog.burnt_with.box, 0)
    settle(dialog, qtbot)
    assert dialog.check.by_tone > 0.5 * before.by_tone
    assert not dialog.refine.isEnabled()
    dialog.reject()
    studio.session.undo()
    studio.strip.check()
    dialog = studio.dialogs._open
    assert not dialog.burnt_with.isVisible()
    dialog.take_photo(first)
    settle(dialog, qtbot)
    assert dialog.check.by_tone == before.by_tone
    assert dialog.refine.isEnabled()
    dialog.reject()


def test_of_a_profile_refined_on_another_day_it_is_said_which_pieces_fit(
    studio_with_piece, measured
):
    studio = studio_with_piece
    studio.session.set_profile(attrs.evolve(measured, note=f"Measured. {REFINED}"))
    studio.strip.check()
    dialog = studio.dialogs._open
    assert "refined by a finished piece earlier" in dialog.how.text()
    assert not dialog.burnt_with.isVisible()
    dialog.reject()


def test_a_second_photo_takes_the_camera_s_style_off(studio_with_piece, dialog, qtbot, tmp_path):
    assert not dialog.add.isEnabled()
    dialog.take_photo(photo_of_piece(studio_with_piece, tmp_path / "one.jpg", bad.powered))
    settle(dialog, qtbot)
    alone = dialog.check
    assert "one stop darker" in dialog.state.text()
    second = photo_of_piece(
        studio_with_piece, tmp_path / "two.jpg", bad.powered, (1, 100), exposure=0.5
    )
    assert dialog.add.isEnabled()
    dialog.take_darker(second)
    assert "one.jpg and two.jpg" in dialog.state.text()
    settle(dialog, qtbot)
    assert dialog.check.measured
    assert abs(dialog.check.contrast - 1.0) < abs(alone.contrast - 1.0)
    dialog.take_darker(tmp_path / "one.jpg")
    settle(dialog, qtbot)
    assert "as light as" in dialog.state.text()
    shows_nothing(dialog)


def test_a_photo_with_a_reflection_or_of_something_else_refines_nothing(
    studio_with_piece, dialog, qtbot, tmp_path, make_photo
):
    dialog.take_photo(photo_of_piece(studio_with_piece, tmp_path / "p.jpg", spotted))
    settle(dialog, qtbot)
    assert "look at the map" in dialog.state.text()
    assert "goes with the place" in dialog.refine.toolTip()
    assert not dialog.refine.isEnabled()
    dialog.take_photo(make_photo("other.png", rows=400, columns=500))
    settle(dialog, qtbot)
    assert "does not show this plate" in dialog.state.text()
    shows_nothing(dialog)
    dialog.take_photo(strips.DEMO)
    settle(dialog, qtbot)
    assert "the photo that the plate was made from" in dialog.state.text()
    shows_nothing(dialog)


def test_another_photo_is_dropped_on_the_result_of_the_first(
    studio_with_piece, dialog, qtbot, tmp_path, make_photo
):
    assert dialog.map.accessibleDescription() == DROP
    assert dialog.choose.hasFocus()
    photo = photo_of_piece(studio_with_piece, tmp_path / "piece.jpg")
    drop(dialog, photo)
    assert dialog.sign.words == "Let go to check piece.jpg"
    settle(dialog, qtbot)
    assert dialog.map.accessibleDescription() == dialog.check.sentence
    drop(dialog, make_photo("other.png", rows=400, columns=500))
    assert dialog.check is None
    assert "Comparing other.png" in dialog.map.accessibleDescription()
    settle(dialog, qtbot)
    assert "does not show this plate" in dialog.state.text()
    shows_nothing(dialog)
    drop(dialog, photo)
    settle(dialog, qtbot)
    assert dialog.check is not None
    assert dialog.legend.isVisible()
    text = QMimeData()
    text.setUrls([QUrl.fromLocalFile(str(tmp_path / "recipe.json"))])
    assert not dragged_over(dialog, text)[1]
    assert not dialog.sign.isVisible()


def test_a_guess_is_not_refined_whatever_the_photo(studio_with_piece, qtbot, tmp_path, measured):
    studio = studio_with_piece
    studio.session.set_profile(attrs.evolve(measured, origin="starting guess"))
    studio.settings.inches = True
    studio.strip.check()
    dialog = studio.dialogs._open
    dialog.take_photo(photo_of_piece(studio, tmp_path / "piece.jpg", spotted))
    settle(dialog, qtbot)
    assert dialog.check.of_places, dialog.state.text()
    assert not dialog.refine.isEnabled()
    assert dialog.refine.toolTip() == "Only a measured profile can be refined"
    assert "inches from the top" in dialog.state.text()
    assert " mm" not in dialog.state.text()
    dialog.reject()


def test_the_check_is_stopped_and_done_again(studio_with_piece, dialog, qtbot, tmp_path):
    photo = photo_of_piece(studio_with_piece, tmp_path / "piece.jpg")
    shares = []
    dialog._work.progressed.connect(shares.append)
    dialog.take_photo(photo)
    assert dialog.progress.isVisible()
    qtbot.waitUntil(lambda: bool(shares), timeout=CHECK_MS)
    press(qtbot, dialog.progress.stop)
    qtbot.waitUntil(lambda: not dialog.progress.isVisible(), timeout=CHECK_MS)
    assert dialog.focusWidget() is dialog.choose
    assert "was stopped" in dialog.state.text()
    shows_nothing(dialog)
    shares.clear()
    dialog.take_photo(photo)
    settle(dialog, qtbot)
    assert dialog.check is not None
    assert not dialog.progress.isVisible()
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert sum(share > 0.45 for share in shares) > 15


def test_closing_while_it_is_compared(studio_with_piece, make_photo):
    studio = studio_with_piece
    studio.strip.check()
    studio.dialogs._open.take_photo(make_photo("other.png", rows=400, columns=500))
    studio.dialogs._open.reject()
    assert studio.dialogs._open is None
    assert studio.session.profile.origin == "measured"


def test_without_a_photo_the_studio_says_so(desk):
    desk.studio.strip.check()
    assert desk.studio.dialogs._open is None
    assert "can be checked" in desk.notice()
