"""The step Glass in the studio: its head is made when it is first opened, and then kept true."""

import attrs

from shared.profile import GENERIC

OTHER = attrs.evolve(GENERIC, name="The other tube", note="Of the other bench.")


def test_the_head_shows_what_was_chosen_before_it_was_made(open_desk):
    studio = open_desk.studio
    studio.session.set_profile(OTHER)
    studio.session.edit("A", {"plate.pitch_mm": 0.2})
    assert studio.glass.panel is None
    open_desk.do(lambda: studio.go_to_step("glass"))
    panel = studio.glass.panel
    assert panel.isVisible()
    assert panel.profile == OTHER
    assert panel.curve.profile.setting.pitch_mm == 0.2
    open_desk.until(lambda: panel.tones.shown is not None)
    assert sum(panel.curve._counts) > 0


def test_the_head_follows_the_session_and_is_made_once(open_desk):
    studio = open_desk.studio
    open_desk.do(lambda: studio.go_to_step("glass"))
    panel = studio.glass.panel
    open_desk.do(lambda: studio.session.set_profile(OTHER))
    assert panel.profile == OTHER
    studio.go_to_step("tone")
    assert not panel.isVisible()
    open_desk.do(studio.session.undo)
    open_desk.do(lambda: studio.go_to_step("glass"))
    assert studio.glass.panel is panel
    assert panel.profile == GENERIC
