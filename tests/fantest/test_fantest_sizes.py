"""Every number of a fan test is one of the table of quantities; extremes are answered and never a traceback."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.app import fantest as use
from hullwright.errors import FanTestError, HullwrightError
from hullwright.fantest import analyse
from hullwright.fantest.bounds import parse
from hullwright.quantities import names
from hullwright.readers import fantest_batch, fantest_build
from hullwright.readers.fantest_batch import read_table
from hullwright.readers.fantest_files import read_fantest, starter
from hullwright.readers.fantest_sizes import QUANTITY, TEXTS

YAML, CSV = starter("yaml"), starter("csv")


def read(text, name="t.yaml"):
    return read_fantest(text.encode(), name)


def problems(text, name="t.yaml"):
    with pytest.raises(FanTestError) as caught:
        read(text, name)
    return caught.value.problems


def test_every_key_names_its_quantity_or_is_a_text():
    b = fantest_build
    tables = {
        "": b.ROOT, "building": b.BUILDING, "air": b.AIR, "device": b.DEVICE, "device.laws": b.LAW, "gauge": b.GAUGE,
        "weights": b.WEIGHTS, "directions": b.DIRECTION, "stations": b.STATION,
    }  # fmt: skip
    found = {f"{table}.{key}".lstrip(".") for table, keys in tables.items() for key in keys}
    assert found - set(QUANTITY) - TEXTS == set()
    assert set(QUANTITY) - found == {"zero.mean"}
    numeric = set(fantest_batch.NEEDED + fantest_batch.MAY) - {"test", "direction", "exclude", "sure"}
    assert set(fantest_batch.QUANTITY) == numeric
    assert {*QUANTITY.values(), *fantest_batch.QUANTITY.values()} <= set(names())


SEEN = [
    ("altitude: 120 m", "altitude: 5280 m", "air.altitude", "5280 ft?"),  # feet taken as meters
    ("volume: 500 m3", "volume: 1e308 m3", "building.volume", ""),
    ("flow: 291}", "flow: 1e308}", "stations.flow", ""),
    ("pressure: -61.8,", "pressure: -61800,", "stations.pressure", ""),
    ("inside: 21 C", "inside: 70 C", "air.inside", "70 F?"),
    ("altitude: 120 m ", "barometer: 29.9 Pa ", "air.barometer", "29.9 inHg?"),
    ("[-1.5, ", "[-150, ", "directions.zero_before", ""),
    ("wind: 1.5 m/s", "wind: 60 m/s", "air.wind", "60 km/h?"),
    ("date: 2026-05-04", "date: 2026-02-31", "date", "year-month-day"),
    ("date: 2026-05-04", "date: 05/04/2026", "date", "May or in April"),
    ("date: 2026-05-04", "date: 0026-05-04", "date", "year"),
    ("volume: 500 m3", 'volume: "500,5 m3"', "building.volume", "write 500.5"),
]


@pytest.mark.parametrize(("old", "new", "key", "hint"), SEEN)
def test_what_can_not_be_meant_is_refused_or_asked(old, new, key, hint):
    assert old in YAML
    (found,) = problems(YAML.replace(old, new, 1))
    assert (found.where.key or key) == key
    assert found.where.line
    assert hint in found.hint
    assert found.got


@pytest.mark.parametrize("text", ["May 4, 2026", "4 May 2026", "2026/05/04", "2026-05-04"])
def test_a_day_that_can_be_read_in_one_way_is_read(text):
    assert read(YAML.replace("date: 2026-05-04", f"date: {text}")).date == "2026-05-04"


def test_sure_answers_in_every_form_of_the_file():
    high = YAML.replace("altitude: 120 m", "sure: [altitude]\n  altitude: 5280 m")
    assert read(high).weather.altitude_m == 5280
    assert read(high).remarks == ()
    wide = YAML.replace("{pressure: -61.8, flow: 291}", "{pressure: -170, flow: 600, sure: [pressure]}")
    assert read(wide).runs[0].stations[0].pressure_pa == -170
    left_out = YAML.replace(
        "{pressure: -61.8, flow: 291}", "{pressure: -170, flow: 600, exclude: a door opened}"
    )
    assert read(left_out).runs[0].stations[0].exclude
    csv = CSV.replace("air.altitude,120 m", "air.sure,altitude\nair.altitude,5280 m")
    assert read(csv, "t.csv").weather.altitude_m == 5280
    many = (
        "test,direction,pressure [Pa],flow [m3/h],zero before [Pa],inside [C],outside [C],altitude [m],sure\n"
    )
    rows = "a,depressurization,-50,300,0,20,10,5280,{}\na,depressurization,-30,215,0,20,10,5280,{}\n"
    assert (
        read_table((many + rows.format("altitude", "altitude")).encode(), "m.csv").columns.altitude_m[0]
        == 5280
    )
    with pytest.raises(FanTestError) as caught:
        read_table((many + rows.format("", "")).encode(), "m.csv")
    assert [one.where.line for one in caught.value.problems] == [2, 3]
    assert all("5280 ft?" in one.hint for one in caught.value.problems)


def test_sure_of_nothing_is_refused_and_an_idle_one_is_said():
    (found,) = problems(YAML.replace("altitude: 120 m", "sure: [height]\n  altitude: 120 m"))
    assert "height" in found.message
    raw = read(YAML.replace("altitude: 120 m", "sure: [altitude]\n  altitude: 120 m"))
    assert len(raw.remarks) == 1
    assert [flag for flag in analyse(raw).flags if "answers nothing" in flag.text]


EXTREMES = ["1e308", "-1e308", "1e-308", "5e-324", "0", "-0", "-1", "nan", "inf", "-inf", ".inf", "1e999", "9" * 400, "3,5", "-"]  # fmt: skip
SPOTS = [
    "volume: 500 m3", "envelope: 480 m2", "floor: 200 m2", "height: 5.2 m", "volume_accuracy: 2 %", "inside: 21 C",
    "outside: 4 C", "altitude: 120 m", "wind: 1.5 m/s", "accuracy: 5 %", "accuracy_pressure: 0.15 Pa", "pressure: -61.8",
    "flow: 291", "flow: 116",
]  # fmt: skip


def answered(text, tmp_path):
    file = tmp_path / "t.yaml"
    file.write_text(text, "utf-8")
    try:
        json.dumps(use.analyse(str(file), against=["3 ach50", "0.25 cfm75/ft2"]).to_json(), allow_nan=False)
    except HullwrightError as error:
        assert str(error).strip()  # noqa: PT017  either an answer or words


@settings(max_examples=250, deadline=None)
@given(spots=st.lists(st.sampled_from(SPOTS), min_size=1, max_size=3, unique=True), values=st.lists(st.sampled_from(EXTREMES), min_size=3, max_size=3))  # fmt: skip
def test_extremes_are_answered_and_never_a_traceback(tmp_path_factory, spots, values):
    text = YAML
    for spot, value in zip(spots, values, strict=False):
        key, _, rest = spot.partition(": ")
        unit = rest.partition(" ")[2]
        text = text.replace(spot, f"{key}: {value} {unit}".rstrip(), 1)
    answered(text, tmp_path_factory.mktemp("fan"))


# Usual values at their very ends, in any mixture, must be computed or refused in words too.
ENDS = {
    "volume: 500 m3": ("15 m3", "100000 m3"), "envelope: 480 m2": ("25 m2", "200000 m2"), "inside: 21 C": ("-25 C", "42 C"),
    "outside: 4 C": ("-30 C", "48 C"), "altitude: 120 m": ("-100 m", "3600 m"), "flow: 291": ("1", "1000000"),
    "pressure: -61.8": ("-160", "160"), "height: 5.2 m": ("1.8 m", "150 m"),
}  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(ENDS)), st.booleans(), min_size=1))
def test_the_ends_of_the_usual_are_answered(tmp_path_factory, ends):
    text = YAML
    for spot, high in ends.items():
        text = text.replace(spot, f"{spot.partition(':')[0]}: {ENDS[spot][high]}", 1)
    answered(text, tmp_path_factory.mktemp("fan"))


@pytest.mark.parametrize("cell", EXTREMES)
def test_extremes_in_a_table_of_many(cell):
    head = "test,direction,pressure [Pa],flow [m3/h],zero before [Pa],inside [C],outside [C],altitude [m],volume [m3]\n"
    row = ["a", "depressurization", "-50", "300", "0", "20", "10", "100", "500"]
    for column in range(2, 9):
        cells = [*row[:column], f'"{cell}"', *row[column + 1 :]]
        try:
            read_table((head + ",".join(cells) + "\n").encode(), "m.csv")
        except FanTestError as error:
            assert error.problems[0].where.line == 2  # noqa: PT017


@pytest.mark.parametrize("text", ["9" * 400 + " ach50", "1e308 ach50", "nan ach50", "0 ach50", "3,5 ach50"])
def test_a_limit_that_can_not_be_is_refused(text):
    with pytest.raises(FanTestError):
        parse(text)
