"""Invitations, devices, revoking, the audit trail."""

import sqlite3
from datetime import UTC, datetime, timedelta

import pytest

from hullwright.app.access import ABSENT, GOOD_FOR


def invite(desk, role="crew", houses=("shed",)):
    return desk.post("/api/invitations", json={"name": "Ines", "role": role, "houses": list(houses)}).json()


def key_of(invitation):
    return invitation["address"].split("#invitation=")[1]


def test_invitation_stands_in_the_fragment_and_in_the_code(desk):
    made = invite(desk)
    before, _, key = made["address"].partition("#invitation=")
    assert before == "http://localhost:8765/"
    assert len(key) >= 43  # 256 bits
    assert made["svg"].startswith("<svg")
    assert "<script" not in made["svg"]


def test_invitation_opens_once(world, desk):
    key = key_of(invite(desk))
    assert world.page().sign_in(key).json()["state"] == "waiting"
    assert world.page().sign_in(key).status_code == 401


def test_invitation_ends_after_ten_minutes(world, desk):
    assert timedelta(minutes=10) == GOOD_FOR
    key, late = key_of(invite(desk)), datetime.now(UTC) + GOOD_FOR + timedelta(seconds=1)
    world.service.access.now = lambda: late
    assert world.page().sign_in(key).status_code == 401


def test_device_gets_in_when_the_desk_confirms_and_both_show_one_code(world, desk):
    phone = world.invited(desk, "crew", confirm=False)
    assert phone.get("/api/houses").status_code == 401
    there = next(d for d in desk.get("/api/devices").json()["devices"] if d["state"] == "waiting")
    assert there["check_code"] == phone.get("/api/session").json()["check_code"]
    assert desk.post(f"/api/devices/{there['id']}/confirm").status_code == 200
    assert phone.get("/api/houses").status_code == 200


def test_a_device_does_not_confirm_itself(world, desk):
    phone = world.invited(desk, "lead", confirm=False)
    assert phone.post(f"/api/devices/{phone.who['device']}/confirm").status_code == 401


def test_revoked_device_does_not_come_back_by_confirming(world, desk):
    phone = world.invited(desk, "crew")
    assert desk.delete(f"/api/devices/{phone.who['device']}").status_code == 200
    assert desk.post(f"/api/devices/{phone.who['device']}/confirm").status_code == 404
    assert phone.get("/api/houses").json()["error"]["kind"] == "revoked"


def test_signing_out_ends_the_session(world, desk):
    cookie = desk.cookies["hullwright_session"]
    assert desk.delete("/api/session").status_code == 200
    page = world.page()
    page.cookies.set("hullwright_session", cookie)
    assert page.get("/api/houses").status_code == 403


def test_device_that_was_long_away_signs_in_anew(world, desk):
    late = datetime.now(UTC) + ABSENT + timedelta(days=1)
    world.service.access.now = lambda: late
    assert desk.get("/api/session").status_code == 401


def test_sessions_survive_a_restart(world, desk):

    cookie = desk.cookies["hullwright_session"]
    again = type(world)(world.folder.parent)
    page = again.page()
    page.cookies.set("hullwright_session", cookie)
    assert page.get("/api/houses").status_code == 200
    again.close()


def test_audit_trail_names_who_did_what(world, desk):
    phone = world.invited(desk, "crew", name="Ines")
    desk.delete(f"/api/devices/{phone.who['device']}")
    lines = desk.get("/api/audit").json()["lines"]
    actions = [line["action"] for line in lines]
    assert actions == ["revoke device", "confirm device", "sign in", "invite", "sign in"]
    assert lines[3]["what"] == "Ines, crew, shed"
    assert key_of(invite(desk)) not in desk.get("/api/audit").text


def test_a_number_that_no_line_can_have_is_refused(desk):
    assert desk.get(f"/api/audit?before={2**53}").status_code == 200
    for wrong in (0, 2**53 + 1, 2**63):  # the last is more than the file can be asked for
        assert desk.get(f"/api/audit?before={wrong}").status_code == 422


def test_audit_trail_can_not_be_changed(world, desk):

    file = sqlite3.connect(world.data / "access.sqlite3")
    for statement in ("DELETE FROM audit", "UPDATE audit SET what = ''"):
        with pytest.raises(sqlite3.IntegrityError):
            file.execute(statement)
    file.close()


def test_lead_of_one_house_sees_only_its_lines(world, desk):
    lead = world.invited(desk, "lead", houses=("shed",))
    world.invited(desk, "crew", houses=("other",), name="Elsewhere")
    desk.put("/api/houses/other/drafts/fantest/draft", json={"text": "x"})
    assert "Elsewhere" not in lead.get("/api/audit").text
    assert "Elsewhere" not in lead.get("/api/people").text
    assert "Elsewhere" not in lead.get("/api/devices").text


def test_lead_of_one_house_gets_whole_pages_of_its_lines(world, desk):
    """Lines of other houses between them do not make a page shorter: else one would take it for the last."""
    lead = world.invited(desk, "lead", houses=("shed",))
    visitor = world.service.access.visitor(lead.cookies["hullwright_session"])
    access = world.service.access
    for number in range(12):
        access.note(visitor, "look", "shed", str(number))
        for _ in range(5):
            access.note(access.visitor(desk.cookies["hullwright_session"]), "look", "other")
    first = lead.get("/api/audit?most=5").json()["lines"]
    assert [line["what"] for line in first] == ["11", "10", "9", "8", "7"]
    rest = lead.get(f"/api/audit?most=50&before={first[-1]['number']}").json()["lines"]
    assert [line["what"] for line in rest][:7] == ["6", "5", "4", "3", "2", "1", "0"]


def test_unknown_role_is_refused(desk):
    assert (
        desk.post("/api/invitations", json={"name": "x", "role": "king", "houses": ["shed"]}).status_code
        == 422
    )
    assert desk.post("/api/invitations", json={"name": "x", "role": "crew", "houses": []}).status_code == 422
    assert (
        desk.post(
            "/api/invitations", json={"name": "x\u0007", "role": "crew", "houses": ["shed"]}
        ).status_code
        == 422
    )
