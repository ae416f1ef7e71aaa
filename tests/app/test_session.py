"""The session: every change can be undone, one gesture is one step, unsaved work is known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.session import Session
from engine.flow import prepare
from engine.photo import photo_from_array
from shared.recipe import Recipe


def photo(name, grey=128):
    return prepare(photo_from_array(np.full((40, 30, 3), grey, np.uint8), name))


PHOTOS = [photo(f"{index}.png", 40 * index) for index in range(6)]


@pytest.fixture
def session():
    made = Session()
    made.open_photo(PHOTOS[0])
    return made


def moment(session):
    return session.prepared, dict(session.takes)


def count(signal):
    heard = []
    signal.connect(lambda *values: heard.append(values))
    return heard


def undo_all(session):
    while session.undo_name is not None:
        session.undo()


def redo_all(session):
    while session.redo_name is not None:
        session.redo()


def drag(session, key, values, take="A"):
    session.begin(key)
    for value in values:
        session.edit(take, {key: value})
    session.finish()


def test_a_change_has_a_name_and_can_be_undone_and_done_again(session):
    session.edit("B", {"tone.lift": 0.6})
    assert session.undo_name == "Open shadows in B"
    assert session.recipe("A") == Recipe()
    session.undo()
    assert session.recipe("B") == Recipe()
    assert session.redo_name == "Open shadows in B"
    session.redo()
    assert session.recipe("B").tone.lift == 0.6
    assert session.redo_name is None


def test_a_change_after_undo_forgets_what_could_be_done_again(session):
    session.edit("A", {"tone.lift": 0.6})
    session.undo()
    session.edit("A", {"tone.hold": 0.2})
    assert session.redo_name is None
    assert session.recipe("A").tone.lift == Recipe().tone.lift


def test_undo_and_redo_stop_at_the_ends(session):
    undo_all(session)
    assert session.prepared is None
    heard = count(session.takes_changed)
    session.undo()
    redo_all(session)
    session.redo()
    assert session.prepared is PHOTOS[0]
    assert len(heard) == 1


def test_opening_a_photo_is_a_step_and_the_placement_starts_afresh(session):
    session.edit("A", {"placement.scale": 2.0, "tone.lift": 0.5})
    session.edit("A", {"grey.area": (0.1, 0.1, 0.5, 0.5)})
    session.open_photo(PHOTOS[1])
    assert session.undo_name == "Open 1.png"
    assert session.recipe("A").placement == Recipe().placement
    assert session.recipe("A").grey.area is None
    assert session.recipe("A").tone.lift == 0.5
    heard = count(session.photo_changed)
    session.undo()
    assert session.prepared is PHOTOS[0]
    assert session.recipe("A").placement.scale == 2.0
    assert len(heard) == 1


def test_a_photo_read_again_belongs_to_the_step_that_asked_for_it(session):
    session.edit("A", {"photo.matte": "#ffffff"})
    again = photo("0.png", 99)
    session.reread(again, session.takes)
    assert session.prepared is again
    session.undo()
    assert session.prepared is PHOTOS[0]
    session.redo()
    assert session.prepared is again


def test_one_gesture_is_one_step(session):
    drag(session, "tone.lift", [0.3, 0.4, 0.5])
    assert session.recipe("A").tone.lift == 0.5
    session.undo()
    assert session.recipe("A") == Recipe()
    assert session.undo_name == "Open 0.png"


def test_two_gestures_on_one_field_are_two_steps(session):
    drag(session, "tone.lift", [0.3, 0.4])
    drag(session, "tone.lift", [0.5, 0.6])
    session.undo()
    assert session.recipe("A").tone.lift == 0.4


def test_edits_without_a_gesture_are_steps_of_their_own(session):
    for value in (0.3, 0.4):
        session.edit("A", {"tone.lift": value})
    session.undo()
    assert session.recipe("A").tone.lift == 0.3


def test_a_gesture_that_ends_where_it_began_leaves_no_step(session):
    session.edit("A", {"tone.hold": 0.2})
    session.edit("A", {"tone.hold": 0.4})
    session.undo()
    drag(session, "tone.lift", [0.3, 0.9, Recipe().tone.lift])
    assert session.undo_name == "Hold highlights in A"
    session.redo()
    assert session.recipe("A").tone.hold == 0.4, "what could be done again still can"


def test_a_gesture_without_edits_leaves_no_step_and_is_told(session):
    heard = count(session.gesture_ended)
    before = session.undo_name
    session.begin("tone.lift")
    assert session.gesture == "tone.lift"
    session.finish()
    assert session.gesture is None
    assert session.undo_name == before
    assert len(heard) == 1


def test_saving_in_the_middle_of_a_gesture_can_be_undone_back_to(session):
    session.begin("tone.lift")
    session.edit("A", {"tone.lift": 0.3})
    session.mark_saved()
    session.edit("A", {"tone.lift": 0.4})
    session.edit("A", {"tone.lift": 0.5})
    session.finish()
    assert session.unsaved
    session.undo()
    assert session.recipe("A").tone.lift == 0.3
    assert not session.unsaved


def test_another_change_within_a_gesture_keeps_its_own_step(session):
    session.edit("B", {"tone.hold": 0.5})
    session.begin("tone.lift")
    session.edit("A", {"tone.lift": 0.3})
    session.swap_takes()
    session.edit("A", {"tone.lift": 0.7})
    session.finish()
    session.undo()
    assert session.undo_name == "Swap A and B"
    assert session.recipe("B").tone.lift == 0.3
    session.undo()
    assert session.recipe("A").tone.lift == 0.3


def test_undo_in_the_middle_of_a_gesture_leaves_one_step_for_the_rest(session):
    session.begin("tone.lift")
    session.edit("A", {"tone.lift": 0.3})
    session.undo()
    for value in (0.4, 0.5, 0.6):
        session.edit("A", {"tone.lift": value})
    session.finish()
    session.undo()
    assert session.recipe("A") == Recipe()


def test_a_value_that_does_not_fit_is_refused_and_changes_nothing(session):
    refused = count(session.refused)
    changed = count(session.takes_changed)
    session.edit("A", {"plate.margin_mm": 150.0})
    session.edit("A", {"tone.lift": 7.0})
    assert [key for key, _ in refused] == ["plate.margin_mm", "tone.lift"]
    assert all(sentence.endswith(".") for _, sentence in refused)
    assert changed == []
    assert session.recipe("A") == Recipe()


def test_the_same_value_is_no_change(session):
    heard = count(session.history_changed)
    session.edit("A", {"tone.lift": Recipe().tone.lift})
    session.copy_take("A", "B")
    session.swap_takes()
    assert heard == []


def test_takes_are_copied_swapped_and_reset(session):
    session.edit("A", {"tone.lift": 0.7, "grey.method": "red"})
    session.copy_take("A", "B")
    assert session.undo_name == "Copy A to B"
    assert session.recipe("B") == session.recipe("A")
    session.reset("B", ("tone",), "Tone")
    assert session.undo_name == "Reset Tone in B"
    assert session.recipe("B").tone == Recipe().tone
    assert session.recipe("B").grey.method == "red"
    session.swap_takes()
    assert session.recipe("B").tone.lift == 0.7
    session.reset_field("B", "tone.lift")
    assert session.undo_name == "Reset Open shadows in B"
    assert session.recipe("B").tone.lift == Recipe().tone.lift


def test_opening_a_photo_is_not_unsaved_work(session):
    assert not session.unsaved
    session.open_photo(PHOTOS[1])
    assert not session.unsaved
    session.edit("A", {"tone.lift": 0.7})
    assert session.unsaved
    session.edit("A", {"tone.lift": Recipe().tone.lift})
    assert not session.unsaved, "set back by hand is as good as undone"


def test_in_a_saved_session_another_photo_is_a_change(session):
    session.edit("A", {"tone.lift": 0.7})
    session.mark_saved()
    assert not session.unsaved
    session.open_photo(PHOTOS[1])
    assert session.unsaved
    session.undo()
    assert not session.unsaved
    session.undo()
    assert session.unsaved, "before the save is not what was saved"


def test_the_history_holds_500_steps(session):
    for index in range(600):
        session.edit("A", {"plate.width_mm": 100.0 + index})
    steps = 0
    while session.undo_name is not None:
        session.undo()
        steps += 1
    assert steps == 500
    assert session.recipe("A").plate.width_mm == 100.0 + 99


def test_the_history_holds_three_photos(session):
    for opened in PHOTOS[1:5]:
        session.edit("A", {"tone.lift": 0.1 if session.recipe("A").tone.lift > 0.2 else 0.4})
        session.open_photo(opened)
    held = set()
    while session.undo_name is not None:
        held.add(session.prepared.photo.name)
        session.undo()
    held.add(session.prepared.photo.name)
    assert held == {"2.png", "3.png", "4.png"}
    redo_all(session)
    assert session.prepared is PHOTOS[4]


FIELDS = st.sampled_from(["tone.lift", "tone.hold", "detail.halo", "glass.backing"])
SHARES = st.floats(0.0, 1.0)
ACTIONS = st.one_of(
    st.tuples(st.just("edit"), st.sampled_from("AB"), FIELDS, SHARES),
    st.tuples(st.just("drag"), st.sampled_from("AB"), FIELDS, st.lists(SHARES, max_size=4)),
    st.tuples(st.just("copy"), st.sampled_from(["AB", "BA"])),
    st.tuples(st.just("swap")),
    st.tuples(st.just("open"), st.integers(0, 2)),
    st.tuples(st.just("undo")),
    st.tuples(st.just("redo")),
)


def act(session, action):
    match action:
        case ("edit", take, key, value):
            session.edit(take, {key: value})
        case ("drag", take, key, values):
            drag(session, key, values, take)
        case ("copy", pair):
            session.copy_take(*pair)
        case ("swap",):
            session.swap_takes()
        case ("open", index):
            if session.prepared is not PHOTOS[index]:
                session.open_photo(PHOTOS[index])
        case ("undo",):
            session.undo()
        case ("redo",):
            session.redo()


@settings(max_examples=80, deadline=None)
@given(st.lists(ACTIONS, max_size=25))
def test_whatever_is_done_undo_leads_to_the_start_and_redo_to_the_end(actions):
    session = Session()
    start = moment(session)
    for action in actions:
        act(session, action)
    redo_all(session)
    seen = [moment(session)]
    while session.undo_name is not None:
        session.undo()
        assert moment(session) != seen[-1], "every step changes something"
        seen.append(moment(session))
    assert moment(session) == start
    while session.redo_name is not None:
        assert moment(session) == seen.pop()
        session.redo()
    assert [moment(session)] == seen


@settings(max_examples=40, deadline=None)
@given(st.lists(ACTIONS, max_size=12), st.lists(ACTIONS, max_size=12))
def test_unsaved_says_whether_the_session_differs_from_what_was_saved(before, after):
    session = Session()
    session.open_photo(PHOTOS[0])
    for action in before:
        act(session, action)
    if session.prepared is None:
        session.open_photo(PHOTOS[0])
    session.mark_saved()
    saved = moment(session)
    for action in after:
        act(session, action)
        assert session.unsaved == (moment(session) != saved)
