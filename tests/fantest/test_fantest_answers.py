"""Limits, flags, series, batch, picture and the use cases."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from hullwright.app import fantest as app
from hullwright.app.schemas import schema
from hullwright.errors import FanTestError, OutputError
from hullwright.fantest import (
    Answer,
    Building,
    Columns,
    Device,
    Gauge,
    Procedure,
    Readout,
    Run,
    Sense,
    Station,
    Weather,
    ZeroFlow,
    analyse,
    analyse_columns,
    answer,
    example,
    limits,
    pack,
    resolve,
    standards,
    steps,
)
from hullwright.fantest.bounds import parse
from hullwright.fantest.flags import check_rules
from hullwright.fantest.terms import Accuracy
from hullwright.readers.fantest_files import starter, starter_bytes
from hullwright.report.fantest_plot import fantest_plot


def house(ach50, *, spread=0.05, sense=Sense.DEPRESSURIZATION, **more):
    """A test that gives exactly this many air changes; device accuracy `spread`, no other error."""
    dp = np.array([62.0, 52.0, 43.0, 34.0, 25.0, 16.0, 9.0])
    flow = ach50 * 500.0 * (dp / 50.0) ** 0.65
    stations = tuple(Station(float(sense.sign * p), float(q)) for p, q in zip(dp, flow, strict=True))
    zero = ZeroFlow((0.0,), mean_only=True)
    raw = replace(
        example(),
        weather=Weather(20.0, 20.0, altitude_m=0.0, wind_m_s=1.0),
        device=Device("fan", Readout.ACTUAL, accuracy=spread),
        gauge=Gauge("gauge", accuracy=0.0, accuracy_pa=0.0),
        runs=(Run(sense, stations, zero, zero),),
    )
    return replace(raw, **more)


@pytest.mark.parametrize(
    ("ach50", "expected"),
    [
        (2.8, Answer.MET),
        (2.857, Answer.MET),
        (2.86, Answer.OPEN),
        (3.0, Answer.OPEN),
        (3.14, Answer.OPEN),
        (3.16, Answer.NOT_MET),
    ],
)
def test_three_answers(ach50, expected):
    """With 5 % the interval of 2.857 ends at 3.000 and that of 3.15 begins there (closed form)."""
    assert answer(analyse(house(ach50)), "3 ach50").answer is expected


def test_margin_counts_half_widths():
    found = answer(analyse(house(2.0)), "3 ach50")
    # Source: closed form, (3 - 2)/(2*1.05 - 2) = 10; beyond the limit (3 - 4)/(4 - 4/1.05).
    assert found.margin == pytest.approx(10.0, rel=1e-6)
    assert answer(analyse(house(4.0)), "3 ach50").margin == pytest.approx(-1.0 / (4 - 4 / 1.05), rel=1e-6)


def test_limits_are_decided_at_95_whatever_is_shown():
    shown = analyse(house(2.8), level=0.80)
    assert answer(shown, "3 ach50").result.level == 0.95


def test_size_accuracy_widens_the_answer():
    rough = replace(house(2.8), building=replace(example().building, volume_accuracy=0.10))
    assert answer(analyse(house(2.8)), "3 ach50").answer is Answer.MET
    assert answer(analyse(rough), "3 ach50").answer is Answer.OPEN


# Source: exact conversions, 1 cfm/ft2 = 5.08 L/(s m2) = 18.288 m3/(h m2); codes print 0.02, 0.2, 1.25, 2.0.
@pytest.mark.parametrize(
    ("us", "exact", "printed"),
    [(0.004, 0.02032, 0.02), (0.04, 0.2032, 0.2), (0.25, 1.27, 1.25), (0.40, 2.032, 2.0)],
)
def test_si_and_us_limits_are_not_the_same(us, exact, printed):
    area = Building(envelope_m2=100.0)
    first, second = (
        parse(f"{us} cfm75/ft2").measure(area),
        parse(f"{printed} L/(s m2) at 75 Pa").measure(area),
    )
    assert us / first.factor * second.factor == pytest.approx(exact, rel=1e-9)
    assert exact == pytest.approx(printed, rel=0.02)  # the code's own rounding


@pytest.mark.parametrize(
    ("text", "flow", "pressure"),
    [
        ("3 ach50", 1500.0, 50.0),
        ("3 ACH 50", 1500.0, 50.0),
        ("0.6 1/h at 50 Pa", 300.0, 50.0),
        ("n50", None, None),
        ("882.866 cfm50", 1500.0, 50.0),
        ("0.25 cfm75/ft2", 0.25 * 18.288 * 480, 75.0),
        ("0.25 cfm/ft2 at 75 Pa", 0.25 * 18.288 * 480, 75.0),
        ("0.28 cfm50/ft2 of floor", 0.28 * 18.288 * 200, 50.0),
        ("1.2 m3/(h m2) at 50 Pa", 1.2 * 480, 50.0),
        ("1.2 m³/h/m² @ 50 Pa", 1.2 * 480, 50.0),
        ("2.0 L/(s·m2) at 75 Pa", 2.0 * 3.6 * 480, 75.0),
        ("100 L/s at 50 Pa", 360.0, 50.0),
        ("3 ach25", None, None),
        ("0 ach50", None, None),
        ("-1 ach50", None, None),
        ("3 apples", None, None),
    ],
)
def test_limits_as_people_write_them(text, flow, pressure):
    if flow is None:
        with pytest.raises(FanTestError):
            resolve(text)
        return
    bound = resolve(text)[1].bounds[0]
    scale = bound.measure(example().building)
    # Source: closed form. Tolerance: digits of the cfm figure.
    assert bound.value / scale.factor == pytest.approx(flow, rel=1e-5)
    assert scale.pressure_pa == pressure


def test_area_limits_against_hand_sums():
    # Source: closed form, ELA [cm2] over A; 0.7 cm2/m2 of 480 m2 is 336 cm2.
    scale = parse("0.7 cm2/m2 eqla").measure(example().building)
    result = analyse(example())
    assert result.spread(scale).value == pytest.approx(98.34708 / 480, rel=1e-6)  # constructed case
    assert result.spread(parse("10 in2 ela").measure(example().building)).value == pytest.approx(
        52.82124 / 6.4516, rel=1e-6
    )
    nl = result.spread(parse("0.5 nl").measure(example().building)).value
    assert nl == pytest.approx(0.1 * 52.82124 / 200 * (5.2 / 2.5) ** 0.4, rel=1e-6)


def test_every_stored_limit_answers():
    result = analyse(house(1.0))
    for limit in limits().values():
        for row in limit.rows:
            zone = f" zone {row.zones[0]}" if row.zones else ""
            found = answer(result, limit.id + zone)
            assert found.result is not None
            assert found.source.evidence.source
            assert json.dumps(found.to_json())


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("iecc-2018 zone 2", 5.0), ("iecc-2018 zone 3", 3.0), ("iecc-2018@8", 3.0), ("iecc-2024 zone 6", 2.5),
        ("iecc-2024 cz 4a", 3.0), ("energy-star-3.0 zone 5", 4.0), ("iecc-2009", 7.0), ("us-army-corps", 0.25), ("gsa-2010", 0.40),
    ],
)  # fmt: skip
def test_stored_limits(text, value):
    # Source: tables of codes as listed in the data file with their marks.
    assert resolve(text)[1].bounds[0].value == value


@pytest.mark.parametrize("text", ["iecc-2018", "iecc-2018 zone 9", "iecc-2019", "passiv-house", "", "zone 5"])
def test_limits_that_are_not_there(text):
    with pytest.raises(FanTestError) as caught:
        resolve(text)
    assert caught.value.problems[0].allowed


def test_either_bound_will_do_and_all_bounds_must_hold():
    big = replace(example().building, envelope_m2=20000.0)
    leaky = house(6.0)
    assert answer(analyse(leaky), "iecc-2021").answer is Answer.NOT_MET
    assert (
        answer(analyse(replace(leaky, building=big)), "iecc-2021").answer is Answer.MET
    )  # by the area bound
    # 0.05 cfm50/ft2 and 0.08 cfm75/ft2: at 0.055 cfm50/ft2 and n 0.65 the first fails (0.0524 at least), the second holds.
    tight = house(0.04 * 18.288 * 480 / 500)
    assert answer(analyse(tight), "phius-2015").answer is Answer.MET
    assert answer(analyse(house(0.055 * 18.288 * 480 / 500)), "phius-2015").answer is Answer.NOT_MET


def test_limit_by_compactness_is_linear_between_its_points():
    """V/A 3 m: 4.5 1/h (closed form); 500/480 = 1.04 m: 6."""
    assert answer(analyse(house(1.0)), "spain-he1-2019").bound.value == 6.0
    middle = replace(house(1.0), building=replace(example().building, envelope_m2=500 / 3))
    assert answer(analyse(middle), "spain-he1-2019").bound.value == pytest.approx(4.5)


def test_what_a_limit_needs_and_the_test_lacks():
    one = answer(analyse(house(0.3)), "passive-house")
    assert one.answer is Answer.OPEN
    assert "mean of both directions" in one.because[0]
    bare = answer(analyse(replace(house(0.3), building=Building())), "0.6 ach50")
    assert (bare.answer, bare.margin) == (Answer.OPEN, None)
    assert "volume" in bare.because[0]


def test_a_void_test_decides_nothing():
    raw = house(0.3)
    bad = replace(
        raw,
        runs=(
            replace(
                raw.runs[0], before=ZeroFlow((6.0,), mean_only=True), after=ZeroFlow((-6.0,), mean_only=True)
            ),
        ),
    )
    result = analyse(bad)
    assert result.void
    assert answer(result, "3 ach50").answer is Answer.OPEN
    assert "void" in answer(result, "3 ach50").because[0]


def flagged(raw, words):
    return [flag for flag in analyse(raw).flags if words in flag.text]


def run_of(dp, flow, **more):
    raw = house(1.0)
    stations = tuple(Station(-float(p), float(q)) for p, q in zip(dp, flow, strict=True))
    return replace(raw, runs=(replace(raw.runs[0], stations=stations),), **more)


DP = np.array([60.0, 50.0, 40.0, 30.0, 20.0, 10.0])


@pytest.mark.parametrize(
    ("raw", "words", "kind"),
    [
        (run_of(DP, 30 * DP**0.45), "n = 0.450 is below 0.5", "void"),
        (run_of(DP, 30 * DP**1.05), "n = 1.050 is above 1", "void"),
        (run_of(DP, 30 * DP**-0.4), "falls while the pressure rises", "check"),
        (run_of(DP, 30 * DP**0.65 * np.array([1, 1.3, 0.8, 1.2, 0.7, 1.2])), "r2 =", "void"),
        (run_of(DP[:4], 30 * DP[:4] ** 0.65), "4 stations count", "outside"),
        (run_of(DP[2:], 30 * DP[2:] ** 0.65), "highest station is 40.0 Pa", "outside"),
        (run_of(np.array([60, 45, 30, 20, 10.0]), 30 * np.array([60, 45, 30, 20, 10.0]) ** 0.65), "largest step", "outside"),
        (run_of(DP, 30 * DP**0.80), "outside 0.53 to 0.76", "check"),
        (run_of(DP, 30 * DP**0.65 * np.array([1, 1, 1.15, 1, 1, 1])), "station 3", "check"),
        (run_of(DP / 249, 900 * (DP / 249) ** 0.65), "inches of water", "check"),
        (run_of(DP, 3000 * DP**0.65), "air changes an hour at 50 Pa", "check"),
        (house(1.0, building=Building(500.0, 200.0, 200.0, 5.2)), "can't enclose", "check"),
        (house(1.0, building=Building(500.0, 480.0, 5000.0, 5.2)), "volume over floor", "check"),
        (house(1.0, weather=Weather(70.0, 20.0, altitude_m=0.0)), "°C inside", "check"),
        (house(1.0, weather=Weather(20.0, 20.0, altitude_m=0.0, wind_m_s=5.0)), "the wind was 5.0 m/s", "outside"),
        (house(1.0, weather=Weather(21.0, -40.0, altitude_m=0.0)), "height times temperature", "outside"),
    ],
)  # fmt: skip
def test_flags(raw, words, kind):
    found = flagged(raw, words)
    assert found
    assert found[0].kind == kind
    assert found[0].clause
    assert found[0].mark.value


def test_a_clean_test_has_no_flag_but_the_ones_that_are_true():
    quiet = ("only depressurization", "mean zero-flow pressure")
    assert [
        flag.text for flag in analyse(house(1.0)).flags if not any(word in flag.text for word in quiet)
    ] == []


def test_e3158_has_its_own_window():
    """0.45 to 1.0 (E3158-18 9.5.1), where ISO 9972 has 0.5."""
    raw = run_of(DP, 300 * DP**0.47, standard="ASTM E3158")
    assert not any(flag.kind == "void" for flag in analyse(raw).flags)
    assert any(flag.kind == "void" for flag in analyse(replace(raw, standard="ISO 9972")).flags)


def test_gusts_on_the_zero_are_told():
    raw = house(1.0)
    calm, gusty = ZeroFlow((0.1, -0.1, 0.0, 0.05)), ZeroFlow((1.0, -1.0, 0.4, -0.4))
    for zero, told in ((calm, False), (gusty, True)):
        run = replace(raw.runs[0], before=zero, after=zero)
        assert bool(flagged(replace(raw, runs=(run,)), "too narrow an interval")) is told


def test_unit_slip_between_the_directions_is_asked():
    down, up = house(1.0), house(2.11888, sense=Sense.PRESSURIZATION)
    both = replace(down, runs=(*down.runs, *up.runs))
    assert any("cfm and L/s" in flag.text for flag in analyse(both).flags)


def test_every_rule_of_every_standard_is_looked_at():
    for standard in standards().values():
        check_rules(standard)
    odd = replace(
        standards()["iso9972"], rules=(replace(standards()["iso9972"].rules[0], name="moon_phase"),)
    )
    with pytest.raises(FanTestError, match="moon_phase"):
        check_rules(odd)


def test_exclusion_keeps_the_reading_and_shows_both_results():
    raw = run_of(DP, 30 * DP**0.65 * np.array([1, 1, 1.15, 1, 1, 1]))
    stations = list(raw.runs[0].stations)
    stations[2] = replace(stations[2], exclude="a door opened")
    out = analyse(replace(raw, runs=(replace(raw.runs[0], stations=tuple(stations)),))).to_json()[
        "directions"
    ][0]
    assert out["stations"] == 5
    assert out["excluded"] == [{"station": 3, "reason": "a door opened"}]
    assert out["n"] == pytest.approx(0.65, abs=1e-9)
    assert out["all_stations"]["stations"] == 6
    assert out["all_stations"]["q50_m3_h"] == pytest.approx(analyse(raw).flow(50.0), rel=1e-12)
    assert len(out["points"]) == 6


def test_series_of_tests():
    first, second = (
        house(3.0, stage="shell"),
        house(2.4, stage="after fixes", done="sealed the sill", masked=("attic",)),
    )
    series = steps([analyse(first), analyse(second)])
    step = series.steps[0]
    assert (step.before, step.after, step.done) == ("shell", "after fixes", "sealed the sill")
    assert step.q50.value == pytest.approx(-300.0, rel=1e-9)
    assert step.share == pytest.approx(-0.2, rel=1e-9)
    assert step.ach50 == pytest.approx(-0.6, rel=1e-9)
    # One device in both: its 5 % scales the change only (log(1.05) of 300); two devices: both count in full.
    assert step.q50.high - step.q50.value == pytest.approx(300 * math.log(1.05), rel=1e-6)
    other = replace(second, device=replace(second.device, name="fan 2"))
    apart = steps([analyse(first), analyse(other)]).steps[0]
    assert apart.q50.high - apart.q50.value == pytest.approx(
        math.hypot(1500, 1200) * math.log(1.05), rel=1e-6
    )
    assert any("attic" in note for note in step.notes)
    assert step.seen
    assert json.dumps(series.to_json())


def test_series_compares_like_with_like():
    down, up = house(3.0), house(2.0, sense=Sense.PRESSURIZATION)
    with pytest.raises(FanTestError, match="no direction in common"):
        steps([analyse(down), analyse(up)])
    with pytest.raises(FanTestError):
        steps([analyse(down)])
    both = replace(down, runs=(*down.runs, *up.runs))
    assert steps([analyse(both), analyse(house(2.5))]).steps[0].q50.value == pytest.approx(-250.0)


def test_batch_equals_one_by_one():
    rng = np.random.default_rng(8)
    tests = []
    for number in range(40):
        count = int(rng.integers(5, 13))
        dp = np.sort(rng.uniform(9, 75, count))[::-1]
        sense = Sense.DEPRESSURIZATION if number % 2 else Sense.PRESSURIZATION
        flow = rng.uniform(5, 200) * dp ** rng.uniform(0.55, 0.75) * np.exp(rng.normal(0, 0.02, count))
        bias = rng.normal(0, 1, 2)
        stations = [
            Station(float(sense.sign * p + bias.mean()), float(q), exclude="x" if k == 2 else None)
            for k, (p, q) in enumerate(zip(dp, flow, strict=True))
        ]
        zero = [ZeroFlow((float(b),), mean_only=True) for b in bias]
        weather = Weather(21.0, float(rng.uniform(-10, 30)), altitude_m=float(rng.uniform(0, 2000)))
        run = Run(sense, tuple(stations), zero[0], zero[1])
        tests.append(replace(example(), runs=(run,), weather=weather))
    accuracy = Accuracy(0.05, 0.01, 0.15, 0.0, 0.1)
    for name, viscous in (("ISO 9972", False), ("ASTM E779", True)):
        batch = analyse_columns(pack([(test, test.runs[0]) for test in tests]), viscous=viscous)
        total = batch.total(
            50.0, accuracy, drift_pa=np.array([t.runs[0].after.mean - t.runs[0].before.mean for t in tests])
        )
        for row, test in enumerate(tests):
            alone = analyse(replace(test, standard=name))
            # Tolerance: 1e-12, the same sums over padded rows.
            assert batch.n[row] == pytest.approx(alone.directions[0].n, rel=1e-12)
            assert batch.flow(50.0)[row] == pytest.approx(alone.flow(50.0), rel=1e-12)
            assert batch.scatter(4.0)[row] == pytest.approx(alone.terms(4.0).scatter, rel=1e-9)
            assert total[row] == pytest.approx(alone.terms(50.0).total, rel=1e-9)


def columns(pressure, flow, **more):
    count = len(pressure)
    fill = dict.fromkeys(("before_pa", "after_pa", "inside_c", "outside_c", "altitude_m"), np.zeros(count))
    nothing = dict.fromkeys(("barometer_pa", "inside_humidity", "outside_humidity"), np.full(count, np.nan))
    return Columns(
        np.array(pressure, float),
        np.array(flow, float),
        **({"used": None, "sign": np.full(count, -1.0)} | fill | nothing | more),
    )


def test_batch_keeps_bad_tests_in_place_and_says_why():
    good = [-60.0, -40.0, -20.0, -10.0]
    pressure = [good, [60.0, -40.0, -20.0, -10.0], good, good, [-30.0] * 4, good, good]
    flow = [[9.0, 7.0, 4.0, 3.0]] * 7
    flow[2] = [9.0, math.nan, 4.0, 3.0]
    used = np.ones((7, 4), bool)
    used[3, 2:] = False
    before, altitude = np.zeros(7), np.zeros(7)
    before[5] = math.nan
    altitude[6] = math.nan
    result = analyse_columns(
        columns(pressure, flow, used=used, before_pa=before, after_pa=before.copy(), altitude_m=altitude)
    )
    assert result.problem.tolist() == [0, 3, 3, 4, 5, 1, 2]
    assert np.isfinite(result.flow(50.0)).tolist() == [True] + [False] * 6
    assert math.isnan(result.table()["q50_m3_h"][1])


def test_batch_takes_multi_point_only():
    raw = replace(example(), procedure=Procedure.SINGLE)
    with pytest.raises(ValueError, match="multi-point"):
        pack([(raw, raw.runs[0])])


def both_ways():
    down, up = house(1.0), house(1.1, sense=Sense.PRESSURIZATION)
    return replace(down, house="A & B <house>", runs=(*down.runs, *up.runs))


def test_picture_is_sound_xml_and_tells_directions_apart_without_colour():
    result = analyse(both_ways())
    svg = fantest_plot(result, [answer(result, "3 ach50"), answer(result, "0.25 cfm75/ft2")])
    root = ET.fromstring(svg)
    names = [element.get("class") for element in root.iter() if element.get("class")]
    assert names.count("dot-d") == names.count("dot-p") == 8  # seven stations and one in the key
    assert names.count("limit") == 2
    assert "stroke-dasharray:9 4" in svg
    assert "A &amp; B &lt;house&gt;" in svg
    assert "nan" not in svg.lower().replace("nano", "")


@pytest.mark.parametrize(
    ("dp", "procedure"),
    [((50.0,), Procedure.SINGLE), ((50.0, 12.5), Procedure.TWO), ((50.0, 50.4, 49.7), Procedure.SINGLE)],
)
def test_every_procedure_gives_finite_answers_and_a_picture(dp, procedure):
    pressures = np.array(dp)
    raw = run_of(
        pressures,
        30 * pressures**0.65 * (1 + 0.01 * np.sin(pressures)),
        standard="ASTM E1827",
        procedure=procedure,
    )
    result = analyse(raw)
    found = [answer(result, "3 ach50")]
    data = json.loads(json.dumps(result.to_json(found), allow_nan=False))
    Draft202012Validator(schema("fantest")).validate(data)
    ET.fromstring(fantest_plot(result, found))


def test_answer_object_fits_its_schema():
    result = analyse(both_ways())
    data = json.loads(json.dumps(result.to_json([answer(result, "3 ach50")]), allow_nan=False))
    Draft202012Validator(schema("fantest")).validate(data)
    assert {
        "directions",
        "mean",
        "per_envelope",
        "per_floor",
        "nl",
        "flags",
        "against",
        "schema",
        "cautions",
    } <= set(data)
    keys = [
        "sign",
        "stations",
        "bias_pa",
        "n",
        "c_m3_h_pan",
        "cl_m3_h_pan",
        "r2",
        "ach50",
        "ela_cm2",
        "eqla_cm2",
    ]
    for one in (*data["directions"], data["mean"]):
        assert {*keys, *(f"q{p}_m3_h" for p in (4, 10, 50, 75))} <= set(one)
    assert {flag for one in data["flags"] for flag in one} == {"text", "clause", "mark", "kind", "direction"}


def test_cautions_name_every_danger():
    text = " ".join(caution["text"].lower() for caution in analyse(example()).to_json()["cautions"])
    for word in (
        "combustion",
        "fireplace",
        "ash",
        "asbestos",
        "lead",
        "radon",
        "garage",
        "cure",
        "door",
        "ventilation",
        "qualified",
    ):
        assert word in text


def test_use_cases(tmp_path):
    path = app.new_starter(tmp_path / "may.yaml")
    done = app.analyse(path, against=["3 ach50"])
    assert done.exit_code == 0
    assert done.to_json()["against"][0]["answer"] == "met"
    assert app.analyse(path, against=["3 ach50", "0.3 ach50"]).exit_code == 1
    assert app.analyse(path).exit_code == 0
    assert done.plot().startswith("<svg")
    with pytest.raises(OutputError):
        app.new_starter(path)
    with pytest.raises(OutputError):
        app.new_starter(tmp_path / "no" / "folder.csv")
    with pytest.raises(FanTestError):
        app.analyse(tmp_path / "missing.yaml")


def test_batch_of_a_folder_loses_nothing(tmp_path):
    (tmp_path / "a.yaml").write_bytes(starter_bytes("yaml"))
    (tmp_path / "b.xlsx").write_bytes(starter_bytes("xlsx"))
    (tmp_path / "c.csv").write_text("nonsense", encoding="utf-8")
    single = (
        starter()
        .replace("standard: ISO 9972", "standard: ASTM E1827")
        .replace("procedure: multi-point", "procedure: two-point")
    )
    (tmp_path / "d.yaml").write_text(single, encoding="utf-8")
    done = app.batch(tmp_path)
    assert [row["test"].rsplit("/", 1)[-1] for row in done.rows] == ["a.yaml", "b.xlsx", "c.csv", "d.yaml"]
    assert [bool(row["problem"]) for row in done.rows] == [False, False, True, False]
    assert done.rows[0]["n"] == pytest.approx(0.6407099, abs=6e-8)  # constructed case
    assert done.exit_code == 1
    assert json.dumps(done.to_json(), allow_nan=False)
    with pytest.raises(FanTestError):
        app.batch(_empty(tmp_path))


def _empty(folder):
    empty = folder / "empty"
    empty.mkdir()
    return empty


def test_batch_of_a_table(tmp_path):
    head = "test,direction,pressure [Pa],flow [m3/h],zero before [Pa],zero after [Pa],inside [C],outside [C],altitude [m],volume [m3]"
    rows = [
        f"t{k},depressurization,{p},{q},-1.6,-1.2,21,4,120,500"
        for k in range(3)
        for p, q in (
            (-61.8, 291), (-56.3, 274), (-51.2, 257.5), (-46.0, 240.5), (-40.7, 222), (-36.1, 205), (-30.9, 184.5),
            (-25.8, 163.5), (-20.9, 141.5), (-15.8, 116),
        )
    ]  # fmt: skip
    (tmp_path / "many.csv").write_text("\n".join([head, *rows]), encoding="utf-8")
    done = app.batch(tmp_path / "many.csv")
    assert len(done.rows) == 3
    assert done.exit_code == 0
    # Source: constructed case. Tolerance: printed digits.
    assert done.rows[2]["q50_m3_h"] == pytest.approx(247.2441, rel=3e-7)
    assert done.rows[2]["ach50"] == pytest.approx(247.2441 / 500, rel=3e-7)


def test_series_of_files(tmp_path):
    (tmp_path / "a.yaml").write_bytes(starter_bytes("yaml"))
    (tmp_path / "b.yaml").write_text(starter().replace("flow: 291", "flow: 281"), encoding="utf-8")
    assert app.series([tmp_path / "a.yaml", tmp_path / "b.yaml"]).steps[0].q50.value < 0
    assert any(one["id"] == "iecc-2021" for one in app.limit_list())
