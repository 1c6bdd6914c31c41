"""Next dry hours for a ticket, by hand."""

from datetime import UTC, datetime, timedelta

import pytest

from hullwright.app.dry_hours import dry_spans, read_weather
from hullwright.catalog import load
from hullwright.errors import InputError

SILYL = load().products["silyl-flashing-20"]  # rain-safe after 2 h, 32 to 110 F by its sheet
START = datetime(2025, 5, 12, 6, tzinfo=UTC)


def table(path, rains, air=None, head="time,rain_mm,air_c"):
    lines = [
        f"{(START + timedelta(hours=k)).isoformat()},{rain},{'' if air is None else air[k]}"
        for k, rain in enumerate(rains)
    ]
    path.write_text("\n".join([head, *lines]), encoding="utf-8")
    return str(path)


def hours(*spans):
    return tuple((START + timedelta(hours=a), START + timedelta(hours=b)) for a, b in spans)


def test_only_spans_long_enough_for_the_sheet(tmp_path):
    # Source: by hand: dry 1-2 (1 h, too short for 2 h), 3-5, 6-9. Tolerance: exact.
    found = read_weather(table(tmp_path / "w.csv", [1, 0, 1, 0, 0, 2, 0, 0, 0]))
    assert dry_spans(found, SILYL, START) == hours((3, 5), (6, 9))
    assert dry_spans(found, None, START) == hours((1, 2), (3, 5), (6, 9))
    assert dry_spans(found, SILYL, START, most=1) == hours((3, 5))


def test_what_is_past_does_not_count(tmp_path):
    found = read_weather(table(tmp_path / "w.csv", [0, 0, 0, 0, 1, 0]))
    assert dry_spans(found, SILYL, START + timedelta(hours=1.5)) == hours((1.5, 4))
    assert dry_spans(found, SILYL, START + timedelta(hours=2.5)) == ()


def test_too_cold_is_not_dry_enough(tmp_path):
    # Source: sheet: 32 F = 0 degC and up. Tolerance: exact.
    found = read_weather(table(tmp_path / "w.csv", [0] * 6, air=[-3, -1, 0, 2, 5, 50]))
    assert dry_spans(found, SILYL, START) == hours((2, 5))
    inches = read_weather(
        table(tmp_path / "us.csv", [0.1, 0, 0, 0], air=[40, 40, 40, 30], head="time,rain_in,air_f")
    )
    assert inches[0].rain == pytest.approx(2.54)
    assert dry_spans(inches, SILYL, START) == hours((1, 3))


def test_a_gap_in_the_table_is_not_dry_weather(tmp_path):
    path = tmp_path / "w.csv"
    table(path, [0, 0, 0, 0, 0, 0])
    lines = path.read_text().splitlines()
    path.write_text("\n".join([*lines[:2], *lines[5:]]))  # 07:00 to 09:00 are missing
    assert dry_spans(read_weather(str(path)), SILYL, START) == hours((4, 6))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "time,rain\n2025-05-12T06:00Z,0\n",
        "time,rain_mm\n2025-05-12T06:00Z,0\n",
        "time,rain_mm\n2025-05-12T06:00,0\n2025-05-12T07:00,0\n",
        "time,rain_mm\n2025-05-12T07:00Z,0\n2025-05-12T06:00Z,0\n",
        "time,rain_mm\n2025-05-12T06:00Z,-1\n2025-05-12T07:00Z,0\n",
        "time,rain_mm\n2025-05-12T06:00Z,much\n2025-05-12T07:00Z,0\n",
        "time,rain_mm\n2025-05-12T06:00Z\n",
    ],
)
def test_weather_that_cannot_be_read_is_refused(tmp_path, text):
    path = tmp_path / "w.csv"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_weather(str(path))
    assert caught.value.problems[0].where.file == str(path)
    with pytest.raises(InputError):
        read_weather(str(tmp_path / "nothing.csv"))
