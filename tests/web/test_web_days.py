"""The order of work by the service: hours that add up, stages in their order, what comes before."""

import math

import pytest

from hullwright.app.days import HIGH, STAGES
from hullwright.catalog import load as load_catalog

QUICK = {"quick": True}
DAYS = "/api/houses/shed/days"
LATER = """\
  - {name: wires, mass: main, through: south, storey: 1, kind: cable group, diameter: 2, at: [[12, 5]], stage: services}
  - {name: drain, mass: main, through: bottom, kind: pipe, diameter: 4, at: [[12, 8]]}
"""


@pytest.fixture(scope="module")
def planned(old_world, old_desk):
    text = old_world.file.read_text("utf-8")
    old_world.file.write_text(text.replace("aim:", f"{LATER}aim:"), encoding="utf-8")
    old_world.finish(old_desk, old_desk.post("/api/houses/shed/plan", json=QUICK).json())
    return old_desk.get("/api/houses/shed/plan").json()


@pytest.fixture(scope="module")
def told(old_desk, planned):
    answer = old_desk.get(DAYS)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_hours_add_up_to_those_of_the_plan(told, planned):
    # Source: the plan's own hours (runs, coats, set-ups); Tolerance: rounding of sums
    assert told["hours"] == pytest.approx(planned["hours"], rel=1e-9)
    for stage in told["stages"]:
        assert stage["hours"] == pytest.approx(math.fsum(face["hours"] for face in stage["faces"]))
        for face in stage["faces"]:
            assert face["hours"] == pytest.approx(math.fsum(one["hours"] for one in face["methods"]))
            for one in face["methods"]:
                assert one["hours"] == pytest.approx(
                    one["setup_hours"] + one["coat_hours"] + math.fsum(r["hours"] for r in one["runs"])
                )


def test_every_run_that_is_sealed_stands_once_in_its_stage(told, planned):
    runs = {run["id"]: run for run in planned["runs"]}
    seen = [
        (run["id"], stage["stage"], face["face"], one["method"], one["product"])
        for stage in told["stages"]
        for face in stage["faces"]
        for one in face["methods"]
        for run in one["runs"]
    ]
    wanted = [
        (key, run["stage"], run["face"], run["method"], run["product"])
        for key, run in runs.items()
        if run["method"] != "unsealed"
    ]
    assert sorted(seen) == sorted(wanted)


def test_stages_stand_in_the_order_of_work_and_say_what_comes_before(told):
    names = [stage["stage"] for stage in told["stages"]]
    assert names == [stage for stage in STAGES if stage in names]
    assert names[0] == "sheathing"
    assert "services" in names
    for number, stage in enumerate(told["stages"]):
        assert [f"{name} is done" for name in names[:number]] == stage["before"][1:]


def test_a_method_is_set_up_once_a_face_and_sweep(told, old_world):
    house = old_world.service.shelf.house(old_world.service.shelf.find("shed"))[0]
    catalog = load_catalog(house.building)
    paid = {}
    for stage in told["stages"]:
        sweep = "first" if stage["stage"] in {"sheathing", "openings"} else "second"
        for face in stage["faces"]:
            for one in face["methods"]:
                key = (face["face"], one["method"], sweep)
                paid[key] = paid.get(key, 0.0) + one["setup_hours"]
    # Source: set-up hours of the catalogue, once for each face, method and sweep
    assert paid == pytest.approx({key: catalog.value(f"setup_hours.{key[1]}") for key in paid})


def test_crew_days_are_hours_over_people_and_day(told):
    crew = told["crew"]
    assert told["crew_days"] == pytest.approx(told["hours"] / (crew["people"] * crew["day_hours"]))


def test_cautions_stand_where_the_risk_is(told, old_world):
    house = old_world.service.shelf.house(old_world.service.shelf.find("shed"))[0]
    joints = house.joints.joints
    high = {
        run.id
        for run in house.joints.runs
        if max((joints[k].height for k in run.joints), default=0.0) >= HIGH
    }
    for stage in told["stages"]:
        texts = " ".join(one["text"] for one in stage["cautions"])
        runs = {run["id"] for face in stage["faces"] for one in face["methods"] for run in one["runs"]}
        assert ("guardrails" in texts) == bool(runs & high)
        assert ("signed off" in texts) == (stage["stage"] in {"sheathing", "openings"})


def test_what_was_signed_off_no_longer_stands_in_the_way(world, desk):
    world.finish(desk, desk.post("/api/houses/shed/plan", json=QUICK).json())

    def waiting():
        stage = desk.get(DAYS).json()["stages"][0]
        return {face["face"]: face["not_yet"] for face in stage["faces"]}

    before = waiting()
    assert before["main/south"] == ["nailing not signed off"]
    desk.send_entries(desk.entry("nailing", {"passed": True}, face="main/south"))
    after = waiting()
    assert after["main/south"] == []
    assert after["main/north"] == ["nailing not signed off"]


def test_concrete_waits_for_no_nailing(told, old_world, old_desk):
    house = old_world.service.shelf.house(old_world.service.shelf.find("shed"))[0]
    concrete = {face.id for face in house.hull.faces if face.substrate == "concrete"}
    assert concrete
    stopped = old_desk.get("/api/houses/shed/states").json()["not_to_start"]
    assert not concrete & stopped.keys()
    assert {face.id for face in house.hull.faces} - concrete <= stopped.keys()
    rows = {face["face"]: face["not_yet"] for stage in told["stages"] for face in stage["faces"]}
    assert concrete & rows.keys(), "the drain passes the slab"
    assert {face: bool(words) for face, words in rows.items()} == {
        face: face not in concrete for face in rows
    }


def test_days_are_those_of_the_plan_even_after_the_file_changed(world, desk):
    world.finish(desk, desk.post("/api/houses/shed/plan", json=QUICK).json())
    first = desk.get(DAYS).json()
    world.file.write_text(world.file.read_text("utf-8").replace("[24, 16]", "[30, 16]"), encoding="utf-8")
    later = desk.get(DAYS).json()
    assert later["stale"] is True
    assert later["stages"] == first["stages"]


def test_days_need_a_plan_and_a_person_of_the_house(world, desk):
    assert desk.get(DAYS).status_code == 404
    assert world.invited(desk, "trade").get(DAYS).status_code == 403
    assert world.invited(desk, "guest", houses=["other"]).get(DAYS).status_code == 404
