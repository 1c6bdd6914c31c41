"""Files that a building file names: product sheets, a folder of them, experience."""

from __future__ import annotations

from pathlib import Path

import pytest

from hullwright.building import parse, read
from hullwright.catalog import load
from hullwright.errors import BuildingFileError, CatalogError

HOUSE = """units: m
name: Shed
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: main, size: [8, 6], storeys: [2.7], roof: {form: gable, pitch: 30 deg, ridge: east-west}}
"""
TAPE = """id: {id}
form: tape
pack: 25 m
width: 60 mm
price: 20
"""


@pytest.fixture
def place(tmp_path: Path):
    (tmp_path / "sheets").mkdir()
    for name in ("b", "a"):
        (tmp_path / "sheets" / f"{name}.yaml").write_text(TAPE.format(id=f"tape-{name}"))
    (tmp_path / "sheets" / "readme.txt").write_text("not a sheet")

    def put(more: str) -> Path:
        file = tmp_path / "house.yaml"
        file.write_text(HOUSE + more)
        return file

    return put


def problems(file: Path):
    with pytest.raises(BuildingFileError) as caught:
        read(file)
    return caught.value.problems


def test_a_folder_of_sheets_is_read_by_name(place):
    house = read(place("products_folder: sheets\n"))
    assert [sheet["id"] for sheet in house.products] == ["tape-a", "tape-b"]
    assert load(house).products["tape-b"].width == pytest.approx(0.06)


def test_files_and_sheets_stand_side_by_side(place):
    house = read(place("products: [sheets/b.yaml, {id: c, form: tape, pack: 9 m, width: 5 cm, price: 3}]\n"))
    assert [sheet["id"] for sheet in house.products] == ["tape-b", "c"]


def test_a_mistake_on_a_sheet_names_its_file_and_line(place, tmp_path):
    (tmp_path / "sheets" / "a.yaml").write_text(TAPE.format(id="x") + "widht: 3\n")
    with pytest.raises(CatalogError) as caught:
        load(read(place("products_folder: sheets\n")))
    (problem,) = caught.value.problems
    assert problem.where.file == str(tmp_path / "sheets" / "a.yaml")
    assert problem.where.line == 6
    assert "width" in problem.hint


def test_a_broken_sheet_names_its_file_and_line(place, tmp_path):
    (tmp_path / "sheets" / "a.yaml").write_text("id: x\nform: [\n")
    (problem,) = problems(place("products_folder: sheets\n"))
    assert problem.where.file == str(tmp_path / "sheets" / "a.yaml")
    assert problem.where.line is not None


@pytest.mark.parametrize("raw", [b"\x00\x01\x02", b"- 1\n- 2\n", b"", b"a: &x 1\nb: *x\n", b"\xff\xfe"])
def test_what_is_no_sheet_is_refused(place, tmp_path, raw):
    (tmp_path / "sheets" / "a.yaml").write_bytes(raw)
    found = problems(place("products_folder: sheets\n"))
    assert {problem.where.file for problem in found} == {str(tmp_path / "sheets" / "a.yaml")}


@pytest.mark.parametrize(
    "more",
    [
        "products_folder: none\n",
        "products_folder: ..\n",
        "products_folder: /etc\n",
        "products_folder: house.yaml\n",
        "products: [../x.yaml]\n",
        "products: [none.yaml]\n",
        "experience: none.json\n",
        "experience: ../x.json\n",
        "experience: [sheets/a.yaml]\n",
        "experience: [/etc/hostname.json]\n",
        "products: [sheets/readme.txt]\n",
        "experience: {a: 1}\n",
    ],
)
def test_only_what_lies_in_the_folder_is_read(place, tmp_path, more):
    (tmp_path.parent / "x.yaml").write_text(TAPE.format(id="x"))
    (tmp_path.parent / "x.json").write_text("{}")
    (problem,) = problems(place(more))
    assert problem.where.line == 6
    assert problem.where.file == str(tmp_path / "house.yaml")


def test_a_link_that_leads_out_is_not_followed(place, tmp_path):
    outside = tmp_path.parent / "outside"
    outside.mkdir(exist_ok=True)
    (outside / "s.yaml").write_text(TAPE.format(id="x"))
    (tmp_path / "out").symlink_to(outside)
    (tmp_path / "sheets" / "out.yaml").symlink_to(outside / "s.yaml")
    assert "outside" in problems(place("products_folder: out\n"))[0].message
    assert "outside" in problems(place("products_folder: sheets\n"))[0].message


def test_text_without_a_folder_reads_no_files():
    for more in ("products_folder: sheets\n", "products: [a.yaml]\n", "experience: a.json\n"):
        with pytest.raises(BuildingFileError, match="wrong"):
            parse(HOUSE + more)


def test_experience_is_named(place, tmp_path):
    (tmp_path / "old.json").write_text("{}")
    assert read(place("experience: old.json\n")).experience == (str(tmp_path / "old.json"),)
    assert read(place("experience: [old.json]\n")).experience == (str(tmp_path / "old.json"),)
    assert read(place("")).experience == ()
