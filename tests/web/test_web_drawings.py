"""Drawings over HTTP: the first entry issues the first, the lead the next; two phones at once make one."""

import threading

import pytest

ADDRESS = "/api/houses/shed/revisions"


def note(page, number=1):
    return page.entry("remark", {"text": "dry"}, device_sequence=number)


def numbers(page):
    return [one["number"] for one in page.get(ADDRESS).json()["revisions"]]


@pytest.fixture
def phone(world, desk):
    return world.invited(desk, "crew", name="Ines")


def move_window(world, way="at: 9"):
    world.file.write_text(world.file.read_text("utf-8").replace("at: 4}", f"{way}}}"), "utf-8")


def test_the_first_entry_of_a_phone_issues_the_first_drawing(world, desk, phone):
    assert numbers(desk) == []
    assert desk.get("/api/houses/shed").json()["revision"] == 0
    phone.send_entries(note(phone))
    phone.send_entries(note(phone, 2))
    (one,) = desk.get(ADDRESS).json()["revisions"]
    assert (one["number"], one["author"]) == (1, "Ines")
    assert desk.get("/api/houses/shed").json()["revision"] == 1
    assert desk.get("/api/houses/other/revisions").json()["revisions"] == []


def test_a_refused_entry_issues_nothing(desk, phone):
    bad = phone.entry("nailing", {"passed": True}, face="main/south", device_sequence=1)
    assert phone.send_entries(bad).json()["receipts"][0]["status"] == "refused"
    assert numbers(desk) == []


def test_two_phones_at_once_issue_one_drawing(world, desk):
    phones = [world.invited(desk, "crew", name=name) for name in ("Ines", "Ben", "Cleo")]
    threads = [threading.Thread(target=page.send_entries, args=(note(page),)) for page in phones]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)
    assert numbers(desk) == [1]
    assert len(desk.get("/api/houses/shed/entries").json()["entries"]) == 3


def test_an_edit_is_a_difference_until_the_lead_issues_it(world, desk, phone):
    phone.send_entries(note(phone))
    assert desk.get("/api/houses/shed").json()["drawing_differs"] is False
    move_window(world)
    assert desk.get("/api/houses/shed").json()["drawing_differs"] is True
    answer = desk.get(ADDRESS).json()
    (moved,) = answer["differs"]["differences"]
    # Source: the edit: 4 ft to 9 ft. Tolerance: rounding of the answer.
    assert (moved["changes"], moved["moved_m"]) == (["moved"], pytest.approx(5 * 0.3048, abs=1e-4))
    made = desk.post(ADDRESS, json={"reason": "stove"})
    assert (made.status_code, made.json()["issued"]["number"]) == (201, 2)
    assert made.json()["issued"]["reason"] == "stove"
    again = desk.post(ADDRESS, json={})
    assert (again.status_code, again.json()["new"], again.json()["issued"]["number"]) == (200, False, 2)
    assert desk.get("/api/houses/shed").json()["drawing_differs"] is False
    assert numbers(phone) == [1, 2]
    assert str(world.data) not in answer["schema"]["name"] + str(answer)


def test_only_a_lead_issues(world, desk, phone):
    guest = world.invited(desk, "guest", name="Guest")
    for page in (phone, guest):
        assert page.post(ADDRESS, json={}).status_code == 403
    assert numbers(desk) == []


def test_a_file_that_can_not_be_used_holds_back_no_entry_and_hides_no_drawing(world, desk, phone):
    good = world.file.read_text("utf-8")
    world.file.write_text("nonsense: [", "utf-8")
    assert phone.send_entries(note(phone)).json()["receipts"][0]["status"] == "stored"
    assert numbers(desk) == []
    world.file.write_text(good, "utf-8")
    phone.send_entries(note(phone, 2))
    assert numbers(desk) == [1]
    world.file.write_text("nonsense: [", "utf-8")
    answer = desk.get(ADDRESS)
    assert (answer.status_code, answer.json()["differs"], numbers(desk)) == (200, None, [1])
    assert desk.post(ADDRESS, json={}).status_code == 422
