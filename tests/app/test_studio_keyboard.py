"""The whole studio without a pointer, and for those who do not see it."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLineEdit,
    QSlider,
    QWidget,
)

from app.bench.steps import STEPS

KEY = Qt.Key
ALT = Qt.KeyboardModifier.AltModifier
TAB = Qt.FocusPolicy.TabFocus


def walk(desk, count=400):
    """The widgets that Tab goes through, until it comes back to the first."""
    studio, bot = desk.studio, desk.qtbot
    studio.bench._steps[studio.bench.open_name].header.setFocus()
    first = QApplication.focusWidget()
    seen = [first]
    for _ in range(count):
        bot.keyClick(QApplication.focusWidget(), KEY.Key_Tab)
        if QApplication.focusWidget() is first:
            return seen
        seen.append(QApplication.focusWidget())
    raise AssertionError("Tab never comes back")


def column_of(studio, widget):
    for name in ("bench", "compare", "ticket"):
        if getattr(studio, name).isAncestorOf(widget):
            return name
    return "takes" if studio.parts.takes.isAncestorOf(widget) else "lines"


def test_tab_goes_from_the_bench_through_the_panes_to_the_ticket(open_desk):
    columns = [column_of(open_desk.studio, widget) for widget in walk(open_desk)]
    order = list(dict.fromkeys(columns))
    assert order == ["bench", "compare", "ticket", "takes"]


def test_tab_reaches_every_control_of_every_step(open_desk):
    desk, studio = open_desk, open_desk.studio
    for step in STEPS:
        studio.go_to_step(step.name)
        QApplication.processEvents()
        reached = set(walk(desk))
        wanted = {
            widget
            for widget in studio.findChildren(QWidget)
            if widget.isVisible()
            and widget.isEnabled()
            and widget.focusPolicy() & TAB == TAB
            and not (
                isinstance(widget, QLineEdit) and widget.focusProxy() is None and _inside(widget)
            )
        }
        missing = {w for w in wanted if w not in reached and w.focusProxy() is None}
        names = sorted(f"{type(w).__name__} {w.accessibleName()}" for w in missing)
        assert not names, step.name


def _inside(line):
    return isinstance(line.parent(), (QAbstractSpinBox, QComboBox))


def test_everything_that_takes_the_focus_has_a_name(open_desk):
    studio = open_desk.studio
    nameless = [
        widget
        for widget in studio.findChildren(QWidget)
        if widget.focusPolicy() & TAB == TAB
        and not widget.isHidden()
        and not isinstance(widget, QAbstractItemView)
        and not (isinstance(widget, QLineEdit) and _inside(widget))
        and not widget.accessibleName()
        and not (isinstance(widget, QAbstractButton) and widget.text())
    ]
    assert not [(type(w).__name__, w.parent()) for w in nameless]


def test_every_step_opens_by_its_key_and_takes_the_focus(desk):
    for number, step in enumerate(STEPS):
        desk.qtbot.keyClick(desk.studio, Qt.Key(KEY.Key_1.value + number), ALT)
        assert desk.studio.bench.open_name == step.name
        assert desk.studio.bench._steps[step.name].header.hasFocus()


def test_f10_opens_the_menus_and_escape_leaves_them(desk):
    bar = desk.studio.menuBar()
    desk.qtbot.keyClick(desk.studio, KEY.Key_F10)
    assert bar.activeAction() is bar.actions()[0]
    popup = QApplication.activePopupWidget()
    if popup is not None:
        desk.qtbot.keyClick(popup, KEY.Key_Escape)
    desk.qtbot.keyClick(bar, KEY.Key_Escape)
    assert QApplication.activePopupWidget() is None


def test_no_key_means_two_things(desk):
    keys = [key for keys, _ in desk.studio.menus.bound_keys() for key in keys.split(" or ")]
    assert sorted(keys) == sorted(set(keys))
    assert "" not in keys


def test_a_held_arrow_key_on_a_slider_is_one_step(open_desk):
    desk, studio = open_desk, open_desk.studio
    studio.go_to_step("tone")
    slider = studio.bench.control("tone.lift").slider
    assert isinstance(slider, QSlider | QWidget)
    slider.setFocus()
    before = len(studio.session._steps)

    def hold():
        for _ in range(5):
            desk.qtbot.keyPress(slider, KEY.Key_Right)
        desk.qtbot.keyRelease(slider, KEY.Key_Right)

    desk.do(hold)
    assert len(studio.session._steps) == before + 1
    assert studio.recipe.tone.lift > 0.25


def test_nothing_is_cut_off_at_the_smallest_window(open_desk):
    studio = open_desk.studio
    assert studio.minimumSizeHint().width() <= 1280
    studio.resize(studio.minimumSizeHint())
    QApplication.processEvents()
    for button in studio.findChildren(QAbstractButton):
        if button.isVisible() and button.text():
            assert button.width() >= button.minimumSizeHint().width(), button.text()
            right = button.mapTo(studio, button.rect().topRight()).x()
            assert right < studio.width(), button.text()
