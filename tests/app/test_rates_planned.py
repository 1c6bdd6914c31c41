"""What `rates` shows as assumed is what the plan counts with, for each method on each kind of joint in its table."""

from __future__ import annotations

import pytest

from hullwright import choice
from hullwright.app import log, record_jobs
from hullwright.app.files import demo_file
from hullwright.app.house import load
from hullwright.app.learn import rates
from hullwright.catalog import load as catalog_of
from hullwright.choice import using
from hullwright.choice.options import practised
from hullwright.choice.terms import row_of, surface
from hullwright.cli.main import main
from hullwright.joints.model import JointKind
from hullwright.proof.entries import Spot

HOUSES = ["kiln-studio", "saltgrass-house", "six-flats"]


def table_of(house):
    """Flaws and hours a unit by method and kind, read off the plan's own table: surface, height and preparation taken out."""
    question = choice.ask(house.building, house.hull, house.joints, settings=choice.Settings(engine="own"))
    table, catalog = question.choice, question.catalog
    flaws, hours = {}, {}
    for row, option in enumerate(table.options):
        run = table.runs[int(table.run_of[row])]
        spot = table.spots[int(table.run_of[row])]
        if option.method in {"unsealed", "cut_tails"} or option.blocking:
            continue
        key = option.method, run.kind.value
        backed = row_of(spot, catalog) == catalog.kinds[run.kind.value].row
        if backed or option.method == "coat":
            found = table.terms.flaws[row] / surface(spot, option, catalog)
            flaws.setdefault(key, []).append(float(found))
        if option.method != "coat" and not (option.primer or option.filler or option.cleaning):
            each = table.instance.hours[row] / run.quantity / using.access(run.height, catalog)
            hours.setdefault(key, []).append(float(each))
    return flaws, hours


@pytest.mark.parametrize("name", HOUSES)
def test_assumed_is_what_the_plan_counts_with(name, tmp_path):
    house = load(demo_file().with_name(f"{name}.yaml"))
    flaws, hours = table_of(house)
    assert len(flaws) > 15
    site = log.open_log(house.building.name, str(tmp_path / "log.sqlite3"))
    joints = {joint.kind.value: joint for joint in house.joints.joints}
    for method, kind in flaws:
        piece = joints[kind].kind.piece
        what = {"method": method, "crew": "B", "quantity": 10.0, "flaws": 0}
        add(site, "looked", what | ({"pieces": True} if piece else {}), joints[kind])
    for method, kind in hours:
        add(site, "hours", {"method": method, "crew": "B", "hours": 1.0, "quantity": 10.0}, joints[kind])
    told = rates(site, house.building)
    seen = {(rate.group.method, rate.group.kind): rate for rate in told.flaws}
    assert seen.keys() == flaws.keys()
    for key, found in flaws.items():
        # Source: the plan's own table of options, divided by the factors that are not of method and kind.
        # Tolerance: 1e-9, rounding.
        assert found == pytest.approx([found[0]] * len(found), rel=1e-9), key
        assert seen[key].planned == pytest.approx(found[0], rel=1e-9), key
        if not joints[key[1]].kind.piece or found[0] < 1:
            assert seen[key].prior.mean == pytest.approx(found[0], rel=1e-9), key
    worked = {(rate.group.method, rate.group.kind): rate for rate in told.hours}
    assert worked.keys() == hours.keys()
    for key, found in hours.items():
        # Tolerance: hours of the table stand on a grid of 1e-9 h.
        assert found == pytest.approx([found[0]] * len(found), rel=1e-6), key
        assert worked[key].planned == pytest.approx(found[0], rel=1e-6), key


def add(site, kind, what, joint):
    spot = Spot(joint.id, joint.kind.value, joint.faces[0], tuple(map(float, joint.points[0])))
    return log.add(site, kind, what, author="lead", spot=spot).entry


def test_table_and_json_show_the_plan_s_figure(tmp_path, capsys):
    """# Source: by hand. Tape on a sill: 0.015 flaws a meter on a flat seam × the place's factor; by an unpractised crew more."""
    house = load(demo_file())
    catalog = catalog_of(house.building)
    kind = JointKind.SILL.value
    place = catalog.value(f"place.tape.{catalog.kinds[kind].row}")
    assert place != 1.0, "else the old slip is not met"
    factor = 1.0 if practised("tape", house.building.crew.practised) else catalog.value("factor.unpractised")
    file, data = str(demo_file()), str(tmp_path / "log.sqlite3")
    site = record_jobs.log(file, data)
    joint = next(j for j in house.joints.joints if j.kind.value == kind)
    add(site, "looked", {"method": "tape", "crew": "B", "quantity": 10.0, "flaws": 0}, joint)
    (one,) = rates(site, house.building).to_json()["flaws"]
    assert one["planned"] == pytest.approx(100 * 0.015 * place * factor, rel=1e-12)
    assert one["prior"]["value"] == pytest.approx(one["planned"], rel=1e-12)
    assert main(["rates", file, "--data", data]) == 0
    shown = capsys.readouterr().out
    assert f"{30.48 * 0.015 * place * factor:.2g}" in shown
