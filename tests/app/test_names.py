"""A house keeps its id when its file is renamed, moved or edited; two files never share one; CLI and service agree."""

import json
import shutil
from pathlib import Path

import pytest

from hullwright.app import log
from hullwright.app.files import demo_file
from hullwright.app.names import EXAMPLE, Names
from hullwright.app.spots import log_of
from hullwright.cli.main import main
from hullwright.web.service import make

SHED = "units: ft\nname: Shed   # ours\nmasses: []\n"


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "houses").mkdir()
    (tmp_path / "houses/shed.yaml").write_text(SHED, encoding="utf-8")
    return tmp_path / "houses"


@pytest.fixture
def names(tmp_path):
    (tmp_path / "data").mkdir()

    def anew():
        return Names(tmp_path / "data/houses.json")

    return anew


def test_a_renamed_file_keeps_its_id(folder, names):
    assert names().of(folder / "shed.yaml") == "shed"
    (folder / "shed.yaml").rename(folder / "hut.yaml")
    assert names().of(folder / "hut.yaml") == "shed"
    (folder / "shed.yaml").write_text(SHED.replace("Shed", "Another"), encoding="utf-8")
    # The old name is free for another house, and its id is not.
    assert names().of(folder / "shed.yaml") == "shed-2"
    assert names().of(folder / "hut.yaml") == "shed"


def test_a_file_that_was_renamed_and_edited_keeps_its_id_by_its_name(folder, names):
    names().of(folder / "shed.yaml")
    (folder / "shed.yaml").unlink()
    (folder / "hut.yaml").write_text(SHED.replace("# ours", "") + "# more\n", encoding="utf-8")
    assert names().of(folder / "hut.yaml") == "shed"


def test_a_file_moved_to_another_folder_keeps_its_id_only_with_the_same_bytes(folder, names, tmp_path):
    names().of(folder / "shed.yaml")
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere/shed.yaml").write_text(SHED + "# edited\n", encoding="utf-8")
    (folder / "shed.yaml").rename(tmp_path / "elsewhere/moved.yaml")
    assert names().of(tmp_path / "elsewhere/shed.yaml") == "shed-2"
    assert names().of(tmp_path / "elsewhere/moved.yaml") == "shed"


def test_a_copy_is_another_house_also_once_the_first_is_gone(folder, names):
    names().of(folder / "shed.yaml")
    shutil.copy(folder / "shed.yaml", folder / "copy.yaml")
    assert names().of(folder / "copy.yaml") == "copy"
    (folder / "shed.yaml").unlink()
    assert names().of(folder / "copy.yaml") == "copy"


def test_where_two_may_be_meant_it_is_a_new_house(folder, names):
    shutil.copy(folder / "shed.yaml", folder / "twin.yaml")
    assert (names().of(folder / "shed.yaml"), names().of(folder / "twin.yaml")) == ("shed", "twin")
    (folder / "shed.yaml").rename(folder / "a.yaml")
    (folder / "twin.yaml").unlink()
    assert names().of(folder / "a.yaml") == "a"


def test_one_of_two_of_a_name_that_is_there_keeps_the_other_new(folder, names):
    """A twin that still lies there might be the house that is meant: nothing is guessed."""
    (folder / "twin.yaml").write_text(SHED + "# twin\n", encoding="utf-8")
    names().of(folder / "shed.yaml"), names().of(folder / "twin.yaml")
    (folder / "shed.yaml").unlink()
    (folder / "new.yaml").write_text(SHED + "# other\n", encoding="utf-8")
    assert names().of(folder / "new.yaml") == "new"


def test_ids_of_an_older_version_stay(folder, names, tmp_path):
    (tmp_path / "data/houses.json").write_text(json.dumps({str(folder / "shed.yaml"): "old-name"}))
    assert names().of(folder / "shed.yaml") == "old-name"
    (folder / "shed.yaml").rename(folder / "hut.yaml")
    assert names().of(folder / "hut.yaml") == "old-name"


def test_command_and_service_have_one_log(folder, tmp_path, capsys):
    """What one logs the other sees: of a house of one's own, of one that was renamed, and of an example."""
    data = tmp_path / "data"
    own = folder / "kiln.yaml"
    shutil.copy(demo_file().parent / "saltgrass-house.yaml", own)
    (folder / "shed.yaml").unlink()
    service = make(folder, str(data), 8765, "key", apart=False)
    assert {place.id for place in service.shelf.places()} >= {"kiln", EXAMPLE + "saltgrass-house"}
    for house, file in (("kiln", own), (EXAMPLE + "saltgrass-house", demo_file())):
        log.add(service.log(house), "remark", {"text": f"desk {house}"}, author="A")
        command = [
            "log",
            "add",
            str(file),
            "remark",
            "text=command",
            "--by",
            "B",
            "--data",
            str(data),
            "--face",
            "main/south",
        ]
        assert main(command) == 0
        assert [entry.full_json()["author"] for entry in service.log(house).standing()] == ["A", "B"]
        assert [entry.full_json()["author"] for entry in log_of(str(file), str(data)).standing()] == [
            "A",
            "B",
        ]
    capsys.readouterr()
    own.rename(folder / "barn.yaml")
    assert [place.id for place in service.shelf.places() if not place.example] == ["kiln"]
    assert service.shelf.find("kiln").path.name == "barn.yaml"
    assert len(log_of(str(folder / "barn.yaml"), str(data)).standing()) == 2
    service.close()


def test_the_folder_of_the_examples_lists_each_once(tmp_path):
    service = make(demo_file().parent, str(tmp_path / "data"), 8765, "key", apart=False)
    ids = [place.id for place in service.shelf.places()]
    assert len(ids) == len(set(ids))
    assert all(place.example for place in service.shelf.places())
    service.close()


def test_a_new_house_does_not_take_the_id_of_a_moved_one(folder, tmp_path):
    service = make(folder, str(tmp_path / "data"), 8765, "key", apart=False)
    assert service.shelf.find("shed").path.name == "shed.yaml"
    (folder / "shed.yaml").rename(folder / "hut.yaml")
    assert service.shelf.find("shed").path.name == "hut.yaml"
    with pytest.raises(Exception, match="there is a house of that name"):
        service.shelf.new("shed", Path(demo_file()).read_text("utf-8"))
    service.close()
