"""Hourly weather files (EPW, an open comma-separated format) in, with their traps named, not mended.

Eight header lines, then 35 fields an hour; times are local standard time and mark the end of the hour. Missing values
have codes by field and become NaN. Rain is often absent, or in tenths of a millimetre under the heading "mm": that is
asked, see :attr:`WeatherFile.questions`.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.errors import InputError, Problem, Where

Floats = NDArray[np.float64]

MOST_BYTES: Final = 40_000_000
HEADERS: Final = 8
FIELDS: Final = 35
YEARS: Final = (8760, 8784)

# name: (field from 0, least code that means missing). Source: two independent field tables of the format.
COLUMNS: Final[dict[str, tuple[int, float]]] = {
    "temperature_c": (6, 99.9),
    "dew_point_c": (7, 99.9),
    "humidity_pct": (8, 999.0),
    "pressure_pa": (9, 999_999.0),
    "sky_infrared_w_m2": (12, 9999.0),
    "global_w_m2": (13, 9999.0),
    "direct_normal_w_m2": (14, 9999.0),
    "diffuse_w_m2": (15, 9999.0),
    "wind_from_deg": (20, 999.0),
    "wind_m_s": (21, 999.0),
    "cloud_tenths": (22, 99.0),
    "opaque_cloud_tenths": (23, 99.0),
    "snow_cm": (30, 999.0),
    "rain_mm": (33, 999.0),
    "rain_period_h": (34, 99.0),
}
# Values outside these are physically not possible; a file with them is refused. Source: field ranges of the format.
RANGES: Final[dict[str, tuple[float, float]]] = {
    "temperature_c": (-90.0, 70.0),
    "humidity_pct": (0.0, 110.0),
    "pressure_pa": (31_000.0, 120_000.0),
    "wind_m_s": (0.0, 60.0),
    "wind_from_deg": (0.0, 360.0),
}
NEEDED: Final = ("temperature_c", "wind_m_s")


@dataclass(frozen=True, slots=True)
class WeatherFile:
    """One year of hours.

    Parameters
    ----------
    place : str
        City, state, country as the file says.
    latitude_deg, longitude_deg, utc_offset_h, altitude_m : float
        Site; the offset is that of standard time [h].
    year, month, day, hour : ndarray of int, shape (T,)
        Of each row; hour 1 to 24 ends the interval. The months often come from different years.
    values : dict of str to ndarray, shape (T,)
        Columns of :data:`COLUMNS`; NaN where missing.
    encoding : str
        How the text was stored.
    questions : tuple of str
        What looks wrong and has to be asked.
    """

    place: str
    latitude_deg: float
    longitude_deg: float
    utc_offset_h: float
    altitude_m: float
    year: NDArray[np.int64]
    month: NDArray[np.int64]
    day: NDArray[np.int64]
    hour: NDArray[np.int64]
    values: dict[str, Floats]
    encoding: str
    questions: tuple[str, ...]

    @property
    def outside_c(self) -> Floats:
        """Air temperature [°C]."""
        return self.values["temperature_c"]

    @property
    def wind_m_s(self) -> Floats:
        """Wind at 10 m [m/s]."""
        return self.values["wind_m_s"]

    def degree_days(self, base_c: float) -> float:
        """Heating degree days [K d], hour by hour; missing hours do not count."""
        lift = np.maximum(base_c - self.outside_c, 0.0)
        return float(np.nansum(lift)) / 24.0


def read_epw(raw: bytes, name: str) -> WeatherFile:
    """Read a weather file.

    Parameters
    ----------
    raw : bytes
        Content.
    name : str
        For errors.

    Returns
    -------
    WeatherFile

    Raises
    ------
    InputError
        With every header or row that can't be used (the first 50 rows are named).
    """
    if len(raw) > MOST_BYTES:
        got = f"{len(raw) / 1e6:.0f} MB"
        raise _refused(
            name, [Problem("the file is too large", Where(name), got, f"at most {MOST_BYTES / 1e6:g} MB")]
        )
    if not raw.strip():
        raise _refused(name, [Problem("the file is empty", Where(name), allowed="a weather file (EPW)")])
    text, encoding = _decode(raw)
    try:
        rows = list(csv.reader(io.StringIO(text)))
    except csv.Error as error:
        raise _refused(
            name, [Problem("this can't be read as a weather file", Where(name), str(error))]
        ) from error
    place = _location(rows, name)
    body = [(number, row) for number, row in enumerate(rows[HEADERS:], start=HEADERS + 1) if row]
    problems = _shape(body, name)
    if problems:
        raise _refused(name, problems)
    table = np.full((len(body), FIELDS), np.nan)
    for index, (number, row) in enumerate(body):
        for field in (0, 1, 2, 3, *(place_ for place_, _ in COLUMNS.values())):
            try:
                table[index, field] = (
                    float(row[field]) if field < len(row) and row[field].strip() else math.nan
                )
            except ValueError:
                problems.append(Problem("this is not a number", Where(name, number, field + 1), row[field]))
    if not problems:
        problems = _stamps(table, body, name)
    values = {key: np.where(table[:, f] >= code, np.nan, table[:, f]) for key, (f, code) in COLUMNS.items()}
    problems += _ranges(values, body, name)
    if problems:
        raise _refused(name, problems[:50])
    stamp = table[:, :4].astype(np.int64)
    city, latitude, longitude, offset, altitude = place
    questions = (*_questions(values, len(body)), *rain_questions(values["rain_mm"], values["rain_period_h"]))
    return WeatherFile(
        city, latitude, longitude, offset, altitude,
        stamp[:, 0], stamp[:, 1], stamp[:, 2], stamp[:, 3],
        values, encoding, questions,
    )  # fmt: skip


def rain_questions(rain_mm: Floats, period_h: Floats) -> tuple[str, ...]:
    """Look whether a rain column can be what it says.

    Parameters
    ----------
    rain_mm : ndarray, shape (T,)
        Depth as the file has it.
    period_h : ndarray, shape (T,)
        Hours over which each depth was gathered.

    Returns
    -------
    tuple of str
        Questions; nothing is changed.

    Examples
    --------
    >>> import numpy as np
    >>> tenths = np.where(np.arange(8760) % 20 == 0, 5.0, 0.0)
    >>> "tenths" in rain_questions(tenths, np.ones(8760))[0]
    True
    """
    out: list[str] = []
    known = rain_mm[~np.isnan(rain_mm)]
    wet = known[known > 0]
    if len(known) < 0.9 * len(rain_mm):
        out.append(
            f"rain is missing in {1 - len(known) / max(len(rain_mm), 1):.0%} of the hours: its sums mean nothing"
        )
    if len(known) and not len(wet):
        out.append("rain is zero in every hour: most such files never had rain; is this a dry place?")
    if len(wet):
        # Hundredths of an inch in tenths of a millimetre are the whole numbers round(2.54 k).
        grid = np.isin(wet, np.round(2.54 * np.arange(1, 2000)))
        whole = bool(np.all(wet == np.round(wet)))
        if (whole and float(grid.mean()) >= 0.95) or float(wet.max()) > 150.0:
            text = f"rain looks as if in tenths of a millimetre (sum {wet.sum():.0f}, largest {wet.max():.0f} in an hour)"
            out.append(f"{text}: is it?")
        elif float(wet.sum()) > 4000.0:
            out.append(f"rain sums up to {wet.sum():.0f} mm: is the unit right?")
    long = period_h[(rain_mm > 0) & ~np.isnan(period_h)]
    if len(long) and float((long > 1).mean()) > 0.10:
        out.append(
            "rain was gathered over more than an hour in many rows: long sums hold the short ones again"
        )
    return tuple(out)


def _questions(values: dict[str, Floats], rows: int) -> list[str]:
    out = [] if rows in YEARS else [f"the file has {rows} hours, a year has 8760 or 8784"]
    for key in NEEDED:
        gaps = int(np.isnan(values[key]).sum())
        if gaps:
            out.append(f"{key} is missing in {gaps} hours")
    return out


def _decode(raw: bytes) -> tuple[str, str]:
    try:
        return raw.removeprefix(b"\xef\xbb\xbf").decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        return raw.decode("latin-1"), "Latin-1"


def _location(rows: list[list[str]], name: str) -> tuple[str, float, float, float, float]:
    head = rows[0] if rows else []
    if not head or head[0].strip().upper() != "LOCATION":
        got = head[0][:40] if head else ""
        problem = Problem(
            "this is no weather file (EPW)", Where(name, 1, 1), got, "a first line that begins with LOCATION"
        )
        raise _refused(name, [problem])
    if len(rows) <= HEADERS:
        raise _refused(
            name, [Problem("the file has no hours", Where(name, len(rows)), allowed="8 headers, then hours")]
        )
    bounds = (
        (6, "latitude", 90.0),
        (7, "longitude", 180.0),
        (8, "offset of standard time", 14.0),
        (9, "altitude", 9000.0),
    )
    numbers: list[float] = []
    problems: list[Problem] = []
    for field, what, most in bounds:
        try:
            value = float(head[field])
        except (ValueError, IndexError):
            value = math.nan
        numbers.append(value)
        if not abs(value) <= most:
            got = head[field] if field < len(head) else "nothing"
            problems.append(
                Problem(f"the {what} can't be used", Where(name, 1, field + 1), got, f"up to {most:g}")
            )
    if problems:
        raise _refused(name, problems)
    city = ", ".join(part.strip() for part in head[1:4] if part.strip())
    return city, numbers[0], numbers[1], numbers[2], numbers[3]


def _shape(body: list[tuple[int, list[str]]], name: str) -> list[Problem]:
    """Rows must have wind at least; rain may be cut off in old files."""
    least = 1 + max(COLUMNS[key][0] for key in NEEDED)
    return [
        Problem(
            "this row is cut off", Where(name, number), f"{len(row)} fields", f"{FIELDS}, at least {least}"
        )
        for number, row in body
        if len(row) < least
    ][:50]


def _stamps(table: Floats, body: list[tuple[int, list[str]]], name: str) -> list[Problem]:
    month, day, hour = table[:, 1], table[:, 2], table[:, 3]
    good = (
        (month >= 1)
        & (month <= 12)
        & (day >= 1)
        & (day <= 31)
        & (hour >= 1)
        & (hour <= 24)
        & ~np.isnan(table[:, 0])
    )
    return [
        Problem(
            "this date can't be read",
            Where(name, body[row][0]),
            ",".join(body[row][1][:4]),
            "year,month,day,hour 1 to 24",
        )
        for row in np.flatnonzero(~good)[:50]
    ]


def _ranges(values: dict[str, Floats], body: list[tuple[int, list[str]]], name: str) -> list[Problem]:
    out: list[Problem] = []
    for key, (low, high) in RANGES.items():
        bad = np.flatnonzero((values[key] < low) | (values[key] > high) | np.isinf(values[key]))
        out += [
            Problem(
                f"{key} is out of range",
                Where(name, body[row][0], COLUMNS[key][0] + 1),
                f"{values[key][row]:g}",
                f"{low:g} to {high:g}",
            )
            for row in bad[:10]
        ]
    return out


def _refused(name: str, problems: list[Problem]) -> InputError:
    return InputError(f"{name} can't be used as a weather file", problems)
