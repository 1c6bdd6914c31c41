"""What the service answers at once to a gauge reading: the table of cases that the page is held to as well."""

import json
import uuid
from datetime import UTC, datetime
from pathlib import Path

import pytest

from hullwright.app.gauge_says import said_of
from hullwright.app.log import Log
from hullwright.app.sending import Sender, send
from hullwright.catalog import load
from hullwright.catalog.loading import Nothing
from hullwright.proof.entries import Entry, Spot, Stamp
from hullwright.proof.gauge_verdict import SAYS, Verdict

CASES = json.loads((Path(__file__).parents[1] / "cases" / "gauge_verdicts.json").read_text("utf-8"))["cases"]
NOON = datetime(2026, 5, 3, 12, tzinfo=UTC)


def sheets(least_um):
    """A liquid of solids only, so that wet is dry."""
    sheet = {
        "id": "own", "form": "liquid", "price": 20.0, "pack": "5 gal", "width": "2 in", "least": f"{least_um!r} um", "solids": 1.0,
    }  # fmt: skip
    return load(Nothing(products=(sheet,)))


def reading(case, **change):
    wet, dry = case["last_wet_um"], case["next_dry_um"]
    notches = [wet / 2, wet] if dry is None else [dry, 2 * dry] if wet is None else [wet, dry]
    what = {
        "method": "liquid", "crew": "A", "surface": "wood panel", "product": "own", "notches_um": notches,
        "last_wet_um": wet, "next_dry_um": dry,
    } | change  # fmt: skip
    what = {key: value for key, value in what.items() if value is not None}
    return Entry(
        str(uuid.uuid4()), "gauge reading", Stamp("Ines", "p1", NOON, 1), Spot(face="main/south"), what, ""
    )


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["why"])
def test_a_receipt_carries_the_verdict_of_the_table(case, tmp_path):
    # Source: tests/cases/gauge_verdicts.json, expected by the rule alone. Tolerance: none.
    one, catalog = reading(case), sheets(case["least_wet_um"])
    log = Log("h", tmp_path / "log.sqlite3")
    receipts, _ = send(
        log, [(one.id, json.dumps(one.to_json()))], Sender("crew", "Ines", "p1"), sheets=lambda: catalog
    )
    answer = receipts[0].to_json()
    assert answer["status"] == "stored"
    assert answer["gauge"]["verdict"] == case["verdict"]
    assert answer["gauge"]["words"] == SAYS[Verdict(case["verdict"])]
    assert answer["gauge"]["least_wet_um"] == pytest.approx(case["least_wet_um"], rel=1e-12)
    assert answer["gauge"]["aim_wet_um"] > case["least_wet_um"]


def test_what_no_sheet_knows_and_what_is_no_reading_gets_no_verdict():
    case, catalog = CASES[0], sheets(300.0)
    assert said_of(reading(case), catalog) is not None
    assert said_of(reading(case), None) is None
    for product in ("nobody's", "acrylic-seam-tape", None):
        assert said_of(reading(case, product=product), catalog) is None
    remark = Entry(str(uuid.uuid4()), "remark", Stamp("Ines", "p1", NOON, 1), Spot(), {"text": "dry"}, "")
    assert said_of(remark, catalog) is None
