"""The log over HTTP: each entry stored exactly once or refused with its reason, whoever sends, however often, in whatever order."""

import hashlib
import io
import json
import random
import uuid
from urllib.parse import quote

import pytest
from PIL import Image

from hullwright.store.place import full

FACE = "main/south"


def receipts(answer):
    assert answer.status_code == 200, answer.text
    return answer.json()["receipts"]


def statuses(answer):
    return [one["status"] for one in receipts(answer)]


def joint(desk):
    return desk.get("/api/houses/shed/joints").json()["joints"][0]["id"]


def done(page, number=1, **what):
    figures = {"method": "tape", "crew": "A", "surface": "clean"} | what
    return page.entry("done", figures, face=FACE, device_sequence=number)


def stored(desk):
    return desk.get("/api/houses/shed/entries", params={"history": True}).json()["entries"]


@pytest.fixture
def world(place, tmp_path, new_world):
    """The log in a file, and on a PostgreSQL server; people and jobs stay on this machine."""
    made = new_world(tmp_path, log=full(place))
    yield made
    made.close()


@pytest.fixture
def phone(world, desk):
    return world.invited(desk, "crew", name="Ines")


def test_an_entry_is_stored_and_its_receipt_names_id_and_hash_of_the_body(desk, phone):
    sent = done(phone)
    (one,) = receipts(phone.send_entries(sent))
    assert one["status"] == "stored"
    assert one["id"] == sent["id"]
    # Source: FIPS 180-4 by hashlib over the very text that was sent
    assert one["body_hash"] == hashlib.sha256(sent["body"].encode()).hexdigest()
    (kept,) = stored(desk)
    assert (kept["id"], kept["author"], kept["number"]) == (sent["id"], "Ines", one["number"])


def test_a_repeated_send_is_stored_once(desk, phone):
    sent = done(phone)
    first, second = (receipts(phone.send_entries(sent))[0] for _ in range(2))
    assert (first["status"], second["status"]) == ("stored", "duplicate")
    assert first["number"] == second["number"]
    assert statuses(phone.send_entries(sent, sent)) == ["duplicate", "duplicate"]
    assert len(stored(desk)) == 1


def test_the_same_entry_twice_in_one_batch_is_stored_once(desk, phone):
    sent = done(phone)
    assert sorted(statuses(phone.send_entries(sent, sent))) == ["duplicate", "stored"]
    assert len(stored(desk)) == 1


def test_another_body_under_the_same_id_is_refused_and_the_first_stays(desk, phone):
    sent = done(phone)
    phone.send_entries(sent)
    other = {"id": sent["id"], "body": sent["body"].replace("tape", "liquid")}
    (one,) = receipts(phone.send_entries(other))
    assert one["status"] == "refused"
    assert one["problems"]
    assert stored(desk)[0]["what"]["method"] == "tape"


def test_id_of_another_house_is_refused_without_a_word_of_it(world, desk):
    phone = world.invited(desk, "crew", houses=("shed", "other"))
    sent = done(phone)
    phone.send_entries(sent)
    assert statuses(phone.send_entries(sent, house="other")) == ["refused"]
    assert desk.get("/api/houses/other/entries").json()["entries"] == []


def test_one_wrong_entry_does_not_hold_back_the_others(desk, phone):
    wrong = phone.entry("done", {"method": "tape"}, device_sequence=2)
    found = receipts(phone.send_entries(done(phone), wrong, done(phone, 3)))
    assert [one["status"] for one in found] == ["stored", "stored", "stored"]
    assert found[1]["held"] == ["crew is missing", "surface is missing"]  # kept, and proves nothing
    listed = desk.get("/api/houses/shed/entries").json()
    assert listed["held"][wrong["id"]] == found[1]["held"]
    assert desk.get("/api/houses/shed/states").json()["held"][wrong["id"]] == found[1]["held"]
    formless = done(phone, 4) | {"body": "{}"}
    late = receipts(phone.send_entries(formless, done(phone, 5)))
    assert [one["status"] for one in late] == ["refused", "stored"]


@pytest.mark.parametrize("seed", range(3))
def test_reordered_and_replayed_sends_end_in_the_same_log(world, desk, phone, seed):
    """A hole, its seal, a correction: sent in any order and any number of times."""
    hole = phone.entry("hole", {"text": "pipe", "made_by": "plumber"}, face=FACE, device_sequence=1)
    seal = phone.entry(
        "hole sealed", {"hole": hole["id"], "product": "p", "detail": "boot"}, face=FACE, device_sequence=2
    )
    mark = done(phone, 3)
    right = phone.entry(
        "done",
        {"method": "liquid", "crew": "A", "surface": "clean"},
        face=FACE,
        device_sequence=4,
        supersedes=mark["id"],
    )
    queue = {one["id"]: one for one in (hole, seal, mark, right)}
    sends = random.Random(seed)
    while queue:  # a phone keeps what was refused and sends it again
        chosen = sends.sample(sorted(queue), sends.randint(1, len(queue)))
        for one in receipts(phone.send_entries(*(queue[name] for name in chosen))):
            if one["status"] in {"stored", "duplicate"} and sends.random() < 0.7:  # else the answer was lost
                queue.pop(one["id"])
    kinds = sorted(one["kind"] for one in stored(desk))
    assert kinds == ["done", "done", "hole", "hole sealed"]
    assert desk.get("/api/houses/shed/holes").json()["open"] == 0
    standing = desk.get("/api/houses/shed/entries", params={"kind": "done"}).json()["entries"]
    assert [one["what"]["method"] for one in standing] == ["liquid"]


def test_a_seal_that_comes_twice_is_no_second_seal(desk, phone):
    hole = phone.entry("hole", {"text": "pipe", "made_by": "plumber"}, face=FACE)
    seal = phone.entry(
        "hole sealed", {"hole": hole["id"], "product": "p", "detail": "boot"}, face=FACE, device_sequence=2
    )
    phone.send_entries(hole, seal)
    assert statuses(phone.send_entries(seal)) == ["duplicate"]


def test_a_correction_is_of_the_same_kind(desk, phone):
    hole = phone.entry("hole", {"text": "pipe", "made_by": "plumber"}, face=FACE)
    phone.send_entries(hole)
    hide = phone.entry("remark", {"text": "x"}, supersedes=hole["id"], device_sequence=2)
    assert statuses(phone.send_entries(hide)) == ["refused"]
    assert desk.get("/api/houses/shed/holes").json()["open"] == 1


def test_author_and_device_are_those_of_the_session(desk, phone):
    forged = phone.entry("remark", {"text": "x"}, author="lead")
    other = phone.entry("remark", {"text": "x"}, device=desk.who["device"])
    mixed = {"id": str(uuid.uuid4()), "body": done(phone)["body"]}
    assert statuses(phone.send_entries(forged, other, mixed)) == ["refused"] * 3
    assert stored(desk) == []


def test_each_role_logs_its_kinds(world, desk, phone):
    trade = world.invited(desk, "trade", name="Plumber")
    hole = trade.entry("hole", {"text": "drain", "made_by": "Plumber"}, face=FACE)
    found = receipts(trade.send_entries(hole, trade.entry("remark", {"text": "x"}, device_sequence=2)))
    assert [one["status"] for one in found] == ["stored", "refused"]
    assert trade.send_entries(hole).json()["highest"] == 0
    assert trade.get("/api/houses/shed/entries").status_code == 403
    lead_only = phone.entry("withdrawn", {"reason": "x"}, supersedes=hole["id"])
    signed = phone.entry("ok to cover", {"signed_by": "Ines", "exceptions": []}, face=FACE, device_sequence=2)
    assert statuses(phone.send_entries(lead_only, signed)) == ["refused", "refused"]
    assert statuses(
        desk.send_entries(desk.entry("ok to cover", {"signed_by": "desk", "exceptions": []}, face=FACE))
    ) == ["refused"]
    assert statuses(desk.send_entries(desk.entry("withdrawn", {"reason": "x"}, supersedes=hole["id"]))) == [
        "stored"
    ]


def test_a_lead_opens_a_face_for_work_and_nobody_else_does(desk, phone):
    def stopped():
        return desk.get("/api/houses/shed/states").json()["not_to_start"].get(FACE)

    def says(page, kind, number, *, passed, **more):
        sent = page.entry(kind, {"passed": passed}, face=FACE, device_sequence=number, **more)
        (one,) = receipts(page.send_entries(sent))
        return sent["id"], one

    assert stopped() == ["nailing not signed off"]
    _, refused = says(phone, "nailing", 1, passed=True)
    assert refused["status"] == "refused"
    assert [problem["message"] for problem in refused["problems"]] == ["a crew may not log this"]
    assert stopped() == ["nailing not signed off"]
    signed, taken = says(desk, "nailing", 1, passed=True)
    assert taken["status"] == "stored"
    assert stopped() is None
    assert says(phone, "nailing", 2, passed=False, supersedes=signed)[1]["status"] == "refused"
    assert stopped() is None
    assert says(desk, "straps", 2, passed=False)[1]["status"] == "stored"
    assert says(phone, "straps", 3, passed=True)[1]["status"] == "refused"
    assert stopped() == ["straps and hold-downs failed their inspection"]
    withdrawn = desk.entry("withdrawn", {"reason": "x"}, face=FACE, supersedes=signed, device_sequence=3)
    assert statuses(desk.send_entries(withdrawn)) == ["stored"]
    assert stopped() == ["nailing not signed off", "straps and hold-downs failed their inspection"]


BODIES = [
    "[]", "null", "{", "{}", '"x"', "[" * 50_000, '{"id": NaN}', '{"id": 1e999}', "\u0000\u0000", "{" + '"a":' * 1000 + "1", "PK\u0003\u0004",
    "<svg/onload=alert(1)>", "", '{"id": "' + "x" * 60_000 + '"}',
]  # fmt: skip


@pytest.mark.parametrize("body", BODIES, ids=range(len(BODIES)))
def test_hostile_bodies_are_refused_by_themselves(desk, phone, body):
    assert statuses(phone.send_entries({"id": str(uuid.uuid4()), "body": body}, done(phone))) == [
        "refused",
        "stored",
    ]


@pytest.mark.parametrize(
    "batch",
    [{}, [], {"entries": []}, {"entries": [{}]}, {"entries": [{"id": "x" * 101, "body": "{}"}]}, {"entries": "x"},
     {"entries": [{"id": str(uuid.uuid4()), "body": {}}]}],
)  # fmt: skip
def test_wrong_batches_are_refused_whole(phone, batch):
    assert phone.post("/api/houses/shed/entries", json=batch).status_code == 422


def test_a_wrong_id_is_refused_by_itself(phone):
    assert statuses(phone.send_entries({"id": "../x", "body": "{}"}, done(phone))) == ["refused", "stored"]


def test_script_in_text_comes_back_as_text(desk, phone):
    text = "<script>alert(1)</script> ' OR 1=1; --"
    phone.send_entries(phone.entry("remark", {"text": text}))
    answer = desk.get("/api/houses/shed/entries")
    assert answer.headers["content-type"] == "application/json"
    assert answer.json()["entries"][0]["what"]["text"] == text


def test_clock_that_is_off_is_noted_and_refuses_nothing(desk, phone):
    late = {"entries": [done(phone)], "device_now": "2001-01-01T00:00:00+00:00"}
    assert statuses(phone.post("/api/houses/shed/entries", json=late)) == ["stored"]
    assert stored(desk)[0]["clock_offset_s"] < -300
    odd = {"entries": [done(phone, 2)], "device_now": "yesterday"}
    assert statuses(phone.post("/api/houses/shed/entries", json=odd)) == ["stored"]


def test_entries_are_found_by_joint_and_after_a_number(desk, phone):
    place = joint(desk)
    on_joint = phone.entry("remark", {"text": "here"}, joint=place, device_sequence=1)
    phone.send_entries(on_joint, phone.entry("remark", {"text": "there"}, device_sequence=2))
    (found,) = desk.get("/api/houses/shed/entries", params={"joint": place}).json()["entries"]
    assert found["id"] == on_joint["id"]
    top = desk.get("/api/houses/shed/entries").json()["highest"]
    assert desk.get("/api/houses/shed/entries", params={"after": top}).json()["entries"] == []
    assert len(desk.get("/api/houses/shed/entries", params={"after": top - 1}).json()["entries"]) == 1


def test_what_was_logged_about_a_joint_is_told_the_latest_first_with_what_was_withdrawn(world, desk, phone):
    joints = desk.get("/api/houses/shed/joints").json()["joints"]
    place = next(one["id"] for one in joints if one["faces"] == [FACE])
    mark = phone.entry("done", {"method": "tape", "crew": "A", "surface": "clean"}, joint=place)
    there = phone.entry("remark", {"text": "elsewhere"}, face="main/north", device_sequence=2)
    phone.send_entries(mark, there)
    gone = desk.entry("withdrawn", {"reason": "wrong seam"}, joint=place, supersedes=mark["id"])
    reading = {"method": "tape", "crew": "A", "surface": "clean", "dry_um": 304.8}
    desk.send_entries(gone, desk.entry("cut", reading, joint=place, device_sequence=2))
    answer = desk.get(f"/api/houses/shed/joints/{quote(place)}/entries")
    assert answer.status_code == 200, answer.text
    assert answer.json()["joint"] == place
    first, second = answer.json()["entries"]
    assert (first["entry"]["kind"], first["fate"], first["by"]) == ("cut", "stands", None)
    assert first["entry"]["what"] == reading
    # Source: mil 25.4 um by definition, the shed is in feet. Tolerance: whole mil.
    assert first["words"] == "film cut: 12 mil dry, tape, on clean, crew A"
    assert (second["entry"]["id"], second["entry"]["author"], second["fate"]) == (
        mark["id"],
        "Ines",
        "withdrawn",
    )
    assert (second["by"]["author"], second["by"]["reason"]) == ("desk", "wrong seam")
    assert [one["back"] for one in (first, second)] == ["", "✕ withdrawn by desk: wrong seam"]
    assert [one["aside"] for one in (first, second)] == ["", ""]
    guest = world.invited(desk, "guest")
    assert guest.get(f"/api/houses/shed/joints/{quote(place)}/entries").json() == answer.json()
    trade = world.invited(desk, "trade")
    assert trade.get(f"/api/houses/shed/joints/{quote(place)}/entries").status_code == 403
    assert guest.get(f"/api/houses/other/joints/{quote(place)}/entries").status_code == 404


def test_every_joint_of_the_house_can_be_asked_for_and_no_other(desk):
    for one in desk.get("/api/houses/shed/joints").json()["joints"]:
        answer = desk.get(f"/api/houses/shed/joints/{quote(one['id'])}/entries")
        assert (answer.status_code, answer.json().get("entries")) == (200, []), one["id"]
    assert desk.get("/api/houses/shed/joints/main/entries").status_code == 404


def test_states_follow_from_entries(desk, phone):
    place = desk.get("/api/houses/shed/joints").json()["joints"][0]
    figures = {"method": "tape", "crew": "A", "surface": "clean"}
    phone.send_entries(phone.entry("done", figures, joint=place["id"], joint_kind=place["kind"]))
    found = {one["joint"]: one["state"] for one in desk.get("/api/houses/shed/states").json()["joints"]}
    assert found[place["id"]] == "sealed"
    assert sum(state not in {"bare", "not yet due"} for state in found.values()) == 1


def test_a_receipt_says_what_was_left_out_and_what_needs_a_place(desk, phone):
    face, pieces = done(phone), desk.get("/api/houses/shed/joints").json()["joints"]
    reading = phone.entry(
        "gauge reading",
        {
            "method": "liquid",
            "crew": "A",
            "surface": "clean",
            "notches_um": [200, 300, 400],
            "last_wet_um": 300,
            "next_dry_um": 400,
        },
        face=FACE,
        device_sequence=2,
    )
    named = phone.entry(
        "done", {"method": "tape", "crew": "A", "surface": "clean"}, joint=joint(desk), device_sequence=3
    )
    first, second, third = receipts(phone.send_entries(face, reading, named))
    left = {one["joint"]: one["why"] for one in first["left_out"]}
    assert {one["id"] for one in pieces if FACE in one["faces"]} >= set(left) > set()
    assert "a piece: say it by its mark or joint" in left.values()
    assert second["status"] == "stored"
    assert second["lacking"].startswith("needs a place")
    assert (third["status"], third["left_out"], third["lacking"]) == ("stored", [], "")
    ready = desk.get(f"/api/houses/shed/faces/{FACE}/ready").json()
    assert len(ready["says"]) == 5
    assert all(one["where"] for one in ready["blockers"])


def test_answers_do_not_tell_where_the_store_is(world, desk):
    for path in (
        "states",
        "lots",
        "holes",
        "entries",
        f"faces/{FACE}/ready",
        f"joints/{quote(joint(desk))}/entries",
    ):
        assert str(world.service.store) not in desk.get(f"/api/houses/shed/{path}").text


def test_release_needs_every_blocker_named(desk, phone):
    blockers = [one["id"] for one in desk.get(f"/api/houses/shed/faces/{FACE}/ready").json()["blockers"]]
    assert blockers
    refused = desk.post(f"/api/houses/shed/faces/{FACE}/ok-to-cover", json={"exceptions": blockers[1:]})
    assert refused.status_code == 409
    signed = desk.post(f"/api/houses/shed/faces/{FACE}/ok-to-cover", json={"exceptions": blockers})
    assert signed.status_code == 201
    assert signed.json()["what"]["signed_by"] == "desk"
    assert (
        phone.post(f"/api/houses/shed/faces/{FACE}/ok-to-cover", json={"exceptions": blockers}).status_code
        == 403
    )
    assert desk.get("/api/houses/shed/faces/no such face/ready").status_code == 409


def test_what_a_revoked_device_sends_is_kept_aside_and_can_be_taken_in(world, desk, phone):
    desk.delete(f"/api/devices/{phone.who['device']}")
    first, second = done(phone), done(phone, 2)
    answer = phone.send_entries(first, second)
    assert (answer.status_code, answer.json()["error"]["kind"]) == (403, "revoked")
    phone.send_entries(first)
    assert stored(desk) == []
    aside = desk.get("/api/houses/shed/quarantine").json()["entries"]
    assert [one["id"] for one in aside] == [first["id"], second["id"]]
    taken = desk.post("/api/houses/shed/quarantine", json={"ids": [first["id"]], "take_in": True})
    assert statuses(taken) == ["stored"]
    desk.post("/api/houses/shed/quarantine", json={"ids": [second["id"]], "take_in": False})
    assert desk.get("/api/houses/shed/quarantine").json()["entries"] == []
    assert [one["id"] for one in stored(desk)] == [first["id"]]


def test_quarantine_is_bounded_and_closed_to_foreign_houses(world, desk, phone, monkeypatch):
    monkeypatch.setattr("hullwright.web.routes.site.MOST_ASIDE", (3, 10_000))
    desk.delete(f"/api/devices/{phone.who['device']}")
    phone.send_entries(*(done(phone, k) for k in range(5)))
    assert len(desk.get("/api/houses/shed/quarantine").json()["entries"]) == 3
    phone.send_entries(done(phone), house="other")
    assert desk.get("/api/houses/other/quarantine").json()["entries"] == []


def test_queue_file_of_a_phone_is_taken_in_at_the_desk(desk, phone):
    entries = [done(phone, k) for k in range(3)]
    file = {"hullwright_queue": 1, "house": "shed", "device": phone.who["device"], "entries": entries}
    assert statuses(desk.post("/api/houses/shed/queue", json=file)) == ["stored"] * 3
    assert {one["author"] for one in stored(desk)} == {"Ines"}
    assert statuses(phone.send_entries(*entries)) == ["duplicate"] * 3
    wrong = desk.post("/api/houses/other/queue", json=file)
    assert wrong.status_code == 422
    assert phone.post("/api/houses/shed/queue", json=file).status_code == 403
    exported = desk.get("/api/houses/shed/queue")
    assert "attachment" in exported.headers["content-disposition"]
    assert len(exported.json()["entries"]) == 3


def picture(colour="red"):
    out = io.BytesIO()
    Image.effect_noise((640, 480), 90).convert("RGB").save(out, "PNG")
    return out.getvalue()


def put_photo(page, data, sha, size=2**20, skip=()):
    for start in range(0, len(data), size):
        if start not in skip:
            part = data[start : start + size]
            query = {"start": start, "total": len(data)}
            answer = page.put(f"/api/houses/shed/photos/{sha}/parts", params=query, content=part)
    return answer


def test_photo_comes_after_its_entry_piece_by_piece(world, desk, phone):
    data = picture()
    sha = hashlib.sha256(data).hexdigest()
    assert put_photo(phone, data, sha).status_code == 404  # the entry first
    phone.send_entries(phone.entry("photo", {"sha256": sha}, face=FACE))
    half = put_photo(phone, data, sha, 50_000, skip={50_000})
    assert half.json() == {"sha256": sha, "next_byte": 50_000, "complete": False}
    assert desk.get(f"/api/houses/shed/photos/{sha}/picture").status_code == 404
    assert put_photo(phone, data, sha, 50_000).json()["complete"]
    shown = desk.get(f"/api/houses/shed/photos/{sha}/picture")
    assert shown.headers["content-type"] == "image/jpeg"
    assert Image.open(io.BytesIO(shown.content)).size == (640, 480)
    assert desk.get(f"/api/houses/other/photos/{sha}/picture").status_code == 404


@pytest.mark.parametrize(
    "data",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"PK\x03\x04" + b"0" * 200,
        b"GIF89a<script>",
        b"\xff\xd8\xff\xe0",
    ],
)
def test_what_is_no_photo_is_not_kept(desk, phone, data):
    sha = hashlib.sha256(data).hexdigest()
    phone.send_entries(phone.entry("photo", {"sha256": sha}, face=FACE))
    assert put_photo(phone, data, sha).status_code == 422
    assert desk.get(f"/api/houses/shed/photos/{sha}/picture").status_code == 404


def test_polyglot_is_encoded_anew(desk, phone):
    data = picture() + b"<script>alert(1)</script>"
    sha = hashlib.sha256(data).hexdigest()
    phone.send_entries(phone.entry("photo", {"sha256": sha}, face=FACE))
    put_photo(phone, data, sha)
    assert b"<script>" not in desk.get(f"/api/houses/shed/photos/{sha}/picture").content


def test_parts_have_limits(phone):
    sha = "0" * 64
    for query, body in (
        ({"start": 0, "total": 0}, b"x"),
        ({"start": -1, "total": 5}, b"x"),
        ({"start": 0, "total": 10**8}, b"x"),
    ):
        assert phone.put(f"/api/houses/shed/photos/{sha}/parts", params=query, content=body).status_code in {
            404,
            422,
        }
    assert (
        phone.put(
            f"/api/houses/shed/photos/{sha}/parts", params={"start": 0, "total": 5}, content=b"x" * 2_000_001
        ).status_code
        == 413
    )
    assert phone.put(
        "/api/houses/shed/photos/..%2f..%2fetc/parts", params={"start": 0, "total": 5}, content=b"x"
    ).status_code in {404, 405, 422}


def test_log_survives_a_restart(world, desk, phone):
    sent = done(phone)
    phone.send_entries(sent)
    world.close()
    again = type(world)(world.folder.parent, log=full(world.service.store))
    page = again.page()
    page.cookies.set("hullwright_session", phone.cookies["hullwright_session"])
    page.who, page.headers["X-Hullwright-Token"] = phone.who, phone.who["token"]
    assert statuses(page.send_entries(sent)) == ["duplicate"]
    again.close()


def test_body_texts_keep_to_json(desk, phone):
    body = json.loads(done(phone)["body"])
    spaced = {"id": body["id"], "body": json.dumps(body, indent=3, sort_keys=True)}
    assert statuses(phone.send_entries(spaced)) == ["stored"]
    assert statuses(phone.send_entries({"id": body["id"], "body": json.dumps(body)})) == ["duplicate"]
