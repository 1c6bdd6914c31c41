"""Names, pages, tokens, sizes, guesses: what is turned away before any work is done."""

import json

import pytest

from hullwright.app.access import Access
from hullwright.app.guesses import MOST, WINDOW, Guesses
from hullwright.app.refusals import TooManyError


def error(answer, status, kind):
    assert answer.status_code == status, answer.text
    body = answer.json()
    assert set(body) == {"schema", "error", "cautions"}
    assert set(body["error"]) == {"kind", "message", "problems"}
    assert body["error"]["kind"] == kind
    return body["error"]


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8765", "localhost:80", "localhost", "localhost.evil.example:8765", "", "127.0.0.1:8765@evil"]
)  # fmt: skip
def test_foreign_host_is_refused(old_desk, host):
    error(old_desk.get("/api/houses", headers={"host": host}), 421, "misdirected")
    error(old_desk.get("/", headers={"host": host}), 421, "misdirected")


@pytest.mark.parametrize("host", ["localhost:8765", "127.0.0.1:8765", "[::1]:8765", "LOCALHOST:8765"])
def test_own_names_are_answered(old_desk, host):
    # By its own name, but the cookie belongs to localhost: no session there.
    assert old_desk.get("/api/openapi.json", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin", ["https://evil.example", "null", "http://localhost:80", "http://localhost:8765.evil.example"]
)
def test_foreign_page_may_not_write(old_desk, origin):
    error(old_desk.post("/api/fantest", json={}, headers={"origin": origin}), 403, "forbidden")
    assert (
        old_desk.post("/api/fantest", json={}, headers={"origin": "http://localhost:8765"}).status_code == 422
    )


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_browser_that_says_cross_site_may_not_write(old_desk, site):
    error(old_desk.post("/api/fantest", json={}, headers={"sec-fetch-site": site}), 403, "forbidden")


@pytest.mark.parametrize("token", ["", "wrong", "é", "0" * 64])
def test_write_without_its_token_is_refused(old_desk, token):
    headers = {"X-Hullwright-Token": token.encode("utf-8")}
    error(old_desk.post("/api/fantest", json={}, headers=headers), 403, "forbidden")


def test_token_of_another_session_does_not_write(old_world, old_desk):
    other = old_world.desk()
    headers = {"X-Hullwright-Token": other.who["token"]}
    error(old_desk.post("/api/fantest", json={}, headers=headers), 403, "forbidden")


def test_cookie_is_out_of_reach_of_scripts_and_other_sites(old_world):
    answer = old_world.page().sign_in("the key of the desk")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "path=/" in cookie
    token = cookie.split("=")[1].split(";")[0]
    assert token not in answer.text.lower()


def test_keys_are_kept_as_hashes_only(old_world):
    page = old_world.page()
    page.sign_in("the key of the desk")
    kept = b"".join(path.read_bytes() for path in old_world.data.rglob("*") if path.is_file())
    assert page.cookies["hullwright_session"].encode() not in kept
    assert b"the key of the desk" not in kept
    assert (old_world.data / "access.sqlite3").stat().st_mode & 0o077 == 0


def test_every_answer_carries_the_browser_rules(old_desk):
    for path in ("/", "/api/houses", "/api/nothing", "/nothing"):
        headers = old_desk.get(path).headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert "frame-ancestors 'none'" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
    assert old_desk.get("/api/houses").headers["cache-control"] == "no-store"


def test_too_many_bytes_are_refused_with_and_without_a_stated_length(old_desk):
    body = b" " * 1_000_001
    error(old_desk.post("/api/session", content=body), 413, "too_large")
    chunks = (b" " * 100_000 for _ in range(11))
    error(old_desk.post("/api/session", content=chunks), 413, "too_large")
    error(old_desk.post("/api/session", headers={"content-length": "x"}), 400, "request")


HOSTILE = [
    b"", b"{", b"[]", b"null", b'"x"', b"{}", b"\xff\xfe", b'{"key": 1}', b'{"key": null}', b'{"key": "k", "more": 1}', b'{"key": NaN}',
    b"[" * 100_000, b'{"key": "' + b"\\u0000" * 10 + b'"}', b'{"key": "\\ud800"}', b"<svg onload=alert(1)>", b"PK\x03\x04", b'{"key": {"$ne": 1}}',
]  # fmt: skip


@pytest.mark.parametrize("body", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_bodies_are_refused_and_nothing_breaks(old_world, body):
    answer = old_world.page().post("/api/session", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in {400, 401, 422}, answer.text
    assert set(answer.json()["error"]) == {"kind", "message", "problems"}
    old_world.service.guesses.__init__()


@pytest.mark.parametrize(
    "sort", ["text/plain", "application/xml", "image/svg+xml", "multipart/form-data; boundary=x"]
)
def test_body_of_another_type_is_refused(old_desk, sort):
    answer = old_desk.post("/api/fantest", content=json.dumps({"text": "x"}), headers={"content-type": sort})
    assert answer.status_code == 422


def test_wrong_method_and_unknown_address(old_desk):
    error(old_desk.delete("/api/houses"), 405, "method")
    error(old_desk.get("/api/nothing"), 404, "unknown")
    error(old_desk.get("/nothing"), 404, "unknown")


def test_guessing_keys_is_stopped_and_then_the_right_one_waits_too(world):
    page = world.page()
    for _ in range(MOST):
        error(page.sign_in("wrong"), 401, "not_signed_in")
    answer = page.sign_in("the key of the desk")
    error(answer, 429, "too_many")
    assert 0 < int(answer.headers["retry-after"]) <= WINDOW


def test_guesses_are_forgiven_after_their_window_and_counted_by_address():
    now = [0.0]
    guesses = Guesses(lambda: now[0])
    for _ in range(MOST):
        guesses.wrong("a")
    guesses.check("b")
    with pytest.raises(TooManyError):
        guesses.check("a")
    now[0] = WINDOW + 1
    guesses.check("a")


def test_memory_of_guesses_is_bounded():
    guesses = Guesses(lambda: 0.0)
    for number in range(12_000):
        guesses.wrong(str(number))
    assert len(guesses._wrong) <= 10_000


def test_unforeseen_error_says_nothing_of_the_inside(old_world, old_desk, monkeypatch, caplog):
    def broken(*_):
        raise RuntimeError("secret of the inside")

    monkeypatch.setattr(Access, "people", broken)
    answer = old_desk.get("/api/people")
    assert error(answer, 500, "error")
    assert "secret" not in answer.text
    assert "secret" in caplog.text
