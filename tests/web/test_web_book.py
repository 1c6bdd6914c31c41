"""The book of a house as a job: progress, stop, download, age; and what each decision costs."""

import io
import json
import time
import zipfile
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from hullwright.app import book as book_room
from hullwright.app import jobs as jobs_room
from hullwright.app import longwork, weigh
from hullwright.app.refusals import StoppedError
from hullwright.app.weigh import pick_of, prices, question_of
from hullwright.app.worker import Watch
from hullwright.choice.solver import bill

QUICK = {"quick": True}
BOOK = "/api/houses/shed/book"


def wait_for(question, most=300.0):
    end = time.monotonic() + most
    while time.monotonic() < end:
        if question():
            return
        time.sleep(0.01)
    raise AssertionError("waited in vain")


@pytest.fixture
def flat(monkeypatch):
    """A curve of one point: the book's own parts are meant here, and the curve has tests of its own."""
    monkeypatch.setattr(book_room, "CURVE_POINTS", 0)


@pytest.fixture
def written(world, desk, flat):
    desk.send_entries(desk.entry("hole", {"text": "<b>vent</b>", "made_by": "A"}, face="main/south"))
    job = desk.post(BOOK).json()
    assert world.finish(desk, job)["state"] == "done"
    return job


def test_book_holds_plan_continuity_and_record(world, desk, written):
    told = desk.get(BOOK).json()
    answer = desk.get(f"{BOOK}/{written['id']}/file")
    assert answer.headers["content-type"] == "application/zip"
    assert answer.headers["content-disposition"] == 'attachment; filename="shed-book.zip"'
    with zipfile.ZipFile(io.BytesIO(answer.content)) as pack:
        assert pack.testzip() is None
        assert pack.namelist() == told["files"]
        files = {name: pack.read(name) for name in pack.namelist()}
    assert told["bytes"] == len(answer.content)
    assert {"plan/summary.html", "plan/joints.csv", "plan/hull.glb", "record/continuity.csv"} <= set(files)
    plan, record = json.loads(files["plan/plan.json"]), json.loads(files["record/record.json"])
    assert plan["spent"] <= 4000
    assert record["check"]["closed"] is True
    assert [hole["text"] for hole in record["holes"]["holes"]] == ["<b>vent</b>"]
    ready = {face["face"]: face["ready"] for face in record["faces"]}
    assert ready == {face["id"]: False for face in record["check"]["faces"]}
    counts = desk.get("/api/houses/shed/states").json()["counts"]
    assert record["states"]["counts"] == counts
    page = files["record/record.html"].decode()
    assert "&lt;b&gt;vent" in page
    assert "<b>vent" not in page
    assert str(world.data) not in files["record/record.json"].decode()
    # the hand-over names the drawing: number, date, author and digest, in the record, its table and its page
    (issued,) = desk.get("/api/houses/shed/revisions").json()["revisions"]
    (named,) = record["drawings"]
    assert named == {key: issued[key] for key in ("number", "time", "author", "reason", "sha256")}
    row = files["record/drawings.csv"].decode().splitlines()[1]
    assert all(str(issued[key]) in row for key in ("number", "time", "author", "sha256"))
    assert issued["sha256"] in page
    assert "revision 1" in page


def test_book_is_of_the_plan_at_hand(world, desk, flat):
    job = desk.post("/api/houses/shed/plan", json={"quick": True, "budget": 2500}).json()
    world.finish(desk, job)
    spent = desk.get("/api/houses/shed/plan").json()["spent"]
    book = desk.post(BOOK).json()
    world.finish(desk, book)
    with zipfile.ZipFile(io.BytesIO(desk.get(f"{BOOK}/{book['id']}/file").content)) as pack:
        assert json.loads(pack.read("plan/plan.json"))["spent"] == pytest.approx(spent)


def test_a_new_entry_makes_a_new_book_and_the_same_question_does_not(desk, written):
    assert desk.post(BOOK).json()["id"] == written["id"]
    desk.send_entries(desk.entry("hole", {"text": "x", "made_by": "A"}, face="main/south"))
    again = desk.post(BOOK).json()
    assert again["id"] != written["id"]
    desk.delete(f"/api/houses/shed/jobs/{again['id']}")


def test_a_book_that_is_stopped_in_the_middle_leaves_nothing(world, desk, flat, monkeypatch):
    """It waits at every part; stopped in the third, there is no file, no answer, and the next one is whole."""
    inside, go = [], []
    whole = book_room.contents

    def slow(*args):
        inside.append(1)
        wait_for(lambda: go)
        return whole(*args)

    monkeypatch.setattr(book_room, "contents", slow)
    job = desk.post(BOOK).json()
    address = f"/api/houses/shed/jobs/{job['id']}"
    wait_for(lambda: inside)
    now = desk.get(address).json()["progress"]
    assert (now["done"], now["of"], now["what"]) == (1, 6, "its folder")
    assert desk.delete(address).status_code == 200
    go.append(1)
    assert world.finish(desk, job)["state"] == "stopped"
    assert sorted(path.name for path in (world.data / "jobs" / job["id"]).iterdir()) == [
        "building.yaml",
        "job.json",
    ]
    assert desk.get(f"{BOOK}/{job['id']}/file").status_code == 404
    assert desk.get(BOOK).status_code == 404
    again = desk.post(BOOK).json()
    assert world.finish(desk, again)["state"] == "done"
    assert desk.get(f"{BOOK}/{again['id']}/file").status_code == 200


def test_a_book_that_dies_while_it_is_written_leaves_nothing(world, desk, flat, monkeypatch):
    def torn(path, _content):
        (path.parent / ".hullwright-half").write_bytes(b"half")
        raise OSError(28, "no space")

    monkeypatch.setattr(longwork, "write_whole", torn)
    job = desk.post(BOOK).json()
    assert world.finish(desk, job)["state"] == "failed"
    assert sorted(path.name for path in (world.data / "jobs" / job["id"]).iterdir()) == [
        "building.yaml",
        "job.json",
    ]


def test_old_books_are_forgotten(world, desk, written):
    world.service.jobs.now = lambda: datetime.now(UTC) + jobs_room.EXPIRES["book"] - timedelta(minutes=1)
    assert desk.get(f"{BOOK}/{written['id']}/file").status_code == 200
    world.service.jobs.now = lambda: datetime.now(UTC) + jobs_room.EXPIRES["book"] + timedelta(minutes=1)
    assert desk.get(f"{BOOK}/{written['id']}/file").status_code == 404
    assert desk.get("/api/houses/shed/jobs").json()["jobs"] == []
    assert not (world.data / "jobs" / written["id"]).exists()


def test_a_book_of_another_house_is_not_there_and_a_guest_only_reads(world, desk, written):
    assert desk.get(f"/api/houses/other/book/{written['id']}/file").status_code == 404
    stranger = world.invited(desk, "lead", houses=["other"], name="stranger")
    assert stranger.get(f"{BOOK}/{written['id']}/file").status_code == 404
    assert stranger.post(BOOK).status_code == 404
    guest, trade = world.invited(desk, "guest"), world.invited(desk, "trade")
    assert guest.post(BOOK).status_code == 403
    assert guest.delete(f"/api/houses/shed/jobs/{written['id']}").status_code == 403
    assert guest.get(f"{BOOK}/{written['id']}/file").status_code == 200
    assert trade.get(f"{BOOK}/{written['id']}/file").status_code == 403
    assert world.page().get(f"{BOOK}/{written['id']}/file").status_code == 401
    assert desk.get(f"{BOOK}/11111111-2222-4333-8444-555555555555/file").status_code == 404


def test_a_work_that_is_no_book_has_no_file(world, desk, monkeypatch):
    monkeypatch.setattr(longwork, "run", lambda *_, **__: ({"best": 0}, {}))
    job = desk.post("/api/houses/shed/plan", json={}).json()
    world.finish(desk, job)
    assert desk.get(f"{BOOK}/{job['id']}/file").status_code == 404


def test_curve_tells_its_steps_and_can_be_stopped(world, desk, monkeypatch):
    """Twenty-four questions; stopped after the second there is no curve."""
    seen, go = [], []

    def slow(_instance, _limits, _goal, *, points, step, **_):
        for done in range(1, points + 4):
            step(done, points + 3)
            seen.append(done)
            wait_for(lambda done=done: go or done < 2)
        return []

    monkeypatch.setattr(weigh, "curve", slow)
    job = desk.post("/api/houses/shed/curve", json={}).json()
    address = f"/api/houses/shed/jobs/{job['id']}"
    wait_for(lambda: len(seen) == 2)
    now = desk.get(address).json()["progress"]
    assert (now["done"], now["of"], now["what"]) == (2, 24, "the curve")
    desk.delete(address)
    go.append(1)
    assert world.finish(desk, job)["state"] == "stopped"
    assert len(seen) == 2
    assert desk.get("/api/houses/shed/curve").status_code == 404


def test_watch_tells_and_stops():
    told, stop = [], []
    watch = Watch(told.append, lambda: bool(stop))
    assert watch(2.0, 1.0, 7) is True
    watch.step(1, 3, "a part")
    assert told[-1] == {
        "value": 2.0,
        "bound": 1.0,
        "gap": 0.5,
        "work": 7,
        "done": 1,
        "of": 3,
        "what": "a part",
    }
    stop.append(1)
    assert watch(2.0, 1.5, 8) is False
    with pytest.raises(StoppedError):
        watch.step(2, 3)


def decide(world, desk, run, method):
    digest = desk.get("/api/houses/shed").json()["hash"]
    answer = desk.put(
        f"/api/houses/shed/runs/{run}/decision", params={"based_on": digest}, json={"method": method}
    )
    assert answer.status_code == 200, answer.text


@pytest.fixture
def dear(world, desk):
    """The shed with two decisions: one that the plan takes by itself, and a dear one against it."""
    world.finish(desk, desk.post("/api/houses/shed/plan", json=QUICK).json())
    plan = desk.get("/api/houses/shed/plan").json()
    same = plan["runs"][0]
    for run in plan["runs"]:
        options = desk.get(f"/api/houses/shed/runs/{run['id']}/alternatives").json()["options"]
        worse = [
            one
            for one in options
            if not one["breaks"] and one["money"] > 5 and one["method"] != run["method"]
        ]
        if worse and run["id"] != same["id"]:
            other = (run["id"], max(worse, key=lambda one: one["money"])["method"])
            break
    decide(world, desk, same["id"], same["method"])
    decide(world, desk, *other)
    world.finish(desk, desk.post("/api/houses/shed/plan", json=QUICK).json())
    return same["id"], other[0]


def test_each_decision_has_its_price(world, desk, dear):
    job = desk.post("/api/houses/shed/prices").json()
    assert world.finish(desk, job)["state"] == "done"
    answer = desk.get("/api/houses/shed/prices").json()
    assert [one["run"] for one in answer["decisions"]] == list(dear)
    assert answer["stale"] is False
    # Source: the plan at hand is allowed without the decision too, so none is ever below nothing; Tolerance: rounding of sums
    assert all(one["money"] >= -1e-6 and one["objective"] >= -1e-9 for one in answer["decisions"])
    # What a decision costs is what the cheapest plan as tight and dry without it saves: checked on the columns of the choice.
    plan = desk.get("/api/houses/shed/plan").json()
    question = question_of(world.service.shelf.house(world.service.shelf.find("shed"))[0])
    pick = pick_of(question, {run["id"]: (run["method"], run["label"]) for run in plan["runs"]})
    told = prices(question, pick)
    assert [one["money"] for one in told] == pytest.approx([one["money"] for one in answer["decisions"]])
    assert answer["decisions"][1]["money"] + answer["decisions"][1]["objective"] > 0


def test_price_of_a_decision_is_at_least_what_one_change_of_it_saves(world, desk, dear):
    """From the cheapest plan that keeps it: each single change of that run that stays as tight and dry, by hand."""
    plan = desk.get("/api/houses/shed/plan").json()
    question = question_of(world.service.shelf.house(world.service.shelf.find("shed"))[0])
    pick = pick_of(question, {run["id"]: (run["method"], run["label"]) for run in plan["runs"]})
    found = prices(question, pick)[1]
    base = bill(question.choice.instance, pick)
    least, loose = weigh._cheapest(question, base, base), weigh.without(question, 1)
    start = weigh._carried(question, loose, least)
    assert start.spent == pytest.approx(least.spent)
    number = next(k for k, run in enumerate(loose.choice.runs) if run.id == dear[1])
    saved = 0.0
    for row in loose.choice.rows(number):
        changed = start.pick.copy()
        changed[number] = row
        after = bill(loose.choice.instance, changed)
        if after.air <= base.air and after.water <= base.water:
            saved = max(saved, start.spent - after.spent)
    assert found["money"] >= saved - 1e-6


def test_a_decision_that_the_plan_takes_by_itself_costs_nothing(world, desk):
    """However far the plan at hand is from the best: what it leaves to be gained is no price of the decision."""
    world.finish(desk, desk.post("/api/houses/shed/plan", json=QUICK).json())
    run = desk.get("/api/houses/shed/plan").json()["runs"][0]
    decide(world, desk, run["id"], run["method"])
    question = question_of(world.service.shelf.house(world.service.shelf.find("shed"))[0])
    instance = question.choice.instance
    # The dearest way of every run: a plan far from the best, in which the decision holds.
    rows = [question.choice.rows(k) for k in range(len(question.choice.runs))]
    money = instance.labour + instance.use @ instance.price + 1e9 * (instance.coat >= 0) * -1
    pick = np.array([max(mine, key=lambda row: money[row]) for mine in rows])
    told = prices(question, pick)[0]
    wanted = {"money": 0.0, "objective": 0.0}
    # Tolerance: the search is not exact; a price of a tenth of what that plan wastes would be its slack.
    waste = (
        bill(instance, pick).spent
        - weigh._cheapest(question, bill(instance, pick), bill(instance, pick)).spent
    )
    assert waste > 100
    assert told["money"] <= wanted["money"] + 0.1 * waste


def test_prices_need_a_plan_of_the_file(world, desk):
    assert desk.post("/api/houses/shed/prices").status_code == 404
    assert world.invited(desk, "guest").post("/api/houses/shed/prices").status_code == 403


def test_changes_tell_what_the_last_plan_does_otherwise(world, desk):
    plans = []
    for budget in (4000, 1500):
        world.finish(desk, desk.post("/api/houses/shed/plan", json=QUICK | {"budget": budget}).json())
        plans.append(desk.get("/api/houses/shed/plan").json())
        if budget == 4000:
            first = desk.get("/api/houses/shed/changes").json()
            assert (first["before"], first["runs"], first["money"]) == (None, [], 0.0)
    was, now = ({run["id"]: run["label"] for run in plan["runs"]} for plan in plans)
    told = desk.get("/api/houses/shed/changes").json()
    assert {one["run"]: (one["before"], one["now"]) for one in told["runs"]} == {
        run: (was[run], now[run]) for run in now if was[run] != now[run]
    }
    assert told["runs"]
    assert told["money"] == pytest.approx(plans[1]["spent"] - plans[0]["spent"])
    assert (told["before"], told["job"]) == (plans[0]["job"], plans[1]["job"])
