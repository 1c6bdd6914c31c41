"""A long work in a process of its own: asked, stopped, cut off at any moment, and nothing of it stays open."""

import gc
import subprocess
import sys
import threading
import time
import warnings

import pytest

from hullwright.app import apart as apart_room
from hullwright.app.apart import Apart
from hullwright.app.jobs import Jobs
from hullwright.app.names import Names
from hullwright.app.shelf import Shelf

READ = "import json, os, sys, time; question = json.loads(sys.stdin.readline())\n"
SAY = "def say(line): print(json.dumps(line), flush=True)\n"
SLEEP = f"{READ}{SAY}say({{'progress': {{'done': 1}}}}); time.sleep(600)"
LISTEN = (
    f"{READ}{SAY}say({{'progress': {{'done': 1}}}}); said = sys.stdin.readline(); say({{'result': said}})"
)
DEAF = f"{READ}{SAY}say({{'progress': {{'done': 1}}}}); sys.stdin.readline(); time.sleep(600)"
HALF = f"{READ}{SAY}say({{'progress': {{'done': 1}}}}); os.write(1, '{{\"result\": \"\u00e9'.encode()[:-1]); os._exit(1)"
SHED = """\
units: m
name: Shed
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: main, size: [8, 6], base: 0.2, storeys: [2.7], roof: {form: gable, pitch: 30 deg, ridge: east-west}}
aim: {budget: 5000}
"""


def command(code):
    return [sys.executable, "-c", code]


@pytest.fixture
def started(monkeypatch):
    """Every process that was started; none may live or be open after the test."""
    found = []
    real = subprocess.Popen

    def start(*args, **more):
        found.append(real(*args, **more))
        return found[-1]

    monkeypatch.setattr(apart_room.subprocess, "Popen", start)
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        yield found
        for process in found:
            assert process.returncode is not None, "it is still running, or nobody took its end"
            assert process.stdin.closed
            assert process.stdout.closed
        found.clear()
        gc.collect()
    assert [str(one.message) for one in told] == []


def in_thread(work, question=None):
    """Ask in a thread; gives what it will answer, what it tells, and an event for its first word."""
    answers, told, spoke = [], [], threading.Event()

    def tell(progress):
        told.append(progress)
        spoke.set()

    thread = threading.Thread(target=lambda: answers.append(work.answer(question or {"kind": "x"}, tell)))
    thread.start()
    return thread, answers, told, spoke


def ended(thread):
    thread.join(300)
    assert not thread.is_alive()


def test_it_is_asked_tells_and_answers(started):
    work = Apart(
        command(f"{READ}{SAY}say({{'progress': {{'done': 1}}}}); say({{'result': question['kind']}})")
    )
    told = []
    assert work.answer({"kind": "plan"}, told.append) == {"result": "plan"}
    assert told == [{"done": 1}]
    assert len(started) == 1


def test_cut_off_in_the_middle_it_gives_no_answer(started):
    work = Apart(command(SLEEP))
    thread, answers, told, spoke = in_thread(work)
    assert spoke.wait(300)
    work.cut()
    ended(thread)
    assert "result" not in answers[0]
    assert told == [{"done": 1}]


def test_cut_off_before_it_began_nothing_is_started(started):
    work = Apart(command(SLEEP))
    work.cut()
    assert work.answer({}, print) == {}
    assert started == []


def test_cut_off_while_it_starts_it_is_found(started, monkeypatch):
    """The word comes when the process is there, and nobody could have learnt of it yet."""
    real, there, go = apart_room.subprocess.Popen, threading.Event(), threading.Event()

    def slowly(*args, **more):
        process = real(*args, **more)
        there.set()
        go.wait(300)
        return process

    monkeypatch.setattr(apart_room.subprocess, "Popen", slowly)
    work = Apart(command(SLEEP))
    thread, answers, _, _ = in_thread(work)
    assert there.wait(300)
    threading.Timer(0.2, go.set).start()
    work.cut()
    ended(thread)
    assert "result" not in answers[0]


def test_cut_off_while_a_long_question_is_asked(started):
    """More than a pipe holds, to one that never reads: the answer is that there is none."""
    work = Apart(command("import time; time.sleep(600)"))
    thread, answers, _, _ = in_thread(work, {"text": "x" * 2_000_000})
    while not started:
        time.sleep(0.01)
    work.cut()
    ended(thread)
    assert answers == [{}]


def test_one_that_ends_in_the_middle_of_a_line_gave_no_answer(started):
    told = []
    assert "result" not in Apart(command(HALF)).answer({}, told.append)
    assert told == [{"done": 1}]


def test_stop_is_heard_whether_it_is_said_before_or_in_the_middle(started):
    early = Apart(command(LISTEN), patience=300)
    early.stop()
    assert early.answer({}, print) == {"result": "stop\n"}
    late = Apart(command(LISTEN), patience=300)
    thread, answers, _, spoke = in_thread(late)
    assert spoke.wait(300)
    late.stop()
    late.stop()
    ended(thread)
    assert answers == [{"result": "stop\n"}]


def test_one_that_does_not_heed_the_stop_is_cut_off(started):
    work = Apart(command(DEAF), patience=0.2)
    thread, answers, _, spoke = in_thread(work)
    assert spoke.wait(300)
    work.stop()
    ended(thread)
    assert "result" not in answers[0]


def test_stop_to_one_that_has_just_ended_harms_nothing(started):
    """It ended and nobody read that yet: the word can't be sent, the answer counts."""
    work = Apart(command(f"{READ}{SAY}say({{'progress': {{}}}}); say({{'result': 7}})"))

    def tell(_):
        started[0].wait(300)
        work.stop()

    assert work.answer({}, tell) == {"result": 7}
    work.stop()


def test_a_queue_that_closes_while_a_work_starts_leaves_nothing(started, tmp_path, monkeypatch):
    """Closed at the very moment when the process is there and the queue does not know it yet; the work is taken up again."""
    (tmp_path / "houses").mkdir()
    (tmp_path / "houses/shed.yaml").write_text(SHED)
    real, there, go = apart_room.subprocess.Popen, threading.Event(), threading.Event()

    def slowly(_, **more):
        process = real(command(SLEEP), **more)
        there.set()
        go.wait(300)
        return process

    monkeypatch.setattr(apart_room.subprocess, "Popen", slowly)
    shelf = Shelf(tmp_path / "houses", tmp_path / "drafts", Names(tmp_path / "houses.json"))
    jobs = Jobs(tmp_path / "jobs", shelf)
    job = jobs.ask(shelf.find("shed"), "plan", {})
    assert there.wait(300)
    threading.Timer(0.2, go.set).start()
    jobs.close()
    assert not jobs._thread.is_alive()
    assert job.state == "running", "the next start takes it up again"
