"""The jobs as functions of the package, with the names of the commands."""

import subprocess
import sys

import jsonschema
import pytest

import hullwright
import hullwright.joints as room
from hullwright.app import schemas
from hullwright.app.files import demo_file
from hullwright.joints.model import JointKind

STUDIO = demo_file().with_name("kiln-studio.yaml")


@pytest.mark.parametrize("name", ["check", "joints", "plan", "order", "curve", "leaks"])
def test_a_job_gives_an_object_whose_json_keeps_to_the_schema(name):
    answer = getattr(hullwright, name)(STUDIO)
    jsonschema.validate(answer.to_json(), schemas.schema(name))


def test_a_room_that_is_a_job_is_still_a_room():
    assert room.find
    assert hullwright.joints is room
    assert JointKind.SILL.value == "sill to foundation"


def test_plan_takes_a_budget_and_its_order_follows():
    planned = hullwright.plan(STUDIO, quick=True)
    more = hullwright.plan(STUDIO, budget=planned.plan.spent + 500, quick=True)
    assert more.plan.spent <= planned.plan.spent + 500
    assert {line["product"] for line in hullwright.order(more).to_json()["lines"]} == {
        p.product for p in more.plan.packs
    }


def test_nothing_heavy_is_imported_with_the_package():
    code = "import sys, hullwright; print(sorted({'numpy','scipy','manifold3d','yaml'} & set(sys.modules)))"
    assert (
        subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True
        ).stdout.strip()
        == "[]"
    )


def test_unknown_names_are_errors():
    with pytest.raises(AttributeError, match="nosuch"):
        _ = hullwright.nosuch
