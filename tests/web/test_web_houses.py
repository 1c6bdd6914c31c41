"""Houses: the file stays the truth, nothing typed is lost, nothing on disk is overwritten; the geometry that is drawn."""

import json
import math
import os

import numpy as np
import pytest

from hullwright.app.disk import write_whole
from hullwright.app.house import check as ask_check
from hullwright.app.house import joints as ask_joints

FT = 0.3048


def house(desk, name="shed"):
    return desk.get(f"/api/houses/{name}").json()


def put(desk, text, based_on, name="shed"):
    return desk.put(f"/api/houses/{name}/text", json={"text": text, "based_on": based_on})


def patch(desk, key, value, based_on, name="shed"):
    return desk.patch(f"/api/houses/{name}/value", json={"key": key, "value": value, "based_on": based_on})


def test_list_gives_the_folder_and_the_examples(world, desk):
    (world.folder / "Bad Name.yaml").write_text("x", encoding="utf-8")
    (world.folder / "notes.txt").write_text("x", encoding="utf-8")
    (world.folder / "link.yaml").symlink_to("/etc/passwd")
    ids = [one["id"] for one in desk.get("/api/houses").json()["houses"]]
    assert ids[:2] == ["other", "shed"]
    assert all(one.startswith("example-") for one in ids[2:])
    assert "example-saltgrass-house" in ids
    assert desk.get("/api/houses/link").status_code == 404


@pytest.mark.parametrize(
    "name", ["..", "../shed", "shed.yaml", "SHED", "shed%00", "%2e%2e%2fshed", "a" * 61, "-", "shed-"]
)
def test_names_that_are_paths_lead_nowhere(desk, name):
    assert desk.get(f"/api/houses/{name}").status_code in {404, 422}


def test_house_gives_its_text_as_it_is_on_disk(world, desk):
    found = house(desk)
    assert found["text"] == world.file.read_text("utf-8")
    assert (found["name"], found["system"], found["currency"]) == ("Shed", "us", "USD")
    assert found["problems"] == []
    assert found["aim"]["budget"] == 4000


def test_text_is_written_whole_and_gives_a_new_hash(world, desk):
    found = house(desk)
    answer = put(desk, found["text"].replace("Shed", "Hut"), found["hash"])
    assert answer.status_code == 200
    assert answer.json()["hash"] != found["hash"]
    assert world.file.read_text("utf-8") == found["text"].replace("name: Shed", "name: Hut")
    assert not [path for path in world.folder.iterdir() if path.name.startswith(".")]


def test_a_change_on_disk_is_never_overwritten_and_the_typed_text_is_kept(world, desk):
    found = house(desk)
    world.file.write_text(found["text"] + "# by hand\n", encoding="utf-8")
    answer = put(desk, found["text"].replace("Shed", "Hut"), found["hash"])
    assert answer.status_code == 409
    assert answer.json()["error"]["kind"] == "changed"
    assert world.file.read_text("utf-8").endswith("# by hand\n")
    assert "Hut" in house(desk)["draft"]


def test_two_windows_on_one_file_the_second_is_told(desk):
    found = house(desk)
    assert patch(desk, "aim.budget", 5000, found["hash"]).status_code == 200
    assert patch(desk, "aim.budget", 6000, found["hash"]).status_code == 409


def test_wrong_text_is_refused_with_all_problems_and_kept_as_a_draft(world, desk):
    found = house(desk)
    wrong = found["text"].replace("8 ft", "8 parsecs").replace("6:12", "steep")
    answer = put(desk, wrong, found["hash"])
    assert answer.status_code == 422
    lines = [problem["where"]["line"] for problem in answer.json()["error"]["problems"]]
    assert lines == [9, 10]
    assert world.file.read_text("utf-8") == found["text"]
    assert house(desk)["draft"] == wrong
    assert put(desk, found["text"], found["hash"]).status_code == 200
    assert house(desk)["draft"] is None


def test_a_file_that_is_wrong_on_disk_still_opens_with_its_problems(world, desk):
    world.file.write_text("units: ft\nname: Shed\n", encoding="utf-8")
    found = house(desk)
    assert found["text"] == "units: ft\nname: Shed\n"
    assert found["problems"]
    assert desk.get("/api/houses/shed/geometry").status_code == 422


def test_one_value_changes_and_every_other_character_stays(world, desk):
    before = house(desk)
    assert patch(desk, "masses[0].roof.pitch", "8:12", before["hash"]).status_code == 200
    assert world.file.read_text("utf-8") == before["text"].replace("6:12", "8:12")


def test_a_value_that_makes_the_house_wrong_is_refused(world, desk):
    before = house(desk)
    answer = patch(desk, "masses[0].roof.pitch", "90 deg", before["hash"])
    assert answer.status_code == 422
    assert world.file.read_text("utf-8") == before["text"]


@pytest.mark.parametrize("key", ["", "a..b", "masses[", "masses[99999999999]", "[0]", "__class__", "masses[0].roof[1]", "a" * 300, "masses[-1]"])  # fmt: skip
def test_keys_that_lead_nowhere_are_refused(world, desk, key):
    before = house(desk)
    assert patch(desk, key, "1", before["hash"]).status_code == 422
    assert world.file.read_text("utf-8") == before["text"]


@pytest.mark.parametrize(
    "value",
    [
        "\n  - evil: 1",
        "*anchor",
        "!!python/object:os.system x",
        "a: b # c",
        "'",
        '"',
        "{",
        "- x",
        "",
        "\u2028",
        "yes",
    ],
)
def test_a_value_stays_one_value_whatever_is_in_it(world, desk, value):
    before = house(desk)
    answer = patch(desk, "name", value, before["hash"])
    if answer.status_code == 200:
        assert house(desk)["name"] == value.strip() or value in house(desk)["name"]
        lines = zip(before["text"].splitlines(), answer.json()["text"].splitlines(), strict=True)
        assert [k for k, (old, new) in enumerate(lines) if old != new] == [2]
    else:
        assert answer.status_code == 422
        assert world.file.read_text("utf-8") == before["text"]


def test_examples_are_read_only_and_can_be_copied(desk):
    found = house(desk, "example-kiln-studio")
    assert found["example"]
    assert put(desk, found["text"], found["hash"], "example-kiln-studio").status_code == 403
    made = desk.post("/api/houses", json={"name": "my-studio", "copy_of": "example-kiln-studio"})
    assert made.status_code == 201
    assert made.json()["text"] == found["text"]
    assert desk.post("/api/houses", json={"name": "my-studio", "copy_of": "shed"}).status_code == 422


@pytest.mark.parametrize(
    "name", ["../out", "CON.yaml", "", "a b", "example-mine", "a" * 61, "shed\u0000", "."]
)
def test_new_houses_have_plain_names(world, desk, name):
    assert desk.post("/api/houses", json={"name": name, "text": house(desk)["text"]}).status_code == 422
    assert {path.name for path in world.folder.iterdir()} == {"shed.yaml", "other.yaml"}


def test_wrong_new_house_is_kept_as_a_draft(world, desk):
    assert desk.post("/api/houses", json={"name": "hut", "text": "units: ft"}).status_code == 422
    assert (world.data / "drafts" / "hut" / "building.txt").read_text("utf-8") == "units: ft"
    assert not (world.folder / "hut.yaml").exists()


def test_draft_of_readings_is_kept_and_forgotten(desk):
    address = "/api/houses/shed/drafts/fantest/draft"
    assert desk.put(address, json={"text": "half a test <script>"}).status_code == 200
    assert desk.get(address).json()["text"] == "half a test <script>"
    assert desk.put(address, json={"text": ""}).json()["text"] is None
    assert desk.put("/api/houses/shed/drafts/other/draft", json={"text": "x"}).status_code == 422


def test_a_write_that_dies_leaves_the_old_file(world, monkeypatch):
    before = world.file.read_bytes()

    def dies(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", dies)
    with pytest.raises(Exception, match="could not be written"):
        write_whole(world.file, b"half")
    assert world.file.read_bytes() == before
    assert {path.name for path in world.folder.iterdir()} == {"shed.yaml", "other.yaml"}


def test_full_disk_is_said(world, desk, monkeypatch):
    def dies(_):
        raise OSError(28, "No space left on device")

    found = house(desk)
    monkeypatch.setattr(os, "fsync", dies)
    answer = put(desk, found["text"].replace("Shed", "Hut"), found["hash"])
    assert answer.status_code == 507
    assert "No space left" in answer.text
    assert str(world.folder) not in answer.text


def test_files_of_one_name_in_two_folders_are_two_houses(world, desk):
    """One log, two folders: who is in the one shed is not in the other."""
    crew = world.invited(desk, "crew", houses=("shed",))
    elsewhere = world.folder.parent / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "shed.yaml").write_text(
        world.file.read_text("utf-8").replace("Shed", "Foreign"), encoding="utf-8"
    )
    world.close()
    again = type(world)(world.folder.parent, folder=elsewhere)
    page = again.page()
    page.cookies.set("hullwright_session", crew.cookies["hullwright_session"])
    assert page.get("/api/houses").json()["houses"] == []
    assert page.get("/api/houses/shed").status_code == 404
    assert page.get("/api/houses/shed-2").status_code == 404
    assert again.desk().get("/api/houses/shed-2").json()["name"] == "Foreign"
    again.close()


def area(flat):
    points = list(zip(flat[::2], flat[1::2], strict=True))
    return (
        sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True)) / 2
    )


def on_sheet(face, x, y):
    a, b, c, d, e, f = face["transform"]
    return a * x + c * y + e, b * x + d * y + f


def test_geometry_has_the_areas_of_the_shed(old_desk):
    found = old_desk.get("/api/houses/shed/geometry").json()
    faces = {face["id"]: face for face in found["faces"]}
    # Source: by hand: 24 x 16 ft, 8 ft high, gable 6:12 with the ridge along 24 ft: wall 24·8, gable wall 16·8 + 16·4/2, roof 24·√(8² + 4²)
    # Tolerance: the drawing's own rounding, 0.1 mm in 10 m
    expected = {
        "main/south": 24 * 8,
        "main/west": 16 * 8 + 16 * 4 / 2,
        "main/roof south": 24 * math.hypot(8, 4),
    }
    for name, feet in expected.items():
        assert area(faces[name]["loops"][0]) == pytest.approx(feet * FT**2, rel=1e-4)


def test_layout_neither_stretches_nor_flips_nor_overlaps(old_desk):
    found = old_desk.get("/api/houses/example-saltgrass-house/geometry").json()
    total = 0.0
    for face in found["faces"]:
        a, b, c, d, *_ = face["transform"]
        # Source: a rotation has determinant 1 and columns of length 1
        # Tolerance: nine places of the transform
        assert a * d - b * c == pytest.approx(1.0, abs=1e-7)
        assert math.hypot(a, b) == pytest.approx(1.0, abs=1e-7)
        outline = [
            on_sheet(face, x, y) for x, y in zip(face["loops"][0][::2], face["loops"][0][1::2], strict=True)
        ]
        assert all(-1e-3 <= x <= found["sheet"]["width_m"] + 1e-3 for x, _ in outline)
        assert all(-1e-3 <= y <= found["sheet"]["height_m"] + 1e-3 for _, y in outline)
        total += area([v for point in outline for v in point])
    assert total <= found["sheet"]["width_m"] * found["sheet"]["height_m"]


def test_each_joint_lies_on_its_face_flat_and_in_space(old_desk):
    found = old_desk.get("/api/houses/example-saltgrass-house/geometry").json()
    joints, faces = found["joints"], found["faces"]
    xy, xyz = np.array(joints["xy"]).reshape(-1, 2), np.array(joints["xyz"]).reshape(-1, 3)
    assert len(joints["offset"]) == len(joints["id"]) + 1
    assert joints["offset"][-1] == len(xy) == len(xyz)
    for k, owner in enumerate(joints["owner"]):
        frame, rows = faces[owner]["frame"], slice(joints["offset"][k], joints["offset"][k + 1])
        lifted = np.array(frame["origin"]) + xy[rows] @ np.array([frame["across"], frame["up"]])
        # Source: the face is a plane: what is flat on it, lifted, is the place in space
        # Tolerance: two roundings to 0.1 mm; floor lines and edges may lie off the plane by the mesh's own 1 mm
        assert np.abs(lifted - xyz[rows]).max() < 2e-3, joints["id"][k]


def test_lengths_of_drawn_joints_are_those_of_the_list(old_desk):
    found = old_desk.get("/api/houses/shed/geometry").json()["joints"]
    listed = {joint["id"]: joint for joint in old_desk.get("/api/houses/shed/joints").json()["joints"]}
    assert found["id"] == list(listed)
    xyz = np.array(found["xyz"]).reshape(-1, 3)
    for k, name in enumerate(found["id"]):
        points = xyz[found["offset"][k] : found["offset"][k + 1]]
        drawn = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
        assert drawn == pytest.approx(listed[name].get("length_m", 0.0), abs=2e-3)


def test_runs_name_their_joints(old_desk):
    found = old_desk.get("/api/houses/shed/geometry").json()
    for number, run in enumerate(found["runs"]):
        assert all(found["joints"]["run"][joint] == number for joint in run["joints"])


def test_check_and_joints_are_those_of_the_use_cases(old_world, old_desk):
    for name, ask in (("check", ask_check), ("joints", ask_joints)):
        told = json.loads(json.dumps(ask(old_world.file).to_json()))
        answer = old_desk.get(f"/api/houses/shed/{name}").json()
        assert {key: answer[key] for key in told} == told
