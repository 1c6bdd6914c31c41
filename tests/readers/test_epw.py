"""Weather files: a synthetic year of our own, with every trap."""

from __future__ import annotations

import numpy as np
import pytest

from hullwright.errors import InputError
from hullwright.readers.epw import rain_questions, read_epw

HEADERS = [
    "LOCATION,Invented Town,ST,Nowhere,synthetic,000000,45.0,-93.0,-6.0,250.0",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
    "COMMENTS 1,invented weather",
    "COMMENTS 2,",
    "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
]
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def row(month, day, hour, **change):
    fields = {
        0: 2001, 1: month, 2: day, 3: hour, 4: 0, 5: "?9", 6: 10.0, 7: 4.0, 8: 66, 9: 98400, 10: 0, 11: 0, 12: 300, 13: 0,
        14: 0, 15: 0, 16: 0, 17: 0, 18: 0, 19: 0, 20: 270, 21: 4.0, 22: 5, 23: 3, 24: 20.0, 25: 2000, 26: 9,
        27: 999999999, 28: 12, 29: 0.1, 30: 0, 31: 88, 32: 0.2, 33: 0.0, 34: 1,
    }  # fmt: skip
    fields |= {int(key[1:]): value for key, value in change.items()}
    return ",".join(str(fields[k]) for k in range(35))


def year(temperature=lambda index: -5.0 + 10.0 * np.sin(index), **change):
    out, index = list(HEADERS), 0
    for month, days in enumerate(DAYS, start=1):
        for day in range(1, days + 1):
            for hour in range(1, 25):
                out.append(row(month, day, hour, f6=round(float(temperature(index)), 1), **change))
                index += 1
    return ("\n".join(out) + "\n").encode()


def small(*rows, headers=HEADERS):
    return ("\n".join([*headers, *rows]) + "\n").encode()


def test_a_year():
    weather = read_epw(year(lambda _: 8.0, f33=0.4), "town.epw")
    assert weather.place == "Invented Town, ST, Nowhere"
    assert (weather.utc_offset_h, weather.altitude_m) == (-6.0, 250.0)
    assert len(weather.outside_c) == 8760
    # Source: closed form, 10 K below base for 365 days. Tolerance: rounding.
    assert weather.degree_days(18.0) == pytest.approx(3650.0, rel=1e-12)
    assert weather.questions == ()


def test_missing_codes_become_gaps_and_are_counted():
    raw = small(
        row(1, 1, 1, f6=99.9, f21=999, f9=999999), row(1, 1, 2, f12=9999, f33=999), row(1, 1, 3, f6=999)
    )
    weather = read_epw(raw, "gaps.epw")
    assert np.isnan(weather.outside_c[[0, 2]]).all()
    assert np.isnan(weather.wind_m_s[0])
    assert np.isnan(weather.values["pressure_pa"][0])
    assert np.isnan(weather.values["sky_infrared_w_m2"][1])
    assert np.isnan(weather.values["rain_mm"][1])
    assert "temperature_c is missing in 2 hours" in weather.questions


def test_latin_1_is_read_and_said():
    head = ["LOCATION,Pe\xf1a,ST,Nowhere,synthetic,0,45,-93,-6,250", *HEADERS[1:]]
    raw = "\n".join([*head, row(1, 1, 1)]).encode("latin-1")
    weather = read_epw(raw, "n.epw")
    assert weather.encoding == "Latin-1"
    assert weather.place.startswith("Pe\xf1a")


def test_rain_in_tenths_is_asked_not_mended():
    rain = np.zeros(8760)
    rain[::20] = np.round(2.54 * (1 + np.arange(len(rain[::20])) % 12))
    questions = rain_questions(rain, np.ones(8760))
    assert any("tenths" in text for text in questions)


def test_rain_never_or_hardly_there_is_asked():
    assert any("zero in every hour" in text for text in rain_questions(np.zeros(8760), np.ones(8760)))
    gaps = np.full(8760, np.nan)
    gaps[:700] = 0.3
    assert any("missing" in text for text in rain_questions(gaps, np.ones(8760)))


def test_rain_over_long_periods_is_asked():
    period = np.where(np.arange(8760) % 2, 6.0, 1.0)
    assert any("more than an hour" in text for text in rain_questions(np.full(8760, 0.3), period))


def test_honest_rain_is_not_asked_about():
    rng = np.random.default_rng(4)
    rain = np.where(rng.random(8760) < 0.07, np.round(rng.exponential(1.2, 8760), 1), 0.0)
    assert rain_questions(rain, np.ones(8760)) == ()


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "empty"),
        (b"\x00\x01\x02binary", "no weather file"),
        (b"a,b,c\n1,2,3\n", "no weather file"),
        ("\n".join(HEADERS).encode(), "no hours"),
        (small(row(1, 1, 1), "2001,1,1,2,0,?9,3.0"), "cut off"),
        (small(row(1, 1, 1, f6="warm")), "not a number"),
        (small(row(1, 1, 25)), "date"),
        (small(row(1, 1, 1, f6=88.0)), "out of range"),
        (small(row(1, 1, 1, f21=-3)), "out of range"),
        (small(row(1, 1, 1), headers=["LOCATION,a,b,c,d,e,95,-93,-6,250", *HEADERS[1:]]), "latitude"),
    ],
)
def test_broken_files_are_refused_with_their_place(raw, words):
    with pytest.raises(InputError) as caught:
        read_epw(raw, "bad.epw")
    assert words in str(caught.value)
    assert all(problem.where.file == "bad.epw" for problem in caught.value.problems)
