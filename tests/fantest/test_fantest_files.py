"""Files in: the three kinds agree, units either way, and a zoo of bad ones."""

from __future__ import annotations

import io

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.errors import FanTestError, HullwrightError
from hullwright.fantest import analyse
from hullwright.readers.fantest_batch import read_table
from hullwright.readers.fantest_files import STARTER_YAML, read_fantest, starter, starter_bytes

SI = """\
standard: ISO 9972
units: {pressure: Pa, flow: m3/h}
building: {volume: 500 m3, envelope: 480 m2, envelope_basis: six-sided, floor: 200 m2, height: 5.2 m}
air: {inside: 21 C, outside: 4 C, altitude: 120 m, wind: 1.5 m/s}
device: {name: fan 1, reads: actual, accuracy: 5 %}
gauge: {accuracy: 1 %}
directions:
  - direction: depressurization
    zero_before: {mean: -1.6}
    zero_after: {mean: -1.2}
    stations:
      - {pressure: -61.8, flow: 291}
      - {pressure: -51.2, flow: 257.5}
      - {pressure: -40.7, flow: 222}
      - {pressure: -30.9, flow: 184.5}
      - {pressure: -20.9, flow: 141.5}
"""
CFM, INWG = 1.69901079552, 249.08891


def us():
    """Write the same test in US units, to 12 digits."""
    rows = [(-61.8, 291), (-51.2, 257.5), (-40.7, 222), (-30.9, 184.5), (-20.9, 141.5)]
    stations = "".join(f"      - {{pressure: {p / INWG:.14f}, flow: {q / CFM:.12f}}}\n" for p, q in rows)
    return f"""\
standard: ISO 9972
units: {{pressure: inwg, flow: cfm}}
building: {{volume: {500 / 0.3048**3:.9f} ft3, envelope: {480 / 0.3048**2:.9f} ft2, envelope_basis: six-sided, floor: {200 / 0.3048**2:.9f} ft2, height: {5.2 / 0.3048:.12f} ft}}
air: {{inside: 69.8 F, outside: 39.2 F, altitude: {120 / 0.3048:.10f} ft, wind: {1.5 / 0.44704:.10f} mph}}
device: {{name: fan 1, reads: actual, accuracy: 5 %}}
gauge: {{accuracy: 1 %}}
directions:
  - direction: depressurization
    zero_before: {{mean: {-1.6 / INWG:.14f}}}
    zero_after: {{mean: {-1.2 / INWG:.14f}}}
    stations:
{stations}"""


def numbers(node, path=""):
    if isinstance(node, dict):
        for key, value in node.items():
            yield from numbers(value, f"{path}.{key}")
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield from numbers(value, f"{path}[{index}]")
    elif isinstance(node, float):
        yield path, node


def test_us_units_in_are_si_units_in():
    """Every number of the answer is the same to 1e-9 (closed form; tolerance: digits written in the file)."""
    first = analyse(read_fantest(SI.encode(), "si.yaml")).to_json()
    second = analyse(read_fantest(us().encode(), "us.yaml")).to_json()
    for json in (first, second):
        json.pop("raw")
    theirs = dict(numbers(second))
    seen = 0
    for path, value in numbers(first):
        assert theirs[path] == pytest.approx(value, rel=1e-9, abs=1e-9), path
        seen += 1
    assert seen > 150


def test_the_three_starters_hold_the_same_test():
    yaml = read_fantest(starter_bytes("yaml"), "a.yaml")
    table = read_fantest(starter_bytes("csv"), "a.csv")
    book = read_fantest(starter_bytes("xlsx"), "a.xlsx")
    for other in (table, book):
        assert [(s.pressure_pa, s.flow_m3_h) for s in other.runs[0].stations] == [
            (s.pressure_pa, pytest.approx(s.flow_m3_h)) for s in yaml.runs[0].stations
        ]
        assert other.weather == yaml.weather
        assert other.device == yaml.device
        # Source: constructed case. Tolerance: printed digits.
        assert analyse(other).directions[0].n == pytest.approx(0.6407099, abs=6e-8)
        assert analyse(other).flow(50.0) == pytest.approx(247.2441, abs=6e-5)
    assert yaml.runs[0].before.mean == pytest.approx(-1.6)
    assert analyse(yaml).flow(50.0) == pytest.approx(247.2441, abs=6e-5)


def test_a_starter_of_another_kind_is_refused():
    with pytest.raises(HullwrightError):
        starter("pdf")
    assert starter("yaml") == STARTER_YAML


def test_inches_of_water_in_trade_writing():
    text = SI.replace("pressure: -61.8,", "pressure: -0.2481 in. w.g.,").replace(
        "pressure: -51.2,", 'pressure: "-0.2055 inH2O",'
    )
    run = read_fantest(text.encode(), "a.yaml").runs[0]
    assert run.stations[0].pressure_pa == pytest.approx(-0.2481 * INWG)
    assert run.stations[1].pressure_pa == pytest.approx(-0.2055 * INWG)


def change(old, new, text=SI):
    assert old in text
    return text.replace(old, new).encode()


ZOO = {
    "empty": (b"", "empty"),
    "blank": (b"   \n\n", "empty"),
    "a list": (b"- 1\n- 2\n", "a table of keys"),
    "binary": (b"\x00\x01\x02\x03standard", "not plain text"),
    "not utf-8": (b"house: \xff\xfehello \xff", "not UTF-8"),
    "utf-16": ("house: a".encode("utf-16"), "UTF-16"),
    "cut off": (SI[: SI.index("flow: 222")].encode() + b"flow: {", "YAML"),
    "a tab": (b"building:\n\tvolume: 3 m3\n", "YAML"),
    "alias": (b"a: &x [1]\nb: *x\n", "anchors"),
    "tag": (b"house: !!python/object:os.system x\n", "tags"),
    "two documents": (SI.encode() + b"---\nhouse: b\n", "second document"),
    "deep": (b"house: " + b"[" * 200 + b"]" * 200, "too deep"),
    "twice": (change("standard: ISO 9972", "standard: ISO 9972\nstandard: ISO 9972"), "twice"),
    "too large": (b"#" * 5_000_001, "too large"),
    "unknown key": (change("building: {volume: 500 m3", "building: {volum: 500 m3"), "did you mean volume"),
    "unknown standard": (change("ISO 9972", "ISO 1234"), "no such standard"),
    "no standard": (change("standard: ISO 9972\n", ""), "standard is missing"),
    "e1827 needs a procedure": (change("ISO 9972", "ASTM E1827"), "needs a procedure"),
    "no unit": (change("volume: 500 m3", "volume: 500"), "write the unit"),
    "wrong unit": (change("volume: 500 m3", "volume: 500 ft"), "can't be read"),
    "negative volume": (change("volume: 500 m3", "volume: -500 m3"), "out of range"),
    "decimal comma": (change("-61.8", '"-61,8"'), "can't be read"),
    "nan": (change("-61.8", ".nan"), "can't be read"),
    "infinite": (change("flow: 291", "flow: .inf"), "can't be read"),
    "words for numbers": (change("flow: 291", "flow: much"), "can't be read"),
    "no density": (change("altitude: 120 m, ", ""), "density of the air"),
    "no temperature": (change("inside: 21 C, ", ""), "inside is missing"),
    "no flow": (change(", flow: 291", ""), "no flow"),
    "no direction": (change("direction: depressurization", "direction: inwards"), "not known here"),
    "no readout": (change("reads: actual, ", ""), "reads is missing"),
    "indicated without density": (change("reads: actual", "reads: indicated"), "calibration density"),
    "share over one": (change("accuracy: 5 %", "accuracy: 500 %"), "share"),
    "device pressure without a law": (change("flow: 291", "device_pressure: 120"), "no calibration law"),
    "bias twice": (
        change("zero_before: {mean: -1.6}", "bias_removed: true\n    zero_before: {mean: -1.6}"),
        "twice",
    ),
    "stations no list": (SI[: SI.index("stations:")].encode() + b"stations: none\n", "a list of stations"),
    "directions missing": (SI[: SI.index("directions:")].encode(), "directions is missing"),
}


@pytest.mark.parametrize("name", ZOO)
def test_bad_files_are_refused_with_place_and_way_out(name):
    raw, words = ZOO[name]
    with pytest.raises(FanTestError) as caught:
        read_fantest(raw, "bad.yaml")
    assert words in str(caught.value)
    assert caught.value.problems
    assert all(problem.where.file == "bad.yaml" for problem in caught.value.problems)


def test_all_problems_come_at_once_with_line_and_column():
    text = (
        change("flow: 291", "flow: much")
        .decode()
        .replace("volume: 500 m3", "volume: lots")
        .replace("-20.9", "low")
    )
    with pytest.raises(FanTestError) as caught:
        read_fantest(text.encode(), "bad.yaml")
    places = {(problem.where.line, problem.where.column) for problem in caught.value.problems}
    assert len(caught.value.problems) == 3
    assert places == {(3, 20), (12, 33), (16, 20)}


COMPUTE = {
    "wrong signs": (change("pressure: -", "pressure: "), "does not point the way"),
    "mixed signs": (change("pressure: -40.7", "pressure: 40.7"), "does not point the way"),
    "too few stations": (SI[: SI.index("      - {pressure: -40.7")].encode(), "too few stations"),
    "zero flow": (change("flow: 222", "flow: 0"), "can't be used"),
    "negative flow": (change("flow: 222", "flow: -222"), "can't be used"),
    "no bias": (
        SI.replace("    zero_before: {mean: -1.6}\n    zero_after: {mean: -1.2}\n", "").encode(),
        "no zero-flow",
    ),
    "one pressure": (
        SI.replace("-51.2", "-61.8")
        .replace("-40.7", "-61.8")
        .replace("-30.9", "-61.8")
        .replace("-20.9", "-61.8")
        .encode(),
        "same pressure",
    ),
    "single-point by ISO": (
        change("standard: ISO 9972", "standard: ISO 9972\nprocedure: single-point"),
        "has no single-point",
    ),
}


@pytest.mark.parametrize("name", COMPUTE)
def test_readings_that_can_not_be_computed(name):
    raw, words = COMPUTE[name]
    with pytest.raises(FanTestError) as caught:
        analyse(read_fantest(raw, "bad.yaml"))
    assert words in str(caught.value)
    assert caught.value.problems


def test_a_direction_twice_is_refused():
    twice = SI + SI[SI.index("  - direction") :]
    with pytest.raises(FanTestError, match="more than once"):
        analyse(read_fantest(twice.encode(), "bad.yaml"))


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"PK\x03\x04 no zip", "not a workbook"),
        (b"hello", "not a workbook"),
        (starter_bytes("xlsx")[:900], "not a workbook"),
    ],
)
def test_broken_workbooks(raw, words):
    with pytest.raises(FanTestError, match=words):
        read_fantest(raw, "bad.xlsx")


def test_a_workbook_without_the_sheets():
    book, out = openpyxl.Workbook(), io.BytesIO()
    book.save(out)
    with pytest.raises(FanTestError, match="missing or empty"):
        read_fantest(out.getvalue(), "bad.xlsx")


def test_csv_problems_have_row_and_column():
    text = starter("csv").replace("-51.2,257.5", "-51.2,much").replace("station,-40.7", "stashun,-40.7")
    with pytest.raises(FanTestError) as caught:
        read_fantest(text.encode(), "bad.csv")
    assert "unknown kind of reading" in str(caught.value)
    text = starter("csv").replace("-51.2,257.5", "-51.2,much")
    with pytest.raises(FanTestError) as caught:
        read_fantest(text.encode(), "bad.csv")
    where = caught.value.problems[0].where
    assert text.splitlines()[where.line - 1].split(",")[where.column - 1] == "much"


def test_csv_with_semicolons_and_laws():
    text = """\
test;;
standard;ASTM E779;
air.inside;70 F;
air.outside;50 F;
air.altitude;0 m;
device.reads;indicated;
device.density;0.0752 lb/ft3;
laws;;
setting;coefficient [cfm];exponent;from [Pa];to [Pa]
A;14;0.5;10;400
readings;;
direction;kind;pressure [Pa];device pressure [Pa];setting
pressurization;zero before;0.4
pressurization;zero before;-0.2
pressurization;zero after;0.1
pressurization;station;60;380;A
pressurization;station;45;262;A
pressurization;station;30;158;A
pressurization;station;20;95;A
pressurization;station;12;49;A
"""
    raw = read_fantest(text.encode(), "a.csv")
    assert raw.runs[0].before.readings_pa == (0.4, -0.2)
    assert raw.device.laws[0].coefficient_m3_h == pytest.approx(14 * CFM)
    # Source: closed form, 14 cfm * 380^0.5, indicated at 0.0752 lb/ft3, outdoor air of 50 F in the device.
    rho = 1.2041 * 293 / (273 + 10)
    first = 14 * CFM * 380**0.5 * (0.0752 * 0.45359237 / 0.3048**3 / rho) ** 0.5
    factor = analyse(raw).directions[0].reduced.factor[0]
    assert analyse(raw).directions[0].flow_m3_h[0] == pytest.approx(first * factor, rel=1e-9)


def test_unknown_ending():
    with pytest.raises(FanTestError, match="kind of this file"):
        read_fantest(b"x", "a.doc")


@given(st.binary(max_size=300))
@settings(max_examples=150, deadline=None)
@pytest.mark.parametrize("ending", ["yaml", "csv", "xlsx"])
def test_any_bytes_give_a_clear_error(ending, raw):
    with pytest.raises(FanTestError):
        read_fantest(raw, f"any.{ending}")


@given(st.integers(0, len(SI) - 1), st.sampled_from(list("{}[]:,-#&*!|>'\"%@`\n\t 0x\u00b5")))
@settings(max_examples=200, deadline=None)
def test_one_wrong_letter_gives_a_test_or_a_clear_error(place, letter):
    raw = (SI[:place] + letter + SI[place + 1 :]).encode()
    try:
        analyse(read_fantest(raw, "any.yaml"))
    except FanTestError as error:
        problems = error.problems
    else:
        return
    assert problems


TABLE = """\
test,direction,pressure [inwg],flow [cfm],zero before [Pa],zero after [Pa],inside [F],outside [F],altitude [ft],volume [ft3],exclude
a,depressurization,-0.24,170,-1.5,-1.0,70,40,300,17000,
a,depressurization,-0.16,131,,,,,,,
a,depressurization,-0.08,85,,,,,,,
b,pressurization,0.24,170,0,,70,40,300,,
b,pressurization,0.16,131,0,,70,40,300,,
b,pressurization,0.12,99,0,,70,40,300,,gust
b,pressurization,0.08,85,0,,70,40,300,,
"""


def test_table_of_tests():
    table = read_table(TABLE.encode(), "many.csv")
    assert table.names == ("a", "b")
    assert table.columns.pressure_pa[0, 0] == pytest.approx(-0.24 * INWG)
    assert table.columns.used.tolist() == [[True, True, True, False], [True, True, False, True]]
    assert table.columns.inside_c.tolist() == pytest.approx([(70 - 32) / 1.8] * 2)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("flow [cfm]", "flow", "unit of this column"),
        ("flow [cfm]", "flow [pa]", "unit of this column"),
        (",altitude [ft]", ",height [ft]", "unknown column"),
        ("test,direction", "test,test", "twice"),
        ("-0.24,170", "-0.24,much", "not a number"),
        ("a,depressurization,-0.24", "a,down,-0.24", "unknown direction"),
        ("b,pressurization,0.16,131,0", "b,pressurization,0.16,131,1", "differs between its rows"),
    ],
)
def test_bad_tables(old, new, words):
    with pytest.raises(FanTestError, match=words):
        read_table(TABLE.replace(old, new).encode(), "many.csv")


@pytest.mark.parametrize(
    "raw", [b"", b'test,"open', TABLE.splitlines()[0].encode() + b'\na,"' + b"x" * 200_000 + b'",1\n']
)
def test_tables_that_are_no_csv(raw):
    with pytest.raises(FanTestError):
        read_table(raw, "many.csv")


def test_a_table_too_uneven_is_refused(monkeypatch):
    monkeypatch.setattr("hullwright.readers.fantest_batch.MOST_CELLS", 5)
    with pytest.raises(FanTestError, match="too uneven"):
        read_table(TABLE.encode(), "many.csv")


def test_a_table_with_too_many_rows_is_refused(monkeypatch):
    monkeypatch.setattr("hullwright.readers.fantest_batch.MOST_ROWS", 5)
    with pytest.raises(FanTestError, match="too many rows"):
        read_table(TABLE.encode(), "many.csv")
