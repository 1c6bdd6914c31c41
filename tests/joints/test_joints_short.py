"""Short names: for people, stable, never ambiguous."""

from __future__ import annotations

from pathlib import Path

import pytest

from hullwright.app.house import load
from hullwright.app.spots import spot_of
from hullwright.errors import InputError
from hullwright.joints.model import JointKind
from hullwright.joints.short import find, one, short

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda path: path.stem)
def test_short_names_are_shorter_and_each_means_one(file):
    found = load(str(file)).joints
    for ids in ([joint.id for joint in found.joints], [run.id for run in found.runs]):
        shorts = [short(name) for name in ids]
        assert len(set(shorts)) == len(ids)
        assert all(len(less) <= len(name) for less, name in zip(shorts, ids, strict=True))
        # Source: estimate: what fits beside four other columns of a terminal of 120.
        assert sum(map(len, shorts)) < 0.9 * sum(map(len, ids))
        assert all(find(less, ids) == [name] for less, name in zip(shorts, ids, strict=True))


def test_every_kind_has_a_name_of_its_own():
    names = [short(f"main/south:{kind.value}") for kind in JointKind]
    assert len(set(names)) == len(JointKind)


def test_a_name_depends_on_the_id_alone():
    assert short("main/north:panel seam, upright:2.44 0.00") == "main/north:upright seam:2.44 0.00"
    assert short("my sill to foundation:opening sill") == "my sill to foundation:sill"


IDS = ["main/north:eave", "main/north:opening head", "main/north:opening head 2", "main/south:opening head"]


def test_full_short_and_beginning():
    assert one("main/north:opening head", IDS) == "main/north:opening head"
    assert one("main/north:head", IDS) == "main/north:opening head"
    assert one("main/north:head 2", IDS) == "main/north:opening head 2"
    assert one("main/s", IDS) == "main/south:opening head"


def test_where_several_may_be_meant_all_are_told():
    with pytest.raises(InputError) as caught:
        one("main/north", IDS)
    (problem,) = caught.value.problems
    assert "3 joints may be meant" in problem.message
    assert problem.allowed == "; ".join(IDS[:3])
    with pytest.raises(InputError, match="no such joint") as caught:
        one("north:head", IDS)
    assert caught.value.problems[0].allowed == "main/north:opening head; main/north:opening head 2"


def test_two_ids_of_one_short_name_are_told_apart():
    """A user may call things so that short names meet: then the full ids are asked for."""
    ids = ["a:opening head", "a:head"]
    assert one("a:head", ids) == "a:head"
    with pytest.raises(InputError, match="which joint"):
        one("a:h", ids)


def test_a_place_in_the_log_takes_the_short_name():
    house = load(str(next(file for file in EXAMPLES if "studio" in file.stem)))
    joint = next(j for j in house.joints.joints if j.kind is JointKind.SILL)
    assert spot_of(house, joint=short(joint.id)).joint == joint.id
    with pytest.raises(InputError, match="which joint is meant"):
        spot_of(house, joint="studio/")
