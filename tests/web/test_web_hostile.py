"""What a hostile or broken page sends: refused piece by piece, the rest is taken, nothing breaks."""

import errno
import json
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from hullwright.app import disk, jobs, shelf
from hullwright.app.access import SEEN_EVERY
from hullwright.app.refusals import UnknownError
from hullwright.errors import InputError, OutputError, Problem, Where
from hullwright.web.service import make

HALF = "\ud800"
"""Half of a letter: JSON can carry it, UTF-8 can't."""
BIG = 10**400
"""A whole number that no floating-point number holds."""


@pytest.mark.parametrize(
    ("kind", "what", "more"),
    [
        ("remark", {"text": HALF}, {}),
        ("remark", {"text": "x", HALF: 1}, {}),
        ("remark", {"text": "x"}, {HALF: 1}),
        ("remark", {"text": "x"}, {"author": HALF}),
        ("remark", {"text": "x"}, {"place_m": [BIG, 0, 0]}),
    ],
)
def test_what_cannot_be_kept_is_refused_by_itself(world, desk, kind, what, more):
    crew = world.invited(desk, "crew")
    good = crew.entry("remark", {"text": "dry"})
    answer = crew.send_entries(crew.entry(kind, what, **more), good)
    assert answer.status_code == 200, answer.text
    bad, taken = answer.json()["receipts"]
    assert bad["status"] == "refused"
    assert bad["problems"]
    assert taken["status"] == "stored"
    kept = desk.get("/api/houses/shed/entries").json()["entries"]
    assert [entry["id"] for entry in kept] == [good["id"]]


@pytest.mark.parametrize(
    ("kind", "what"), [("width", {"width_m": BIG}), ("gauge reading", {"notches_um": [BIG]})]
)
def test_a_figure_that_nothing_has_is_kept_and_held_for_review(world, desk, kind, what):
    crew = world.invited(desk, "crew")
    sent = crew.entry(kind, what)
    (receipt,) = crew.send_entries(sent).json()["receipts"]
    assert receipt["status"] == "stored", "nothing recorded is lost"
    assert receipt["held"]
    assert desk.get("/api/houses/shed/states").status_code == 200


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ('aim["\\ud800"]', 1),
        ('aim["\\q"]', 1),
        ("name", HALF),
        ("name", {HALF: "x"}),
        ("name", [[HALF]]),
    ],
)
def test_a_value_that_no_file_can_hold_is_refused_and_the_file_stays(world, desk, key, value):
    before = world.file.read_bytes()
    based_on = desk.get("/api/houses/shed").json()["hash"]
    answer = desk.patch(
        "/api/houses/shed/value",
        content=json.dumps({"key": key, "value": value, "based_on": based_on}),
        headers={"content-type": "application/json"},
    )
    assert answer.status_code == 422, answer.text
    problem = answer.json()["error"]["problems"][0]
    assert problem["where"]["key"] in {"key", "value"}
    assert world.file.read_bytes() == before


@pytest.mark.parametrize("before", [2**63, 10**30])
def test_a_line_of_the_trail_that_no_store_can_number(old_desk, before):
    answer = old_desk.get("/api/audit", params={"before": before})
    assert answer.status_code == 422, answer.text


def refused_of(suffix):
    """A way to write files whole, for which the disk is full when they end so."""
    write = disk.write_whole

    def writing(path, content):
        if path.suffix == suffix:
            raise disk.unwritable(path, OSError(errno.ENOSPC, "No space left on device"))
        write(path, content)

    return writing


def test_a_full_disk_leaves_no_half_house_and_its_name_free(world, desk, monkeypatch):
    new = {"name": "barn", "text": world.file.read_text("utf-8")}
    with monkeypatch.context() as patch:
        patch.setattr(shelf, "write_whole", refused_of(".yaml"))
        refused = desk.post("/api/houses", json=new)
    assert refused.status_code == 507, refused.text
    assert not (world.folder / "barn.yaml").exists()
    assert desk.get("/api/houses/barn").status_code == 404
    made = desk.post("/api/houses", json=new)
    assert made.status_code == 201, made.text
    assert (world.folder / "barn.yaml").read_text("utf-8") == new["text"]


def test_a_full_disk_keeps_nothing_of_a_work_that_it_refused(world, desk, monkeypatch):
    monkeypatch.setattr(jobs, "write_whole", refused_of(".json"))
    assert desk.post("/api/houses/shed/plan", json={"quick": True}).status_code == 507
    assert not list((world.data / "jobs").glob("*"))


def test_a_full_disk_keeps_nobody_from_looking(world, desk, monkeypatch):
    def refuse(*_):
        raise OutputError("the disk is full")

    monkeypatch.setattr(world.service.access.store, "set_seen", refuse)
    later = datetime.now(UTC) + 2 * SEEN_EVERY
    monkeypatch.setattr(world.service.access, "now", lambda: later)
    assert desk.get("/api/houses/shed").status_code == 200


def test_a_store_that_fails_says_no_folder_of_this_machine(world, desk):
    crew = world.invited(desk, "crew")
    world.service.store.unlink(missing_ok=True)
    world.service.store.mkdir()
    answer = crew.send_entries(crew.entry("remark", {"text": "dry"}))
    assert answer.status_code == 507, answer.text
    assert answer.json()["error"]["problems"][0]["where"]["file"] == world.service.store.name
    assert str(world.data) not in answer.text
    assert desk.post("/api/houses/shed/book").status_code == 507


def test_a_work_that_failed_says_no_folder_of_this_machine(world):
    problem = Problem("damaged", Where(str(world.service.store)), f"can't open {world.service.store}")
    error = InputError("the store can't be read", [problem]).to_json()
    job = jobs.Job("j", "shed", "book", "failed", "", {}, "", error)
    assert str(world.data) not in json.dumps(job.to_json())
    assert job.to_json()["error"]["problems"][0]["message"] == "damaged"


def test_an_answer_that_is_forgotten_while_it_is_asked_for(world, desk, idle):
    asked = desk.post("/api/houses/shed/plan", json={"quick": True}).json()
    world.finish(desk, asked)
    job = world.service.jobs.get("shed", asked["id"])
    with pytest.raises(UnknownError):
        world.service.jobs.kept(job)
    answer = desk.get("/api/houses/shed/plan", params={"job": asked["id"]})
    assert answer.status_code == 404, answer.text


def test_a_service_starts_on_a_full_disk_and_takes_its_work_up(new_world, tmp_path, monkeypatch):
    root = tmp_path / "second"
    root.mkdir()
    folder = root / "data" / "jobs" / "1"
    folder.mkdir(parents=True)
    left = jobs.Job("1", "shed", "plan", "running", "0" * 64, {}, "2026-05-03T10:00:00+00:00")
    (folder / "job.json").write_text(json.dumps(left.stored()), encoding="utf-8")
    monkeypatch.setattr(jobs, "write_whole", refused_of(".json"))
    second = new_world(root)
    try:
        assert second.desk().get("/api/houses/shed").status_code == 200
        assert second.service.jobs.get("shed", "1").restarted == 1
    finally:
        second.close()


def test_a_data_folder_that_cannot_be_written_is_said_so(tmp_path, monkeypatch):
    def refuse(*_, **__):
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(Path, "touch", refuse)
    with pytest.raises(OutputError) as caught:
        make(tmp_path, str(tmp_path / "data"), 8765, "key")
    assert caught.value.problems[0].where.key == "--data"
    assert "Read-only" in caught.value.problems[0].message


def test_what_is_kept_aside_already_takes_no_room_twice(world, desk, monkeypatch):
    """A shut-out phone hands its whole queue in again and again; what is new at its end is kept too."""
    monkeypatch.setattr("hullwright.web.routes.site.MOST_ASIDE", (4, 1_000_000))
    phone = world.invited(desk, "crew")
    desk.delete(f"/api/devices/{phone.who['device']}")
    queue = [phone.entry("remark", {"text": f"remark {k}"}) for k in range(3)]
    assert phone.send_entries(*queue).status_code == 403
    assert phone.send_entries(*queue, phone.entry("remark", {"text": "the last"})).status_code == 403
    kept = desk.get("/api/houses/shed/quarantine").json()["entries"]
    assert [json.loads(one["body"])["what"]["text"] for one in kept] == [
        "remark 0",
        "remark 1",
        "remark 2",
        "the last",
    ]


def test_a_revoked_device_cannot_fill_the_disk(world, desk, monkeypatch):
    monkeypatch.setattr("hullwright.web.routes.site.MOST_ASIDE", (100, 2500))
    crew = world.invited(desk, "crew")
    desk.delete(f"/api/devices/{crew.who['device']}")
    for _ in range(3):
        big = [{"id": str(uuid.uuid4()), "body": "x" * 1000} for _ in range(2)]
        assert crew.send_entries(*big).status_code == 403
    assert len(desk.get("/api/houses/shed/quarantine").json()["entries"]) == 2


def test_what_is_refused_stays_aside_where_another_under_its_id_was_taken_in(world, desk):
    first, second = (world.invited(desk, "crew", name=name) for name in ("Ada", "Bo"))
    name = str(uuid.uuid4())
    for crew in (first, second):
        desk.delete(f"/api/devices/{crew.who['device']}")
        crew.send_entries(crew.entry("remark", {"text": crew.who["person"]}, id=name))
    answer = desk.post("/api/houses/shed/quarantine", json={"ids": [name], "take_in": True})
    assert sorted(one["status"] for one in answer.json()["receipts"]) == ["refused", "stored"]
    left = desk.get("/api/houses/shed/quarantine").json()["entries"]
    (kept,) = desk.get("/api/houses/shed/entries").json()["entries"]
    assert [one["person"] for one in left] == [{"Ada": "Bo", "Bo": "Ada"}[kept["author"]]]


def test_a_clock_that_is_set_back_makes_no_old_answer_the_last(world, desk, idle):
    kept = {}
    for days in (0, 400):
        world.service.jobs.now = lambda days=days: datetime(2026, 5, 3, tzinfo=UTC) - timedelta(days=days)
        job = desk.post("/api/houses/shed/plan", json={"budget": 1000 + days}).json()
        world.finish(desk, job)
        kept[days] = job["id"]
    listed = desk.get("/api/houses/shed/jobs").json()["jobs"]
    assert [one["id"] for one in listed] == [kept[400], kept[0]]
