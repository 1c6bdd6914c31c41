"""A running service on a small invented house, and people who ask it."""

import json
import sys
import uuid
import warnings
from datetime import UTC, datetime
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

with warnings.catch_warnings():
    # The library behind this client asks for a newer one of its own; what it does is the same.
    warnings.simplefilter("ignore")
    from fastapi.testclient import TestClient

from hullwright.app import longwork
from hullwright.errors import InputError
from hullwright.web.api import create
from hullwright.web.service import make

BASE = "http://localhost:8765"
KEY = "the key of the desk"
SHED = """\
# An invented shed.
units: ft            # bare numbers are feet
name: Shed
currency: USD
barrier: {top: roof deck, bottom: slab}
masses:
  - name: main       # the only one
    size: [24, 16]
    storeys: [8 ft]
    roof: {form: gable, pitch: 6:12, ridge: east-west}
openings:
  - {mass: main, side: south, storey: 1, kind: window, size: [3, 4], head: 6'-8", at: 4}
penetrations:
  - {name: vent, mass: main, through: roof north, kind: pipe, diameter: 4, at: [[10, 4]]}
aim: {budget: 4000}
"""


SPARE = []


class Page(TestClient):
    """A browser with its session: sends the write token as the page does."""

    def sign_in(self, key, device="test"):
        answer = self.post("/api/session", json={"key": key, "device": device})
        if answer.status_code == 200:
            self.who = answer.json()
            self.headers["X-Hullwright-Token"] = self.who["token"]
        return answer

    def entry(self, kind, what, **more):
        """One entry as a device keeps it."""
        body = {
            "id": str(uuid.uuid4()),
            "kind": kind,
            "author": self.who["person"],
            "device": self.who["device"],
            "device_time": "2026-05-03T10:00:00+02:00",
            "device_sequence": 1,
            "what": what,
        } | more
        return {"id": body["id"], "body": json.dumps(body)}

    def send_entries(self, *entries, house="shed"):
        now = datetime.now(UTC).isoformat()
        return self.post(f"/api/houses/{house}/entries", json={"entries": entries, "device_now": now})


class World:
    """A service, its folder, and browsers to ask it."""

    def __init__(self, root, *, apart=False, folder=None, log=None):
        self.folder, self.data = folder or root / "houses", root / "data"
        self.folder.mkdir(exist_ok=True)
        self.file = self.folder / "shed.yaml"
        if not self.file.exists():
            self.file.write_text(SHED, encoding="utf-8")
            (self.folder / "other.yaml").write_text(SHED.replace("Shed", "Other"), encoding="utf-8")
        self.service = make(self.folder, log or str(self.data), 8765, KEY, apart=apart)
        # An application takes long to warm up and keeps nothing but its service: tests use them again.
        self.app = SPARE.pop() if SPARE else create(self.service)
        self.app.state.service = self.service

    def page(self):
        return Page(self.app, base_url=BASE, raise_server_exceptions=False)

    def desk(self):
        page = self.page()
        assert page.sign_in(KEY).status_code == 200
        return page

    def invited(self, desk, role, houses=("shed",), name=None, *, confirm=True):
        asked = desk.post(
            "/api/invitations", json={"name": name or role, "role": role, "houses": list(houses)}
        )
        assert asked.status_code == 201, asked.text
        page = self.page()
        assert page.sign_in(asked.json()["address"].split("#invitation=")[1]).status_code == 200
        if confirm:
            assert desk.post(f"/api/devices/{page.who['device']}/confirm").status_code == 200
        return page

    def finish(self, page, job, house="shed"):
        """Watch a job to its end by its events."""
        with page.stream("GET", f"/api/houses/{house}/jobs/{job['id']}/events") as events:
            lines = [json.loads(line[6:]) for line in events.iter_lines() if line.startswith("data: ")]
        return lines[-1]

    def close(self):
        self.service.close()
        if self.app is not None:
            SPARE.append(self.app)
        self.app = None


@pytest.fixture
def new_world():
    """Makes worlds, for those who need one of another kind."""
    return World


@pytest.fixture
def world(tmp_path):
    made = World(tmp_path)
    yield made
    made.close()


@pytest.fixture
def desk(world):
    return world.desk()


@pytest.fixture(scope="module")
def idle():
    """Long works that fail at once: for tests that only knock at doors."""

    def refused(*_, **__):
        raise InputError("nothing is worked out here")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(longwork, "run", refused)
        yield


@pytest.fixture(scope="module")
def old_world(tmp_path_factory):
    """One service for a whole file of tests that only look."""
    made = World(tmp_path_factory.mktemp("world"))
    yield made
    made.close()


@pytest.fixture(scope="module")
def old_desk(old_world):
    return old_world.desk()
