"""Use case: what the leakage of a tested house is worth, with the weather of a file or of degree days."""

from __future__ import annotations

from pathlib import Path

from hullwright.app.fantest import load
from hullwright.errors import InputError, Problem, Where
from hullwright.fantest import analyse
from hullwright.leaks.worth import Credit, Heat, Hours, House, Leak, Worth, leak_of_test, worth
from hullwright.leaks.worth.season import DegreeDays
from hullwright.readers.epw import MOST_BYTES, WeatherFile, read_epw


def leak_of_file(path: str | Path) -> Leak:
    """Leakage from a fan-test file.

    Parameters
    ----------
    path : str or Path
        yaml, csv or xlsx.

    Returns
    -------
    Leak

    Raises
    ------
    FanTestError
    """
    return leak_of_test(analyse(load(path)))


def load_weather(path: str | Path) -> WeatherFile:
    """Read an hourly weather file (EPW).

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    WeatherFile
        Its ``questions`` have to be shown: they are not mended.

    Raises
    ------
    InputError
        Missing, too large or wrong.
    """
    file = Path(path)
    try:
        size = file.stat().st_size
        raw = file.read_bytes() if size <= MOST_BYTES else b""
    except OSError as error:
        problem = Problem("the weather file can't be read", Where(str(path)), error.strerror or "")
        raise InputError(f"{path} can't be read", [problem]) from error
    if size > MOST_BYTES:
        problem = Problem(
            "the file is too large", Where(str(path)), f"{size / 1e6:.0f} MB", f"{MOST_BYTES / 1e6:g} MB"
        )
        raise InputError(f"{path} can't be used as a weather file", [problem])
    return read_epw(raw, str(path))


def season_of(weather: WeatherFile, *, base_c: float, inside_c: float) -> Hours:
    """Hours of a weather file as a season.

    Parameters
    ----------
    weather : WeatherFile
    base_c, inside_c : float
        Base temperature below which the house is heated, and indoor temperature [°C].

    Returns
    -------
    Hours
    """
    return Hours(weather.outside_c, weather.wind_m_s, base_c=base_c, inside_c=inside_c)


def worth_of_test(
    test: str | Path,
    house: House,
    season: DegreeDays | Hours,
    *,
    heat: Heat | None = None,
    weather_factor: float | None = None,
    edition: Credit = Credit.E2013,
) -> Worth:
    """Give what the leakage that a fan test found is worth.

    Parameters
    ----------
    test : str or Path
        Fan-test file.
    house : House
        What the infiltration models ask of the house.
    season : DegreeDays or Hours
        Weather, see :func:`season_of`.
    heat : Heat or None
        Price of heat.
    weather_factor : float or None
        wsf of ASHRAE 62.2 for the station [1/h].
    edition : Credit
        Edition of ASHRAE 62.2.

    Returns
    -------
    Worth
        With ``to_json()``.

    Raises
    ------
    InputError
    """
    return worth(leak_of_file(test), house, season, heat=heat, weather_factor=weather_factor, edition=edition)
