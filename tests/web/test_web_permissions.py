"""The permission table, asked at every route for every sort of visitor."""

import re
from pathlib import Path

import pytest
from web_kit import actions

from hullwright.app.access import PERMISSIONS, ROLES, may_log
from hullwright.proof.kinds import KINDS
from hullwright.web.api import document
from hullwright.web.models import house as house_models

pytestmark = pytest.mark.usefixtures("idle")

UUID = "11111111-2222-4333-8444-555555555555"
FILL = {
    "house": "shed",
    "job": UUID,
    "link": UUID,
    "run": "x",
    "face": "x",
    "joint": "x",
    "sha256": "0" * 64,
    "device": UUID,
    "name": "fantest",
}

# What the table must say, written down a second time by hand: who may write, and who sees what.
WRITERS = {
    "houses.new": {"lead"}, "house.write": {"lead"}, "plan.make": {"lead"}, "decide": {"lead"}, "leaks.make": {"lead"},
    "log.ok": {"lead"}, "log.import": {"lead"}, "quarantine": {"lead"}, "people": {"lead"}, "audit": {"lead"},
    "drawing.issue": {"lead"}, "log.add": {"lead", "crew", "trade"}, "log.photo": {"lead", "crew"},
}  # fmt: skip
TRADE_MAY = {"session", "log.add"}
LEAD_LOGS = {"chosen", "covered", "nailing", "paper", "placed", "straps", "withdrawn"}
NOBODY_LOGS = {"ok to cover"}  # it has a route of its own
TRADE_LOGS = {"hole"}


def test_table_is_as_written_down():
    assert {action: set(PERMISSIONS[action]) for action in WRITERS} == WRITERS
    assert {action for action, roles in PERMISSIONS.items() if "trade" in roles} == TRADE_MAY
    guest = {action for action, roles in PERMISSIONS.items() if "guest" in roles}
    assert guest == {"session", "houses.list", "house.read", "plan.read", "test.read", "log.read"}


def test_who_logs_what_is_as_written_down():
    """Whoever opens a face for work, covers it or settles what others wrote is a lead."""
    kinds = set(KINDS)
    assert kinds > LEAD_LOGS | NOBODY_LOGS | TRADE_LOGS
    allowed = {role: {kind for kind in kinds if may_log(role, kind)} for role in ROLES}
    assert allowed == {
        "lead": kinds - NOBODY_LOGS,
        "crew": kinds - NOBODY_LOGS - LEAD_LOGS,
        "trade": TRADE_LOGS,
        "guest": set(),
    }


def test_document_and_record_page_say_what_only_a_lead_logs(old_world):
    told = document(old_world.app)["components"]["schemas"]["SentEntry"]["description"]
    listed = re.search(r"Entries of kind (.*) are taken of a lead only; of a trade, (.*) only", told)
    assert set(re.split(", | and ", listed[1])) == LEAD_LOGS
    assert {listed[2]} == TRADE_LOGS
    page = (Path(__file__).parents[2] / "docs/record.md").read_text("utf-8")
    (line,) = re.findall(r"Only a lead logs (.*?) from a phone", page)
    assert set(re.findall(r"`(\w+)`", line)) == LEAD_LOGS


def test_no_write_goes_by_an_action_that_only_looks():
    exceptions = {
        ("/api/fantest", "post"),
        ("/api/session", "post"),
        ("/api/session", "delete"),
        ("/api/session/ready", "post"),
    }  # of the session itself
    for path, method, action in routes():
        if method != "get" and (path, method) not in exceptions:
            assert action in WRITERS, (path, method)
    lead_only = {
        path for path, method, action in routes() if method == "get" and PERMISSIONS.get(action) == {"lead"}
    }
    assert lead_only == {
        "/api/people", "/api/devices", "/api/audit", "/api/houses/{house}/quarantine", "/api/houses/{house}/queue",
        "/api/houses/{house}/links", "/api/houses/{house}/tags",
    }  # fmt: skip


def routes():
    return sorted(actions(), key=str)


def ask(page, path, method, house="shed"):
    address = re.sub(r"\{(\w+)\}", lambda found: {**FILL, "house": house}[found[1]], path)
    query = "?budget=1&start=0&total=1&based_on=" + "0" * 64
    return page.request(method, address + query, **({} if method in {"get", "delete"} else {"json": {}}))


@pytest.fixture(scope="module")
def people(old_world, old_desk):
    return {role: old_world.invited(old_desk, role) for role in ROLES}


@pytest.mark.parametrize("role", ROLES)
def test_every_route_for_every_role(old_world, people, role):
    for path, method, action in routes():
        if path == "/api/session":
            continue
        answer = ask(people[role], path, method)
        if role in PERMISSIONS[action]:
            assert answer.status_code not in {401, 403, 405, 500}, (path, method, role, answer.text)
        else:
            assert answer.status_code == 403, (path, method, role, answer.text)
            assert answer.json()["error"]["kind"] == "forbidden"


def test_nobody_gets_in_without_a_session(old_world):
    stranger = old_world.page()
    for path, method, _ in routes():
        if (path, method) != ("/api/session", "post"):
            assert ask(stranger, path, method).status_code == 401, (path, method)


def test_a_device_that_waits_gets_nothing(old_world, old_desk):
    waiting = old_world.invited(old_desk, "lead", confirm=False)
    assert waiting.get("/api/session").json()["state"] == "waiting"
    assert waiting.get("/api/session").json()["houses"] == []
    for path, method, _ in routes():
        if path != "/api/session":
            assert ask(waiting, path, method).status_code == 401, (path, method)


def test_a_revoked_device_reads_nothing(old_world, old_desk):
    gone = old_world.invited(old_desk, "lead")
    assert old_desk.delete(f"/api/devices/{gone.who['device']}").status_code == 200
    for path, method, _ in routes():
        if (path, method) == ("/api/session", "post"):
            continue
        answer = ask(gone, path, method)
        # A send with a wrong body is not kept; a right one is (see the tests of the site).
        expected = 422 if path.endswith("/entries") and method == "post" else 403
        assert answer.status_code == expected, (path, method, answer.text)


def test_a_foreign_house_looks_as_if_there_were_none(old_world, people):
    for role in ROLES:
        for path, method, action in routes():
            if "{house}" not in path or role not in PERMISSIONS[action]:
                continue
            foreign, nothing = (
                ask(people[role], path, method, house) for house in ("other", "no-such-house")
            )
            assert foreign.status_code == nothing.status_code == 404, (path, method, role)
            assert foreign.json() == nothing.json()


def test_a_lead_of_one_house_neither_lists_nor_copies_nor_invites_to_another(people):
    lead = people["lead"]
    assert [one["id"] for one in lead.get("/api/houses").json()["houses"]] == ["shed"]
    copied = lead.post("/api/houses", json={"name": "mine", "copy_of": "other"})
    assert copied.status_code == 404
    asked = lead.post("/api/invitations", json={"name": "x", "role": "guest", "houses": ["other"]})
    assert asked.status_code == 422


def test_a_lead_of_one_house_does_not_see_or_revoke_the_desk(people, old_desk):
    lead = people["lead"]
    assert old_desk.who["device"] not in [one["id"] for one in lead.get("/api/devices").json()["devices"]]
    assert lead.delete(f"/api/devices/{old_desk.who['device']}").status_code == 404
    assert old_desk.get("/api/session").status_code == 200


def test_models_refuse_loose_types():
    with pytest.raises(ValueError, match="valid boolean"):
        house_models.ValuePatch.model_validate({"key": "a", "remove": "yes", "based_on": "0" * 64})
