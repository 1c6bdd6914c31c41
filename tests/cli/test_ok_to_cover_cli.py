"""The seen case through the command line: signed, covered, then a window moved and another enlarged.

Before, *covered* was kept without a word, a vent never drilled was *proved*, and the hole where the window was stood nowhere.
"""

import json

import pytest
from PIL import Image

from hullwright.cli.main import main

HOUSE = """\
units: ft
name: Two Windows
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: main, size: [30, 20], storeys: [9], roof: {form: gable, pitch: 6:12, ridge: east-west}}
openings:
  - {mass: main, side: south, kind: window, size: [3, 4], sill: 3, at: 4}
  - {mass: main, side: south, kind: window, size: [3, 4], sill: 3, at: 14}
penetrations:
  - {name: vent, mass: main, through: south, kind: duct, diameter: 4, at: [[24, 7]]}
"""
FACE = "main/south"
WORK = ("method=boot", "crew=A", "surface=panel")


class Site:
    """A house whose south wall was worked on joint by joint, each in a way that proves it."""

    def __init__(self, capsys, path):
        self.capsys, self.path = capsys, path

    def ask(self, *words, code=0):
        found = main([*map(str, words), "--json"])
        out = self.capsys.readouterr().out
        assert found == code, out
        return json.loads(out)

    def say(self, *words):
        main([*map(str, words)])
        return self.capsys.readouterr().out

    def log(self, kind, *figures, joint="", face=""):
        place = (*(("--joint", joint) if joint else ()), *(("--face", face) if face else ()))
        return self.ask("log", "add", self.path, kind, *figures, *place)["entry"]

    def prove(self, joint, picture):
        self.log("prepared", joint=joint)
        self.log("done", *WORK, "substitute=yes", joint=joint)
        self.ask("log", "photo", self.path, picture, "--joint", joint)
        self.log("seen", "seen_by=ana", "sound=yes", joint=joint)

    def joints(self):
        return [
            j
            for j in self.ask("joints", self.path)["joints"]
            if FACE in j["faces"] and "fastener" not in j["kind"]
        ]

    def states(self):
        return self.ask("states", self.path)

    def state(self, joint):
        return next(one["state"] for one in self.states()["joints"] if one["joint"] == joint)

    def edit(self, *pairs):
        text = self.path.read_text()
        for old, new in pairs:
            assert old in text
            text = text.replace(old, new)
        self.path.write_text(text)


@pytest.fixture
def site(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("HULLWRIGHT_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("HULLWRIGHT_AUTHOR", "ana")
    path = tmp_path / "house.yaml"
    path.write_text(HOUSE)
    picture = tmp_path / "p.jpg"
    Image.new("RGB", (40, 30), "grey").save(picture)
    site = Site(capsys, path)
    site.picture = picture
    site.log("nailing", "passed=yes", face=FACE)
    return site


@pytest.fixture
def covered(site):
    """Everything but the vent is proved, signed and covered."""
    for joint in site.joints():
        if joint["kind"] != "box or duct":
            site.prove(joint["id"], site.picture)
    site.ask(
        "log", "photo", site.path, site.picture, "--face", FACE
    )  # one overview, as the plan of photos asks
    ready = site.ask("ready", site.path, FACE, code=1)
    left = [blocker["id"] for blocker in ready["blockers"]]
    assert all("later" in name for name in left), ready["blockers"]  # the vent is a later trade's
    words = [word for name in left for word in ("--except", name)]
    site.ok = site.ask("ok-to-cover", site.path, FACE, "--signed", "ana", *words)["entry"]
    site.log("covered", f"ok={site.ok['number']}", face=FACE)
    return site


MOVED = ("sill: 3, at: 4", "sill: 3, at: 7")
ENLARGED = ("size: [3, 4], sill: 3, at: 14", "size: [4, 4], sill: 3, at: 14")


def test_a_moved_and_an_enlarged_window_fall_out_of_the_ok_and_the_old_hole_is_a_patch(covered):
    before = covered.states()
    vent = next(j["id"] for j in covered.joints() if j["kind"] == "box or duct")
    hidden = {one["joint"] for one in before["joints"] if one["state"] == "covered"}
    assert hidden == {j["id"] for j in covered.joints()} - {vent}
    assert not before["opened_again"]
    covered.edit(MOVED, ENLARGED)
    assert (
        covered.states()["counts"] == before["counts"]
    )  # an edit that nobody issued changes nothing on the wall
    covered.ask("issue", covered.path, "--reason", "stove")
    after = covered.states()
    assert after["revision"] == 2
    assert after["covered_faces"] == [FACE]
    still = {one["joint"] for one in after["joints"] if one["state"] == "covered"}
    opened = {one["joint"]: one["why"] for one in after["opened_again"]}
    (patch,) = after["patches"]
    assert patch["face"] == FACE
    # Source: by hand. The hole ran from 4 to 7 ft, the new one from 7 to 10: all of the old one is left, 3 ft by 4 ft.
    xs, zs = ([point[i] / 0.3048 for point in patch["outline_m"]] for i in (0, 2))
    assert (max(xs) - min(xs), max(zs) - min(zs)) == (pytest.approx(3, abs=0.05), pytest.approx(4, abs=0.05))
    assert patch["joint"] in opened
    assert not still & set(opened)
    for (
        joint
    ) in covered.joints():  # jambs and corners of the moved window, the right side of the enlarged one
        if joint["id"] not in still and joint["id"] != vent:
            assert "revision 2" in opened[joint["id"]]
    assert sum(1 for name in opened if "opening" in name or "corner" in name or "/" in name) >= 10
    assert {one["state"] for one in after["joints"] if one["joint"] == vent} == {"not yet due"}
    assert vent not in opened
    assert "opened again" in covered.say("states", covered.path)
    assert f"patch {patch['joint']}" in covered.say("states", covered.path)


def test_a_supplement_is_signed_for_those_pieces_alone(covered):
    covered.edit(MOVED)
    covered.ask("issue", covered.path)
    fell = [one["joint"] for one in covered.states()["opened_again"]]
    words = ("ok-to-cover", covered.path, FACE, "--signed", "ana", "--supplement", covered.ok["number"])
    covered.ask(*words, code=1)  # nothing of it is proved yet
    for joint in fell:
        covered.prove(joint, covered.picture)
    more = covered.ask(*words)["entry"]
    assert set(more["what"]["joints"]) == set(fell)
    assert more["what"]["supplements"] == covered.ok["id"]
    assert covered.state(fell[0]) == "proved"
    covered.log("covered", f"ok={more['number']}", face=FACE)
    after = covered.states()
    assert after["opened_again"] == []
    assert {one["state"] for one in after["joints"] if one["joint"] in fell} == {"covered"}
    covered.ask(*words, code=1)  # nothing fell out any more


def test_what_was_never_cut_leaves_no_patch_and_is_not_proved(covered):
    covered.edit(("at: [[24, 7]]", "at: [[26, 7]]"))
    covered.ask("issue", covered.path)
    after = covered.states()
    assert after["patches"] == []
    vent = next(j["id"] for j in covered.joints() if j["kind"] == "box or duct")
    assert next(one["state"] for one in after["joints"] if one["joint"] == vent) == "not yet due"


def test_moved_and_moved_back_before_anybody_cut_it_changes_nothing_on_the_wall(covered):
    """On paper only: revision 2 is listed, the wall is as it was signed, and nothing is proved or signed again."""
    before = covered.states()
    covered.edit(MOVED)
    covered.ask("issue", covered.path)
    assert covered.states()["opened_again"]  # until it is back: this is what revision 2 asks for
    covered.edit(MOVED[::-1])
    covered.ask("issue", covered.path)
    after = covered.states()
    assert (after["revision"], after["patches"], after["opened_again"]) == (3, [], [])
    assert {one["joint"]: one["state"] for one in after["joints"]} == {
        one["joint"]: one["state"] for one in before["joints"]
    }
    assert covered.ask("revisions", covered.path)["prove_again"] == {}


FAR = ("sill: 3, at: 4", "sill: 3, at: 20")


def test_cut_at_the_new_place_and_moved_back_leaves_a_patch_there(covered):
    """The window was cut at 20 ft, then comes back to 4 ft, where its hole was never closed."""
    covered.edit(FAR)
    covered.ask("issue", covered.path)
    jamb = next(j["id"] for j in covered.joints() if j["kind"] == "opening jamb" and j["mark"] == "W1")
    covered.log("prepared", joint=jamb)
    covered.edit(FAR[::-1])
    covered.ask("issue", covered.path)
    after = covered.states()
    (patch,) = after["patches"]
    # Source: by hand, the edit: the hole left by revision 3 runs from 20 ft to 23 ft. Tolerance: half an inch.
    xs = [point[0] / 0.3048 for point in patch["outline_m"]]
    assert (patch["revision"], min(xs), max(xs)) == (
        3,
        pytest.approx(20, abs=0.05),
        pytest.approx(23, abs=0.05),
    )
    opened = {one["joint"] for one in after["opened_again"]}
    assert patch["joint"] in opened
    mine = {j["id"]: j for j in covered.joints()}
    assert not any(
        mine[name]["mark"] == "W1" for name in opened if name in mine
    )  # its own edges were not touched
    assert len(opened) > 1  # and the seams that the hole cut
    for name in opened - {patch["joint"]}:
        for axis, low, high in ((0, 20, 23), (2, 3, 7)):
            along = [point[axis] / 0.3048 for point in mine[name]["points"]]
            assert min(along) <= high + 0.05, name
            assert max(along) >= low - 0.05, name


def test_where_the_old_hole_was_closed_coming_back_is_proved_again(covered):
    covered.edit(FAR)
    covered.ask("issue", covered.path)
    patch = covered.states()["patches"][0]["joint"]
    covered.prove(patch, covered.picture)
    covered.edit(FAR[::-1])
    covered.ask("issue", covered.path)
    after = covered.states()
    assert after["patches"] == []
    opened = {one["joint"] for one in after["opened_again"]}
    own = {j["id"] for j in covered.joints() if j["mark"] == "W1"}
    assert own <= opened
    assert {one["state"] for one in after["joints"] if one["joint"] in own} == {"bare"}


def test_a_body_that_is_renamed_loses_nothing(covered):
    before = covered.states()["counts"]
    covered.path.write_text(covered.path.read_text().replace("main", "core"))
    covered.ask("issue", covered.path)
    after = covered.states()
    assert after["counts"] == before
    assert after["covered_faces"] == ["core/south"]
    assert after["opened_again"] == after["patches"] == after["needs_place"] == []


def test_a_hole_after_covering_falls_out_until_it_is_supplemented(covered):
    joint = next(j["id"] for j in covered.joints() if j["kind"] == "opening head")
    hole = covered.log("hole", "text=bracket", "made_by=siding", joint=joint)
    after = covered.states()
    assert next(one["state"] for one in after["joints"] if one["joint"] == joint) == "punctured"
    assert [(one["joint"], "hole" in one["why"]) for one in after["opened_again"]] == [(joint, True)]
    covered.log(
        "hole sealed", f"hole={hole['number']}", "product=silyl-flashing-20", "detail=collar", joint=joint
    )
    covered.log("seen", "seen_by=ana", "sound=yes", joint=joint)
    assert covered.state(joint) == "proved"
    assert covered.states()["opened_again"]  # proved again, and still without its supplement
    more = covered.ask(
        "ok-to-cover", covered.path, FACE, "--signed", "ana", "--supplement", covered.ok["number"]
    )
    covered.log("covered", f"ok={more['entry']['number']}", face=FACE)
    assert covered.states()["opened_again"] == []


def test_a_done_that_is_withdrawn_after_the_ok_takes_its_piece_out(covered):
    joint = next(j["id"] for j in covered.joints() if j["kind"] == "opening head")
    listed = covered.ask("log", "list", covered.path, "--kind", "done", "--joint", joint)["entries"]
    covered.ask("log", "withdraw", covered.path, listed[0]["number"], "--reason", "another wall")
    after = covered.states()
    assert [(one["joint"], "withdrawn" in one["why"]) for one in after["opened_again"]] == [(joint, True)]
    assert after["covered_faces"] == [FACE]
    assert next(one["state"] for one in after["joints"] if one["joint"] == joint) != "covered"


def test_covered_without_an_ok_is_kept_said_at_once_and_never_counts(site):
    answer = site.ask("log", "add", site.path, "covered", "--face", FACE)
    assert "without an OK to cover" in answer["said"]
    assert "without an OK to cover" in site.say("log", "add", site.path, "covered", "--face", FACE)
    after = site.states()
    assert "covered" not in after["counts"]
    assert after["covered_faces"] == []
    assert len(after["covered_too_early"]) == 2


def test_an_ok_from_a_table_counts_for_nothing_and_that_is_said(covered, tmp_path, monkeypatch):
    covered.ask("log", "export", covered.path, tmp_path / "log.csv")
    monkeypatch.setenv("HULLWRIGHT_DATA", str(tmp_path / "other"))
    covered.ask("issue", covered.path)
    covered.ask("log", "import", covered.path, tmp_path / "log.csv")
    after = covered.states()
    assert "covered" not in after["counts"]
    assert [one["entry"] for one in after["oks_that_do_not_count"]] == [covered.ok["id"]]
    assert "taken in from a table" in covered.say("states", covered.path)


def test_a_patch_that_was_covered_stays_covered(covered):
    covered.edit(MOVED)
    covered.ask("issue", covered.path)
    fell = [one["joint"] for one in covered.states()["opened_again"]]
    for joint in fell:
        covered.prove(joint, covered.picture)
    more = covered.ask(
        "ok-to-cover", covered.path, FACE, "--signed", "ana", "--supplement", covered.ok["number"]
    )
    covered.log("covered", f"ok={more['entry']['number']}", face=FACE)
    patch = covered.states()["patches"][0]["joint"]
    assert covered.state(patch) == "covered"
    covered.edit(ENLARGED)  # another window: the patch is not touched
    covered.ask("issue", covered.path)
    assert covered.state(patch) == "covered"


def test_an_entry_that_names_an_older_revision_is_judged_through_those_since(site, tmp_path):
    """A phone without signal logs on revision 1, when revision 2 has moved the window: the head that it did is not there."""
    site.ask("issue", site.path)
    head = next(j["id"] for j in site.joints() if j["kind"] == "opening head")
    site.edit(MOVED)
    site.ask("issue", site.path)
    row = "kind,author,device_time,joint,revision,what.method,what.crew,what.surface,what.substitute"
    late = f'done,ben,2099-01-01T10:00:00-05:00,"{head}",{{}},boot,A,panel,true'
    (tmp_path / "late.csv").write_text(f"{row}\n{late.format(1)}\n")
    site.ask("log", "import", site.path, tmp_path / "late.csv")
    assert site.state(head) == "bare"
    assert [patch["revision"] for patch in site.states()["patches"]] == [
        2
    ]  # but it shows that the hole had been cut
    (tmp_path / "new.csv").write_text(f"{row}\n{late.format(2)}\n")
    site.ask("log", "import", site.path, tmp_path / "new.csv")
    assert site.state(head) != "bare" or "prepare" in str(site.states())
