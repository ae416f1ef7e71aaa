"""What the steps tell beside their controls."""

from PySide6.QtWidgets import QLabel

from shared.recipe import field_info


def told(studio, name):
    return next(w for w in studio.bench.findChildren(QLabel) if w.accessibleName() == name)


def test_the_step_screen_says_what_the_chosen_screen_does(open_desk):
    studio = open_desk.studio
    studio.go_to_step("screen")
    words = told(studio, "What the screen does")
    for kind in ("mixed", "bluenoise"):
        open_desk.do(lambda kind=kind: studio.session.edit("A", {"screen.kind": kind}))
        options = field_info("screen.kind").options
        assert words.isVisible()
        assert words.text() == next(o.help for o in options if o.value == kind)
