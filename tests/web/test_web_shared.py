"""Links to one house that only look and that end."""

import json
import sqlite3
import threading
import uuid
from datetime import UTC, datetime, timedelta

import pytest

from hullwright.app.access import LINK_DAYS, MOST_LINK_DAYS, Access
from hullwright.store.access import AccessStore, LinkRow, digest
from hullwright.store.access_sql import SCHEMA
from hullwright.store.database import Store
from hullwright.web.routes import work

LINKS = "/api/houses/shed/links"


def make(desk, name="The owner", house="shed", **more):
    answer = desk.post(f"/api/houses/{house}/links", json={"name": name} | more)
    assert answer.status_code == 201, answer.text
    return answer.json()


def key_of(link):
    return link["address"].split("#link=")[1]


def opened(world, link):
    page = world.page()
    assert page.sign_in(key_of(link)).status_code == 200
    return page


def at(world, moment):
    world.service.access.now = lambda: moment


def test_link_opens_one_house_to_look_at_once(world, desk):
    page = opened(world, make(desk))
    assert page.who["state"] == "active"
    assert page.who["role"] == "guest"
    assert page.who["houses"] == ["shed"]
    assert [house["id"] for house in page.get("/api/houses").json()["houses"]] == ["shed"]
    assert page.get("/api/houses/shed/geometry").status_code == 200
    assert page.get("/api/houses/other/geometry").status_code == 404


def test_link_writes_nothing(world, desk):
    page = opened(world, make(desk))
    before = world.file.read_bytes()
    for answer in (
        page.post("/api/houses/shed/plan", json={}),
        page.send_entries(page.entry("done", {"run": "x"})),
        page.post(LINKS, json={"name": "another"}),
        page.get(LINKS),
        page.get("/api/people"),
        page.get("/api/audit"),
        page.put("/api/houses/shed/text?based_on=" + "0" * 64, json={"text": "x"}),
    ):
        assert answer.status_code == 403, answer.text
    assert world.file.read_bytes() == before


def test_key_stands_in_the_fragment_and_nowhere_in_the_data(world, desk):
    link = make(desk)
    before, _, key = link["address"].partition("#link=")
    assert before == "http://localhost:8765/"
    assert len(key) >= 43  # 256 bits
    assert link["svg"].startswith("<svg")
    opened(world, link)
    for file in world.data.rglob("*"):
        if file.is_file():
            assert key.encode() not in file.read_bytes(), file
    assert key not in desk.get("/api/audit").text
    assert key not in desk.get(LINKS).text


def test_it_opens_on_several_devices_and_says_how_often(world, desk):
    link = make(desk)
    one, two = opened(world, link), opened(world, link)
    assert one.who["device"] != two.who["device"]
    assert (
        desk.get(LINKS).json()["links"][0] | {"uses": 2, "state": "open", "name": "The owner"}
        == (desk.get(LINKS).json()["links"][0])
    )
    # The same browser goes on with the session that it has.
    assert one.sign_in(key_of(link)).status_code == 200
    assert desk.get(LINKS).json()["links"][0]["uses"] == 2


def test_one_that_is_passed_on_and_on_lets_no_more_in(world, desk, monkeypatch):
    monkeypatch.setattr("hullwright.app.shared.MOST_OPENED", 2)
    link, other = make(desk), make(desk, "The architect")
    first, second = opened(world, link), opened(world, link)
    late = world.page().sign_in(key_of(link))
    assert late.status_code == 403
    assert "opened 2 times" in late.text
    assert "set-cookie" not in late.headers
    assert first.sign_in(key_of(link)).status_code == 200  # one that is in already opens it again
    assert second.get("/api/houses/shed/geometry").status_code == 200
    assert opened(world, other).who["state"] == "active"
    assert [one["uses"] for one in desk.get(LINKS).json()["links"]] == [2, 1]
    assert "refuse link" in desk.get("/api/audit").text


def test_it_ends_by_itself_and_so_does_every_session_that_it_opened(world, desk):
    link = make(desk, days=3)
    page, end = opened(world, link), datetime.fromisoformat(link["ends_at"])
    at(world, end - timedelta(seconds=1))
    assert page.get("/api/houses/shed/geometry").status_code == 200
    at(world, end)
    assert page.get("/api/houses/shed/geometry").status_code == 401
    refused = world.page().sign_in(key_of(link))
    assert refused.status_code == 401
    assert "ended" in refused.json()["error"]["message"]
    assert desk.get(LINKS).json()["links"][0]["state"] == "ended"


def test_cookie_lives_no_longer_than_the_link(world, desk):
    link = make(desk, days=2)
    answer = world.page().sign_in(key_of(link))
    age = int(answer.headers["set-cookie"].split("Max-Age=")[1].split(";")[0])
    # Tolerance: the seconds that a slow machine takes between making and opening.
    assert 2 * 86400 - 600 < age <= 2 * 86400


def test_taken_back_it_ends_at_once(world, desk):
    link, other = make(desk), make(desk, "The painter")
    page, stays = opened(world, link), opened(world, other)
    assert desk.delete(f"{LINKS}/{link['id']}").status_code == 200
    gone = page.get("/api/houses/shed/geometry")
    assert (gone.status_code, gone.json()["error"]["kind"]) == (403, "revoked")
    assert world.page().sign_in(key_of(link)).status_code == 401
    assert stays.get("/api/houses/shed/geometry").status_code == 200
    assert [one["state"] for one in desk.get(LINKS).json()["links"]] == ["taken back", "open"]
    assert desk.delete(f"{LINKS}/{link['id']}").status_code == 404


def test_events_of_long_work_end_with_the_session(world, desk, monkeypatch):
    """Who watches when the link is taken back sees nothing more, though the work goes on."""
    link = make(desk)
    page = opened(world, link)
    job = desk.post("/api/houses/shed/plan", json={}).json()
    world.finish(desk, job)
    monkeypatch.setattr("hullwright.web.routes.work.OPEN", {"done"})  # the work never ends for who watches
    real, looks = work._still_in, []

    def taken_back_after_the_first(request, here):
        looks.append(1)
        if len(looks) == 2:  # the first line has been sent
            assert desk.delete(f"{LINKS}/{link['id']}").status_code == 200
        return real(request, here)

    monkeypatch.setattr(work, "_still_in", taken_back_after_the_first)
    with page.stream("GET", f"/api/houses/shed/jobs/{job['id']}/events") as events:
        lines = [line for line in events.iter_lines() if line.startswith("data: ")]
    assert len(lines) == 1
    assert len(looks) == 2
    assert page.get(f"/api/houses/shed/jobs/{job['id']}").status_code == 403


@pytest.mark.parametrize("days", [0, -1, MOST_LINK_DAYS + 1, 2**70, 1.5, "7", True, None])
def test_a_life_that_is_not_allowed_is_refused_not_bent(desk, days):
    assert desk.post(LINKS, json={"name": "x", "days": days}).status_code == 422
    assert desk.get(LINKS).json()["links"] == []


def test_its_life_is_as_asked_else_seven_days(world, desk):
    now = datetime(2026, 5, 3, 10, tzinfo=UTC)
    at(world, now)
    assert datetime.fromisoformat(make(desk)["ends_at"]) == now + timedelta(days=LINK_DAYS)
    assert datetime.fromisoformat(make(desk, days=90)["ends_at"]) == now + timedelta(days=90)
    assert LINK_DAYS == 7


@pytest.mark.parametrize("name", ["", "   ", "a\u0007b", "x" * 101, "line\nline", 5])
def test_a_name_that_can_not_be_shown_is_refused(desk, name):
    assert desk.post(LINKS, json={"name": name}).status_code == 422


def test_a_link_of_another_house_can_not_be_seen_or_taken_back(world, desk):
    link = make(desk, house="other")
    lead = world.invited(desk, "lead", houses=("shed",))
    assert lead.get(LINKS).json()["links"] == []
    assert lead.get("/api/houses/other/links").status_code == 404
    assert lead.delete(f"{LINKS}/{link['id']}").status_code == 404
    assert lead.delete(f"/api/houses/other/links/{link['id']}").status_code == 404
    assert opened(world, link).get("/api/houses/other").status_code == 200


def test_keys_are_not_to_be_guessed(world, desk):
    link = make(desk)
    for _ in range(10):
        assert world.page().sign_in(str(uuid.uuid4())).status_code == 401
    late = world.page().sign_in(key_of(link))
    assert late.status_code == 429


def test_an_ended_key_counts_as_a_guess(world, desk):
    link = make(desk)
    desk.delete(f"{LINKS}/{link['id']}")
    for _ in range(10):
        assert world.page().sign_in(key_of(link)).status_code == 401
    assert world.page().sign_in(key_of(link)).status_code == 429


def test_those_who_came_by_a_link_stand_apart_from_the_people(world, desk):
    opened(world, make(desk))
    assert "link" not in desk.get("/api/people").text
    assert [device["person"] for device in desk.get("/api/devices").json()["devices"]] == ["desk"]


def test_it_is_written_down_who_made_opened_and_took_it_back(world, desk):
    link = make(desk)
    opened(world, link)
    desk.delete(f"{LINKS}/{link['id']}")
    world.page().sign_in(key_of(link))
    lines = [line for line in desk.get("/api/audit").json()["lines"] if line["house"] == "shed"]
    told = [(line["action"], line["person"]) for line in lines]
    assert told == [
        ("refuse link", "link: The owner"),
        ("take link back", "desk"),
        ("open link", "link: The owner"),
        ("make link", "desk"),
    ]


def test_who_is_in_that_house_anyway_stays_who_they_are(world, desk):
    link = make(desk)
    crew = world.invited(desk, "crew")
    before = crew.who
    assert crew.sign_in(key_of(link)).json()["role"] == "crew"
    assert crew.who["device"] == before["device"]
    assert desk.get(LINKS).json()["links"][0]["uses"] == 0


def test_a_person_of_another_house_does_not_lose_their_session_to_a_link(world, desk):
    link = make(desk)
    crew = world.invited(desk, "crew", houses=("other",))
    refused = crew.sign_in(key_of(link))
    assert refused.status_code == 403
    assert "private window" in refused.json()["error"]["message"]
    assert crew.get("/api/houses/other").status_code == 200


def test_another_link_in_the_same_browser_takes_the_place_of_the_first(world, desk):
    page = opened(world, make(desk))
    other = make(desk, house="other")
    assert page.sign_in(key_of(other)).json()["houses"] == ["other"]
    assert page.get("/api/houses/shed").status_code == 404


def test_a_link_outlives_a_restart(world, desk):
    link = make(desk)
    again = type(world)(world.folder.parent)
    page = opened(again, link)
    assert page.get("/api/houses/shed").status_code == 200
    again.close()


def test_a_key_taken_for_the_hash_opens_nothing(world, desk):
    link = make(desk)
    assert world.page().sign_in(digest(key_of(link))).status_code == 401


def test_an_older_file_of_people_gets_the_shelves_of_links(tmp_path):
    """What an older program kept is still there, and links can be added."""
    file = tmp_path / "access.sqlite3"
    with Store(file, SCHEMA[:2]) as older:
        older.connection.execute(
            "INSERT INTO person (id, name, role, made_at) VALUES ('p', 'Ines', 'crew', '2026-05-03T10:00:00+00:00')"
        )
    store = AccessStore(file)
    link = LinkRow(
        "l", "g", "shed", "n", "desk", "2026-05-03T10:00:00+00:00", "2026-05-10T10:00:00+00:00", ""
    )
    store.add_link(link, "key", "guest", "link: n")
    assert [name for _, name, _, _ in store.people()] == ["Ines"]
    assert store.find_link("key") == link
    assert store.find_link("other") is None
    (saved,) = tmp_path.glob("access.before-upgrade-*.sqlite3")
    before = sqlite3.connect(saved)
    assert before.execute("PRAGMA user_version").fetchone() == (2,)
    assert before.execute("SELECT name FROM person").fetchall() == [("Ines",)]
    before.close()


def test_opening_and_taking_back_at_one_time_leaves_no_session_behind(world, desk):
    """Whichever comes first: once it was taken back, nobody who came by it reads."""
    for _ in range(5):
        link, page, start = make(desk), world.page(), threading.Barrier(2)

        def open_it(page=page, link=link, start=start):
            start.wait()
            page.sign_in(key_of(link))

        thread = threading.Thread(target=open_it)
        thread.start()
        start.wait()
        assert desk.delete(f"{LINKS}/{link['id']}").status_code == 200
        thread.join()
        assert page.get("/api/houses/shed").status_code in {401, 403}


def test_what_is_kept_holds_to_the_rules_of_the_file(world, desk):
    make(desk)
    file = sqlite3.connect(world.data / "access.sqlite3")
    (kept,) = file.execute("SELECT key_digest FROM shared_link").fetchone()
    assert len(kept) == 64
    with pytest.raises(sqlite3.IntegrityError):
        file.execute("UPDATE shared_link SET key_digest = 'plain'")
    file.close()


def test_access_asks_for_a_lead(world, desk):
    link = opened(world, make(desk))
    visitor = world.service.access.visitor(link.cookies["hullwright_session"])
    assert isinstance(world.service.access, Access)
    assert visitor.ends_at
    assert json.loads(link.get("/api/session").text)["ends_at"] == visitor.ends_at
    assert desk.get("/api/session").json()["ends_at"] == ""


def test_tags_of_the_walls_carry_no_key(world, desk):
    rows = desk.get("/api/houses/shed/tags").json()["tags"]
    faces = {face["id"] for face in desk.get("/api/houses/shed/check").json()["faces"]}
    assert {row["face"] for row in rows} == faces
    south = next(row for row in rows if row["face"] == "main/south")
    assert south["address"] == "http://localhost:8765/#tag=shed/main/south"
    assert south["svg"].startswith("<svg")
    assert world.page().get("/api/houses/shed/tags").status_code == 401
