"""Long work away from the window: it succeeds, fails in a sentence, or stops when asked."""

import threading

import pytest

from app.jobs import Job
from shared.errors import PhotoError


def outcome(qtbot, job):
    """Run a job to its end; what it told, in order."""
    told = []
    for name in ("progressed", "succeeded", "failed", "stopped"):
        getattr(job, name).connect(lambda *values, name=name: told.append((name, *values)))
    with qtbot.waitSignal(job.finished):
        job.start()
    job.wait()
    return told


def test_a_result_is_handed_over_with_its_progress(qtbot):
    here = threading.get_ident()

    def work(progress):
        assert threading.get_ident() != here
        for share in (0.25, 1.0):
            progress(share)
        return [1, 2]

    assert outcome(qtbot, Job(work)) == [
        ("progressed", 0.25),
        ("progressed", 1.0),
        ("succeeded", [1, 2]),
    ]


@pytest.mark.parametrize(
    ("error", "sentence"),
    [
        (PhotoError("The photo is gone; choose another one."),
         "The photo is gone; choose another one."),
        (MemoryError(),
         "There is not enough memory for this; close other programs or choose less."),
        (ValueError("odd"),
         "Something failed inside Rimetype (ValueError: odd); try again or report it."),
        (RuntimeError(),
         "Something failed inside Rimetype (RuntimeError); try again or report it."),
    ],
)  # fmt: skip
def test_every_failure_is_a_sentence(qtbot, error, sentence):
    def work(_progress):
        raise error

    assert outcome(qtbot, Job(work)) == [("failed", sentence)]


def test_work_ends_at_its_next_report_after_a_stop(qtbot):
    running, asked = threading.Event(), threading.Event()
    reached = []

    def work(progress):
        running.set()
        asked.wait(10)
        progress(0.5)
        reached.append("too far")

    job = Job(work)
    heard = []
    for name in ("progressed", "succeeded", "failed", "stopped"):
        getattr(job, name).connect(lambda *_, name=name: heard.append(name))
    with qtbot.waitSignal(job.finished):
        job.start()
        assert running.wait(10)
        job.stop()
        asked.set()
    job.wait()
    assert heard == ["stopped"]
    assert reached == []
