"""The journal: unsaved work outlives a crash, and nothing that is left over is lost unasked."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app import journal as journal_module
from app.journal import Journal
from app.session import Session

ROOT = Path(__file__).parents[2]

WORKER = """
import sys
from PySide6.QtCore import QCoreApplication
from app.journal import Journal
from app.session import Session

application = QCoreApplication([])
session = Session()
journal = Journal(session)
journal.failed.connect(lambda sentence: print(sentence, flush=True))
number = 0
while True:
    number += 1
    session.edit("A", {"plate.width_mm": 100.0 + number % 1000})
    journal.write()
    print(number, flush=True)
"""


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """A home of the test's own."""
    monkeypatch.setenv("RIMETYPE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def session():
    return Session()


@pytest.fixture
def journal(session, qapp):
    made = Journal(session, qapp)
    yield made
    made.remove()
    made.deleteLater()


@pytest.fixture
def left(journal):
    """Work with a lift of 0.7, left over by a Rimetype that does not run any more."""
    other = Session()
    other.edit("A", {"tone.lift": 0.7})
    lost = Journal(other)
    lost.write()
    lost._lock.unlock()
    lost._timer.stop()
    assert lost.path != journal.path
    return lost.path


def test_a_change_is_kept_aside_soon(qtbot, session, journal):
    journal._timer.setInterval(50)
    session.edit("A", {"tone.lift": 0.7})
    qtbot.waitUntil(journal.path.exists)
    found = journal_module.read_session(journal.path)
    assert found.takes == session.takes


def test_changes_without_a_pause_do_not_put_it_off(qtbot, session, journal):
    assert journal._timer.interval() <= 10_000
    journal._timer.setInterval(200)
    number = 0
    while not journal.path.exists():
        number += 1
        assert number < 2000
        session.edit("A", {"plate.width_mm": 100.0 + number})
        qtbot.wait(5)


def test_an_opened_photo_or_saved_work_needs_no_journal(session, journal):
    journal.write()
    assert not journal.path.exists()
    session.edit("A", {"tone.lift": 0.7})
    journal.write()
    assert journal.path.exists()
    session.mark_saved()
    journal.write()
    assert not journal.path.exists()


def test_a_clean_end_leaves_nothing(session, journal, home):
    session.edit("A", {"tone.lift": 0.7})
    journal.write()
    journal.remove()
    assert not journal._timer.isActive()
    assert list((home / "data" / "unsaved").iterdir()) == []
    assert Journal(Session()).left_over() is None


def test_what_another_running_rimetype_keeps_is_not_left_over(session, journal, qapp):
    session.edit("A", {"tone.lift": 0.7})
    journal.write()
    other = Journal(Session(), qapp)
    assert other.left_over() is None
    other.remove()
    assert journal.path.exists()
    other.deleteLater()


def test_left_over_work_stays_until_the_user_answers(session, journal, left):
    assert journal.left_over().takes["A"].tone.lift == 0.7
    session.edit("B", {"tone.lift": 0.1})
    journal.write()
    journal.remove()
    assert left.exists(), "not answered, so it is offered again"
    assert Journal(Session()).left_over() is not None


def test_left_over_work_that_is_let_go_goes(qtbot, journal, left):
    journal.left_over()
    journal._timer.setInterval(50)
    journal.release()
    qtbot.waitUntil(lambda: not left.exists())


def test_left_over_work_that_was_brought_back_goes_once_it_is_kept_again(
    qtbot, session, journal, left
):
    found = journal.left_over()
    journal._timer.setInterval(50)
    session.set_recipe("A", found.takes["A"], "Open session")
    journal.release()
    assert left.exists()
    qtbot.waitUntil(lambda: not left.exists())
    assert journal_module.read_session(journal.path).takes["A"] == found.takes["A"]


def test_a_clean_end_after_the_answer_removes_what_was_left(journal, left):
    journal.left_over()
    journal.release()
    journal.remove()
    assert not left.exists()


def test_a_damaged_journal_is_set_aside_and_the_next_one_offered(journal, left):
    damaged = left.with_name("damaged.rimetype")
    damaged.write_text("{ half a jour")
    os.utime(damaged, (time.time() + 60, time.time() + 60))
    assert journal.left_over().takes["A"].tone.lift == 0.7
    assert not damaged.exists()
    assert damaged.with_suffix(".damaged").read_text() == "{ half a jour"


def test_a_folder_that_cannot_be_made_is_told_once_and_raises_nothing(session, journal, home):
    home.mkdir(exist_ok=True)
    (home / "data").write_text("a file where the folder should be")
    heard = []
    journal.failed.connect(heard.append)
    for lift in (0.5, 0.6, 0.7):
        session.edit("A", {"tone.lift": lift})
        journal.write()
    assert journal.left_over() is None
    journal.remove()
    assert len(heard) == 1
    assert heard[0].startswith("Unsaved work cannot be kept aside: ")
    (home / "data").unlink()
    journal.write()
    assert journal.path.exists(), "it goes on as soon as it can"


@pytest.mark.skipif(os.name != "posix", reason="needs a limit on the size of files")
def test_a_full_disk_is_told_and_the_last_journal_stays(session, journal):
    """A limit on the size of files stands in for a full disk: the system answers the same way."""
    import resource

    session.edit("A", {"tone.lift": 0.5})
    journal.write()
    before = journal.path.read_bytes()
    heard = []
    journal.failed.connect(heard.append)
    limit = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (512, limit[1]))
    try:
        session.edit("A", {"tone.lift": 0.6})
        journal.write()
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limit)
        signal.signal(signal.SIGXFSZ, ignored)
    assert len(heard) == 1
    assert "no room left" in heard[0]
    assert journal.path.read_bytes() == before


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a kill that cannot be caught")
def test_ten_kills_lose_nothing_that_was_kept(home, journal):
    unsaved = home / "data" / "unsaved"
    for number in range(10):
        with subprocess.Popen(
            [sys.executable, "-c", WORKER], cwd=ROOT, stdout=subprocess.PIPE, text=True
        ) as worker:
            last = 0
            for line in worker.stdout:
                last = int(line)
                if last >= 3 * number + 1:
                    break
            worker.kill()
            rest = worker.stdout.read().split()
        last = max([last, *(int(word) for word in rest)])
        found = journal.left_over()
        width = found.takes["A"].plate.width_mm
        assert width - 100.0 >= last, "at least all that was said to be kept"
        assert width - 100.0 <= last + 1
        journal.release()
        journal.remove()
        assert not list(unsaved.glob("*.rimetype")), "no second copy is offered next time"
        assert not list(unsaved.glob("*.damaged"))
