"""Whatever stands in a log, nothing that is worked out from it ends in a traceback or in no number, on one drawing and after a revision."""

import json
import random
import uuid
from datetime import UTC, datetime
from pathlib import Path

import pytest

from hullwright.app import proof
from hullwright.app.film_lots import film_lots
from hullwright.app.house import load
from hullwright.app.issue import issue, paper
from hullwright.app.learn import experience, rates, use
from hullwright.app.log import export_log, list_log
from hullwright.app.sending import Sender, say_taken, send
from hullwright.app.sofar import so_far
from hullwright.app.spots import log_of
from hullwright.proof.kinds import KINDS

STUDIO = Path(__file__).parents[2] / "examples" / "kiln-studio.yaml"
FACE = "studio/south"
NOON = datetime(2026, 5, 3, 12, tzinfo=UTC)
LEAD = Sender("lead", None, None)
SCALARS = (None, True, 0, -1, 3, 0.5, 1e308, -1e308, 5e-324, 10**400, "", "nan", "1e999", "liquid", "tape", "silyl-flashing-20", [], [1e308], ["x"], {"a": 1})  # fmt: skip
HONEST = {"method": "liquid", "crew": "A", "surface": "x", "product": "silyl-flashing-20", "seen_by": "ana", "sound": True, "tried": 3, "failed": 0,
          "held": True, "notches_um": [200, 300, 400], "last_wet_um": 300, "next_dry_um": 400, "packs": 1, "hours": 2, "quantity": 10, "flaws": 0,
          "passed": True, "dry": True, "leaked": False, "count": 1, "text": "x", "made_by": "y", "reason": "z", "perimeter": 9, "over_1_16": 1, "over_1_8": 0}  # fmt: skip


def bodies(house, seed, count=120):
    """Bodies as a device could send them: of every kind, some figures honest and some not, anywhere on the house or nowhere."""
    luck = random.Random(seed)
    joints = [joint.id for joint in house.joints.joints]
    out = []
    for number in range(1, count + 1):
        kind = luck.choice([*KINDS, "done", "gauge reading", "used", "hours", "looked", "unknown"])
        what = {}
        for field in KINDS.get(kind, ()):
            if luck.random() < 0.8 or field.required:
                honest = HONEST.get(field.name)
                what[field.name] = (
                    honest if honest is not None and luck.random() < 0.7 else luck.choice(SCALARS)
                )
        name = str(uuid.UUID(int=luck.getrandbits(128), version=4))
        body = {"id": name, "kind": kind, "author": "Ines", "device": "p1", "device_time": NOON.isoformat(), "device_sequence": number, "what": what}  # fmt: skip
        place = luck.choice([{}, {"face": FACE}, {"joint": luck.choice(joints)}, {"joint": "nosuch"}, {"mark": "W1"}, {"run": "nosuch"}])  # fmt: skip
        out.append((name, json.dumps(body | place)))
    return out


def look(site, log, tmp_path, name):
    """Everything that is worked out from a log."""
    house = load(site)
    answers = [
        proof.states(log, house), proof.ready(log, house, FACE), proof.tape(log, house), proof.holes(log), film_lots(site), use(log, site),
        rates(log, site), experience(log, site), list_log(log, history=True), export_log(log, str(tmp_path / f"{name}.csv")),
        *(so_far(log, house, joint.id) for joint in house.joints.joints[:12]),
    ]  # fmt: skip
    for answer in answers:
        json.dumps(answer.to_json(), allow_nan=False)
    ready = answers[1]
    assert sum(ready.states.values()) == ready.joints


@pytest.mark.parametrize("seed", range(3))
def test_nothing_that_is_stored_breaks_what_is_worked_out(seed, tmp_path, monkeypatch):
    monkeypatch.setenv("HULLWRIGHT_DATA", str(tmp_path / "data"))
    site = tmp_path / "studio.yaml"
    site.write_text(STUDIO.read_text("utf-8"), "utf-8")
    log = log_of(str(site))
    issue(log, paper(str(site)), author="lead")
    house = load(str(site))
    sent = bodies(house, seed)
    receipts, _ = send(log, sent, LEAD)
    assert sum(receipt.status == "stored" for receipt in receipts) > 60
    say_taken(log, house, sent, receipts)
    look(str(site), log, tmp_path, "before")
    moved = site.read_text("utf-8").replace("sill: 0.30, at: 3.3", "sill: 0.30, at: 4.3")
    site.write_text(moved, "utf-8")
    assert issue(log, paper(str(site)), author="lead").issued.number == 2
    look(str(site), log, tmp_path, "after")
