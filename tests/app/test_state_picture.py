"""The house by state: entries of every state, drawn each in its own pattern, weight and ink; counted; read in grey."""

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from hullwright.app import log, proof
from hullwright.app.house import load
from hullwright.app.site import site_house
from hullwright.app.state_picture import state_picture
from hullwright.cli.main import main
from hullwright.proof.entries import Spot
from hullwright.proof.states import State
from hullwright.report.states import LOOKS

STUDIO = str(Path(__file__).parents[2] / "examples" / "kiln-studio.yaml")
SVG = "{http://www.w3.org/2000/svg}"
DONE = {"method": "boot", "crew": "B", "surface": "any"}


@pytest.fixture(scope="module")
def house():
    return load(STUDIO)


def add(site, kind, what, joint=None, face=""):
    spot = Spot(face=face)
    if joint is not None:
        spot = Spot(joint.id, joint.kind.value, joint.faces[0], tuple(map(float, joint.points[0])))
    return log.add(site, kind, what, author="lead", spot=spot).entry


def of_every_state(site, house):
    """One face is covered, with a hole in it; of another face one joint each is prepared, sealed and proved."""
    joints = {joint.id: joint for joint in house.joints.joints}
    south = [joints[one.id] for one in site_house(house).on_face("studio/south")]
    north = [
        joints[one.id]
        for one in site_house(house).on_face("studio/north")
        if one.id not in {j.id for j in south}
        and joints[one.id].length
        and joints[one.id].stage == "sheathing"
    ]
    for face in ("studio/south", "studio/north"):
        add(site, "nailing", {"passed": True}, face=face)
    for joint in (*south, *north[:3]):
        add(site, "prepared", {}, joint)
    for joint in (*south, *north[1:3]):
        add(site, "done", DONE, joint)
    for joint in (*south, north[2]):
        add(site, "seen", {"seen_by": "lead", "sound": True}, joint)
    named = [one.id for one in proof.ready(site, house, "studio/south").blockers]
    signed = proof.ok_to_cover(site, house, "studio/south", signed_by="lead", exceptions=named).entry
    add(site, "covered", {"ok": signed.id}, face="studio/south")
    add(site, "hole", {"text": "bracket", "made_by": "siding crew"}, south[0])
    wanted = {
        joint.id: "covered" if joint.stage in {"sheathing", "openings"} else "not yet due"
        for joint in south[1:]
    }
    return wanted | {
        south[0].id: "punctured",
        north[0].id: "prepared",
        north[1].id: "sealed",
        north[2].id: "proved",
    }


@pytest.fixture
def site(tmp_path):
    return log.open_log("kiln-studio", str(tmp_path / "store.sqlite3"))


@pytest.fixture
def drawn(site, house):
    wanted = of_every_state(site, house)
    found = proof.states(site, house)
    return wanted, found, state_picture(house, found)


def classes(picture):
    """State of every drawn joint by its tooltip."""
    out = {}
    for element in ET.fromstring(picture).iter():
        told = element.find(f"{SVG}title")
        if told is not None and (element.get("class") or "").startswith("s-"):
            out.setdefault(element.get("class").split()[0][2:].replace("_", " "), []).append(told.text)
    return out


def test_each_joint_is_drawn_once_in_its_state(drawn, house):
    wanted, found, picture = drawn
    states = {one.joint: one.state.value for one in found.joints}
    assert {joint: states[joint] for joint in wanted} == wanted
    by_state = classes(picture)
    assert {state: len(titles) for state, titles in by_state.items()} == {
        state: list(states.values()).count(state) for state in LOOKS
    }
    assert all(title.endswith(f": {state}") for state, titles in by_state.items() for title in titles)


def test_a_hole_is_ringed(drawn):
    _, _, picture = drawn
    rings = [one for one in ET.fromstring(picture).iter(f"{SVG}circle") if one.get("class") == "ring"]
    assert len(rings) == 1


def test_legend_counts_each_state(drawn):
    _, found, picture = drawn
    counts = found.to_json()["counts"]
    words = [element.text for element in ET.fromstring(picture).iter(f"{SVG}text")]
    for state in LOOKS:
        assert any(text.startswith(f"{state}: {counts.get(state, 0)} joint") for text in words if text), state


def test_every_state_has_a_look_of_its_own_that_grey_print_keeps():
    assert set(LOOKS) == {state.value for state in State}
    assert len({(look.dash, look.weight) for look in LOOKS.values()}) == len(LOOKS)
    order = ["bare", "prepared", "sealed", "proved", "covered"]
    weights = [LOOKS[state].weight for state in order]
    # The further a joint is, the heavier its line.
    assert weights == sorted(weights)


def test_page_and_paper_draw_states_alike():
    page = (Path(__file__).parents[2] / "web/src/lib/looks.ts").read_text("utf-8")
    for state, look in LOOKS.items():
        ink, dark, weight, dash, mark = re.search(
            rf"'?{state}'?: look\('(#\w+)', '(#\w+)', ([\d.]+), \[(.*?)\], '(\w+)'\)",
            page.split("STATE_LOOKS")[1],
        ).groups()
        drawn = (look.ink, look.ink_dark, look.weight, [float(part) for part in look.dash.split()], look.mark)
        assert drawn == (ink, dark, float(weight), [float(part) for part in dash.split(",") if part], mark)


def test_command_writes_the_picture(site, house, tmp_path, capsys):
    of_every_state(site, house)
    out = tmp_path / "states.svg"
    assert main(["states", STUDIO, "--data", str(site.path), "--picture", str(out), "--json"]) == 0
    counts = json.loads(capsys.readouterr().out)["counts"]
    assert {state: len(titles) for state, titles in classes(out.read_text("utf-8")).items()} == counts
    assert (
        main(["states", STUDIO, "--data", str(site.path), "--picture", str(out)]) == 2
    )  # never over a file that is there
    assert "states.svg" in capsys.readouterr().err
