"""Nothing of a person's is ever overwritten; a set of files is written whole or not at all."""

import json

import pytest

from hullwright.app.files import LEDGER, write_folder, write_new
from hullwright.errors import OutputError


def test_writes_all_files_and_replaces_its_own_on_a_second_run(tmp_path):
    folder = tmp_path / "plan"
    write_folder(folder, {"a.txt": b"1", "faces/b.svg": b"2"})
    write_folder(folder, {"a.txt": b"3", "faces/c.svg": b"4"})
    assert (folder / "a.txt").read_bytes() == b"3"
    assert not (folder / "faces/b.svg").exists()  # ours of the first run, not in the second
    assert (folder / "faces/c.svg").read_bytes() == b"4"


def test_a_file_that_a_person_changed_stops_the_run_before_anything_is_written(tmp_path):
    folder = tmp_path / "plan"
    write_folder(folder, {"a.txt": b"1", "b.txt": b"1"})
    (folder / "b.txt").write_bytes(b"my notes")
    with pytest.raises(OutputError) as caught:
        write_folder(folder, {"a.txt": b"2", "b.txt": b"2"})
    assert "b.txt" in str(caught.value)
    assert (folder / "a.txt").read_bytes() == b"1"
    assert (folder / "b.txt").read_bytes() == b"my notes"


def test_a_persons_file_that_was_there_first_stays(tmp_path):
    (tmp_path / "plan").mkdir()
    (tmp_path / "plan/a.txt").write_bytes(b"mine")
    with pytest.raises(OutputError):
        write_folder(tmp_path / "plan", {"a.txt": b"2"})
    assert (tmp_path / "plan/a.txt").read_bytes() == b"mine"


def test_a_persons_changed_file_is_not_removed_when_the_new_run_has_none_of_that_name(tmp_path):
    write_folder(tmp_path / "plan", {"a.txt": b"1", "old.txt": b"1"})
    (tmp_path / "plan/old.txt").write_bytes(b"my notes")
    write_folder(tmp_path / "plan", {"a.txt": b"2"})
    assert (tmp_path / "plan/old.txt").read_bytes() == b"my notes"


def test_a_run_that_died_half_way_does_not_block_the_next(tmp_path, monkeypatch):
    folder = tmp_path / "plan"
    write_folder(folder, {"a.txt": b"1", "b.txt": b"1"})
    real = type(folder).replace

    def dies(self, target):
        if str(target).endswith("b.txt"):
            raise OSError(28, "no space left")
        return real(self, target)

    with monkeypatch.context() as patch:
        patch.setattr(type(folder), "replace", dies)
        with pytest.raises(OutputError, match="no space left"):
            write_folder(folder, {"a.txt": b"2", "b.txt": b"2"})
    write_folder(folder, {"a.txt": b"3", "b.txt": b"3"})
    assert (folder / "a.txt").read_bytes() == b"3"


def test_a_broken_ledger_means_that_nothing_there_is_known_to_be_ours(tmp_path):
    folder = tmp_path / "plan"
    write_folder(folder, {"a.txt": b"1"})
    (folder / LEDGER).write_text(json.dumps(["nonsense"]))
    with pytest.raises(OutputError):
        write_folder(folder, {"a.txt": b"2"})


def test_no_temporary_folder_is_left(tmp_path):
    write_folder(tmp_path / "plan", {"a.txt": b"1"})
    assert [each.name for each in tmp_path.iterdir()] == ["plan"]


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "plan").write_text("a file")
    with pytest.raises(OutputError, match="not a folder"):
        write_folder(tmp_path / "plan", {"a.txt": b"1"})


def test_new_never_overwrites(tmp_path):
    write_new(tmp_path / "house.yaml", "one")
    with pytest.raises(OutputError):
        write_new(tmp_path / "house.yaml", "two")
    assert (tmp_path / "house.yaml").read_text() == "one"
