"""The log as csv: there and back, by hand, formulas, junk."""

import contextlib
import csv
import io
import json
import zipfile
from dataclasses import replace
from datetime import datetime

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.errors import InputError
from hullwright.store.entries import append_all, list_entries
from hullwright.store.table import COLUMNS, export_csv, import_csv
from hullwright.store.table_xlsx import cell_text, import_xlsx

HAND = """kind,author,device_time,joint,what.method,what.crew,what.surface,what.teeth_um,what.last_wet_um,what.next_dry_um
comb,lead,2024-05-03T09:00:00-05:00,S1,liquid,B,wood panel,500 550 600,500,550
comb,lead,2024-05-03T09:00:00-05:00,S1,liquid,B,wood panel,500 550 600,500,550
comb,lead,2024-05-03T09:05:00-05:00,S2,liquid,B,wood panel,500;550;600,600,
"""


def test_there_and_back(store, remark, sending):
    texts = ["plain", "=1+1", "+49", "-3", "@x", "'quoted", "\ttab", 'a "b", c\nd', "日本"]
    append_all(store, "h", [remark(text, sequence=i) for i, text in enumerate(texts)], sending)
    entries = list_entries(store, "h")
    back = import_csv(export_csv(entries).encode())
    assert [entry.to_json() for entry in back] == [entry.to_json() for entry in entries]
    outcome = append_all(store, "h", back, sending)
    assert (len(outcome.already), len(outcome.stored)) == (len(texts), 0)


def test_no_cell_can_be_a_formula(remark):
    evil = remark()
    evil = replace(
        evil,
        spot=replace(evil.spot, joint='=HYPERLINK("http://x")', face="@SUM(A1)"),
        stamp=replace(evil.stamp, author="+cmd", device="-2+3"),
    )
    rows = list(csv.reader(io.StringIO(export_csv([evil]))))
    assert not [cell for row in rows for cell in row if cell.startswith(("=", "+", "@", "-", "\t", "\r"))]
    assert import_csv(export_csv([evil]))[0].to_json() == evil.to_json()


def test_a_table_by_hand_is_taken_in_once(store, sending):
    entries = import_csv(HAND)
    assert len({entry.id for entry in entries}) == 3  # two equal readings stay two
    assert entries[0].what == {
        "method": "liquid",
        "crew": "B",
        "surface": "wood panel",
        "notches_um": [500, 550, 600],
        "last_wet_um": 500,
        "next_dry_um": 550,
    }
    assert "next_dry_um" not in entries[2].what
    append_all(store, "h", entries, sending)
    again = append_all(store, "h", import_csv(HAND.encode("utf-8-sig")), sending)
    assert (len(again.stored), len(again.already)) == (0, 3)


def test_cells_may_carry_their_unit():
    # Source: 1 mil = 25.4 µm. Tolerance: rounding of a double.
    head = "kind,author,device_time,joint,what.method,what.crew,what.surface,what.teeth,what.last_wet,what.width\n"
    row = "comb,lead,2024-05-03T09:00:00-05:00,S1,liquid,B,panel,16 18 20 22 mil,{},\n"
    found = import_csv(head + row.format("20 mil") + row.format("none") + row.format("22 mil"))
    assert found[0].what["notches_um"] == pytest.approx([406.4, 457.2, 508.0, 558.8])
    assert (found[0].what["last_wet_um"], found[0].what["next_dry_um"]) == pytest.approx((508.0, 558.8))
    assert "last_wet_um" not in found[1].what
    assert found[1].what["next_dry_um"] == pytest.approx(406.4)
    assert "next_dry_um" not in found[2].what
    raw = head.replace("what.teeth", "what.teeth_um") + row.format("0.5 mm").replace(
        "16 18 20 22 mil", "400 500 600"
    )
    assert import_csv(raw)[0].what["next_dry_um"] == 600
    with pytest.raises(InputError) as caught:
        import_csv(head + row.format("20 mil") + row.format("twenty"), "log.csv")
    assert (caught.value.problems[0].where.line, caught.value.problems[0].where.key) == (3, "what.last_wet")


def test_import_lists_bodies_that_differ(store, sending):
    append_all(store, "h", import_csv(HAND), sending)
    text = export_csv(list_entries(store, "h")).replace('""last_wet_um"": 600', '""last_wet_um"": 550')
    outcome = append_all(store, "h", import_csv(text), sending)
    assert (len(outcome.already), len(outcome.differing)) == (2, 1)


def test_every_problem_has_its_line(tmp_path):
    text = "kind,author,device_time,what\nremark,a,2024-05-03T09:00:00,{}\nremark,a,2024-05-03T09:00:00Z,{bad\nnonsense,a,2024-05-03T09:00:00Z,{}\n"
    with pytest.raises(InputError) as caught:
        import_csv(text, "log.csv")
    assert [(problem.where.file, problem.where.line) for problem in caught.value.problems] == [
        ("log.csv", 2),
        ("log.csv", 3),
        ("log.csv", 4),
    ]


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"\xff\xfe\x00junk",
        b"kind,author\n",
        b"kind,author,device_time,kind\n",
        b"kind,author,device_time,colour\n",
        b'kind,author,device_time\n"open',
        b"kind,author,device_time\na,b\n",
        b"kind,author,device_time,what\nremark,a,2024-05-03T09:00:00Z," + b"[" * 5000,
        b"kind,author,device_time,what\nremark,a,2024-05-03T09:00:00Z,[]",
        b"kind,author,device_time,x_m,what.text\nremark,a,2024-05-03T09:00:00Z,1,t",
        b"kind,author,device_time,x_m,y_m,z_m,what.text\nremark,a,2024-05-03T09:00:00Z,1,nan,1e999,t",
        b"kind,author,device_time,what.text\nremark,a,2024-05-03T09:00:00Z,\x00" + b"y" * 200_000,
    ],
)
def test_junk_is_refused_without_a_traceback(text):
    with pytest.raises(InputError) as caught:
        import_csv(text, "x.csv")
    assert caught.value.problems


def test_a_huge_file_is_refused_at_once():
    with pytest.raises(InputError, match="table can't be taken in"):
        import_csv(b"x" * (50 * 2**20 + 1))


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200) | st.binary(max_size=200))
def test_any_text_is_read_or_refused(junk):
    with contextlib.suppress(InputError):
        import_csv(junk)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.dictionaries(st.sampled_from(COLUMNS), st.text(max_size=12)), min_size=1, max_size=3))
def test_any_cells_under_the_right_header_are_read_or_refused(rows):
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="")
    writer.writeheader()
    writer.writerows(rows)
    with contextlib.suppress(InputError):
        import_csv(out.getvalue())


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=50).filter(bool))
def test_any_remark_survives(text):
    row = {
        "kind": "remark",
        "author": "a",
        "device_time": "2024-05-03T09:00:00Z",
        "what": json.dumps({"text": text}),
    }
    out = io.StringIO()
    writer = csv.DictWriter(out, list(row))
    writer.writeheader()
    writer.writerow(row)
    first = import_csv(out.getvalue())
    assert first[0].what["text"] == text
    assert import_csv(export_csv(first))[0].to_json() == first[0].to_json()


# --- workbooks

NO_ZONE = datetime.fromisoformat("2024-05-03T09:00:00")  # as a spreadsheet gives it


def workbook(rows):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_workbook_is_taken_in():
    head = [
        "kind",
        "author",
        "device_time",
        "joint",
        "x_m",
        "y_m",
        "z_m",
        "what.tried",
        "what.failed",
        "what.note",
    ]
    data = workbook(
        [
            head,
            ["probe", "lead", "2024-05-03T09:00:00Z", "S1", 1.5, 2, 0, 4, 0.0, None],
            [None] * 10,
            ["probe", "lead", "2024-05-03T09:00:00Z", "S1", None, None, None, 3, 1, "=1+1"],
        ]
    )
    first, second = import_xlsx(data)
    assert first.what == {"tried": 4, "failed": 0}
    assert first.spot.place == (1.5, 2.0, 0.0)
    assert second.what["failed"] == 1
    assert import_xlsx(data)[0].id == first.id


def test_a_workbook_names_the_row_of_each_problem():
    data = workbook(
        [
            ["kind", "author", "device_time"],
            ["remark", "a", "yesterday"],
            ["remark", "a", NO_ZONE],
        ]
    )
    with pytest.raises(InputError) as caught:
        import_xlsx(data, "log.xlsx")
    assert {(problem.where.file, problem.where.line) for problem in caught.value.problems} == {
        ("log.xlsx", 2),
        ("log.xlsx", 3),
    }


def zipped(entries):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return out.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"PK\x03\x04junk",
        zipped({"a.txt": b"x"}),
        workbook([["kind"]])[:-200],
        workbook([]),
        workbook([["kind", "colour"], ["a", "b"]]),
    ],
)
def test_what_is_no_workbook_of_a_log_is_refused(data):
    with pytest.raises(InputError) as caught:
        import_xlsx(data, "x.xlsx")
    assert caught.value.problems


def test_a_zip_bomb_is_refused_before_it_opens():
    bomb = zipped({"xl/worksheets/sheet1.xml": bytes(210 * 2**20)})
    assert len(bomb) < 2**20
    with pytest.raises(InputError) as caught:
        import_xlsx(bomb)
    assert "unpacks" in caught.value.problems[0].message


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.lists(
            st.none()
            | st.integers(-5, 5)
            | st.floats(allow_nan=False, allow_infinity=False)
            | st.booleans()
            | st.sampled_from(["remark", "a", "2024-05-03T09:00:00Z", "{}", "x"]),
            max_size=4,
        ),
        max_size=3,
    )
)
def test_any_cells_of_a_workbook_are_read_or_refused(rows):
    with contextlib.suppress(InputError):
        import_xlsx(workbook([["kind", "author", "device_time", "what"], *rows]))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (4.0, "4"),
        (-0.5, "-0.5"),
        (True, "true"),
        (None, ""),
        ("x", "x"),
        (1e16, "1e+16"),
        (NO_ZONE, "2024-05-03T09:00:00"),
    ],
)
def test_cells_become_the_text_a_csv_would_hold(value, text):
    assert cell_text(value) == text
