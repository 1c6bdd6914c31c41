"""Fan-test files in: YAML, csv, workbook; and a commented starter of each."""

from __future__ import annotations

import csv
import io
from pathlib import PurePath
from typing import Final

from hullwright.errors import FanTestError, InputError, Problem, Where
from hullwright.fantest.raw import RawTest
from hullwright.readers.fantest_build import build
from hullwright.readers.fantest_tables import tree_of_csv, tree_of_xlsx
from hullwright.readers.fantest_tree import compose, decode

KINDS: Final = ("yaml", "csv", "xlsx")
_SUFFIX: Final = {".yaml": "yaml", ".yml": "yaml", ".csv": "csv", ".txt": "csv", ".xlsx": "xlsx"}


def kind_of(name: str) -> str:
    """Tell the kind of a fan-test file by its ending.

    Parameters
    ----------
    name : str
        File name.

    Returns
    -------
    str
        ``yaml``, ``csv`` or ``xlsx``.

    Raises
    ------
    FanTestError
        Where the ending is another.

    Examples
    --------
    >>> kind_of("may.yml")
    'yaml'
    """
    kind = _SUFFIX.get(PurePath(name).suffix.lower())
    if kind is None:
        problem = Problem(
            "the kind of this file can't be told",
            Where(name),
            PurePath(name).suffix or "no ending",
            ", ".join(_SUFFIX),
        )
        raise FanTestError(f"{name} can't be used as a fan test", [problem])
    return kind


def read_fantest(raw: bytes, name: str) -> RawTest:
    r"""Read one fan test.

    Parameters
    ----------
    raw : bytes
        Content of the file.
    name : str
        Its name, for its kind and for errors.

    Returns
    -------
    RawTest

    Raises
    ------
    FanTestError
        With every problem, each with file, line and column.

    Examples
    --------
    >>> test = read_fantest(starter("yaml").encode(), "starter.yaml")
    >>> test.standard, len(test.runs[0].stations)
    ('ISO 9972', 10)
    >>> read_fantest(starter("csv").encode(), "starter.csv").runs == test.runs
    False
    >>> [s.pressure_pa for s in read_fantest(starter("csv").encode(), "s.csv").runs[0].stations][:2]
    [-61.8, -56.3]
    """
    kind = kind_of(name)
    if not raw.strip():
        hint = "hullwright fantest --new writes one to start from"
        problem = Problem("the file is empty", Where(name), allowed="a fan test", hint=hint)
        raise FanTestError(f"{name} can't be used as a fan test", [problem])
    if kind == "yaml":
        return build(compose(decode(raw, name), name), name)
    return build(tree_of_csv(raw, name) if kind == "csv" else tree_of_xlsx(raw, name), name)


STARTER_YAML: Final = """\
# A fan test for hullwright. All readings below are invented: write yours over them.
# Everything is written as it was read; bias, densities and corrections are computed from it.
# A quantity carries its unit, US or metric: 12000 ft3, 340 m3, 70 F, 21 C, 0.2 inH2O, 450 cfm.

format: hullwright fan test 1
house: Invented house, north lot
date: 2026-05-04
stage: shell, before units and ceiling   # any words; names the test in a series
done: ""                                 # what was done to the house since the test before
masked: []                               # zones taped off or shut out of this test

# ISO 9972, EN 13829, ASTM E779, CAN/CGSB-149.10, ASTM E1827, ASTM E3158, USACE 2012
standard: ISO 9972
# multi-point, two-point or single-point (ASTM E1827 is two-point or single-point)
procedure: multi-point
preparation: method 2 (all intentional openings sealed)

# Units of bare numbers in this file. Leave out what carries its unit everywhere.
units: {pressure: Pa, flow: m3/h}

building:
  volume: 500 m3
  envelope: 480 m2
  envelope_basis: six-sided with slab, inner dimensions
  floor: 200 m2
  height: 5.2 m            # lowest above-grade floor to highest ceiling
  volume_accuracy: 2 %     # widens air changes; leave out where not known

air:
  inside: 21 C
  outside: 4 C
  altitude: 120 m          # or barometer: 998 hPa, as read at the house
  wind: 1.5 m/s            # near the house

device:
  name: fan 1
  # actual: the flow is that of the air passing the device
  # indicated: the device is calibrated for air of the density below
  # standard: the flow is a mass flow printed as air of the density below
  reads: actual
  # density: 1.2041 kg/m3
  accuracy: 5 %
  # Where device pressures were noted instead of flows: flow = coefficient * pressure[Pa]^exponent
  # laws:
  #   - {setting: A, coefficient: 24 m3/h, exponent: 0.5, from: 10 Pa, to: 300 Pa}

gauge:
  name: gauge 1
  accuracy: 1 %
  accuracy_pressure: 0.15 Pa   # the larger of the two counts

# Only for a weighted fit beside the one the standard asks for: standard deviations of one station.
# weights: {pressure: 0.5 Pa, flow_share: 2 %, flow: 1 m3/h}
# wind_allowance: 3 %          # a term of your own for wind
# repeatability: 5 %           # scatter of one unrepeated reading, for single-point tests

# Pressures are inside minus outside, with sign, as the gauge showed them: do not take the bias off.
directions:
  - direction: depressurization
    zero_before: [-1.5, -1.7, -1.6, -1.4, -1.8, -1.6, -1.5, -1.7, -1.6, -1.6]   # or {mean: -1.6}
    zero_after: [-1.2, -1.1, -1.3, -1.2, -1.0, -1.4, -1.2, -1.3, -1.1, -1.2]
    # bias_removed: true       # only where the gauge took the bias off itself
    stations:
      - {pressure: -61.8, flow: 291}
      - {pressure: -56.3, flow: 274}
      - {pressure: -51.2, flow: 257.5}
      - {pressure: -46.0, flow: 240.5}
      - {pressure: -40.7, flow: 222}
      - {pressure: -36.1, flow: 205}
      - {pressure: -30.9, flow: 184.5}
      - {pressure: -25.8, flow: 163.5}
      - {pressure: -20.9, flow: 141.5}
      - {pressure: -15.8, flow: 116}
      # with a device law: {pressure: -50 Pa, device_pressure: 120 Pa, setting: A}
      # a station that does not count keeps its reading and says why:
      # {pressure: -33.0, flow: 250, exclude: a door opened}
"""


def _starter_rows() -> dict[str, list[list[str]]]:
    keys = [
        ["key", "value", "note"],
        ["house", "Invented house, north lot", "all readings are invented: write yours over them"],
        ["date", "2026-05-04", ""],
        ["stage", "shell, before units and ceiling", "names the test in a series"],
        ["done", "", "what was done to the house since the test before"],
        ["masked", "", "zones shut out of this test; one; two"],
        ["standard", "ISO 9972", "or ASTM E779, CAN/CGSB-149.10, ASTM E1827, ASTM E3158"],
        ["procedure", "multi-point", "multi-point, two-point or single-point"],
        ["preparation", "method 2", ""],
        ["building.volume", "500 m3", "a quantity carries its unit, US or metric"],
        ["building.envelope", "480 m2", ""],
        ["building.envelope_basis", "six-sided with slab, inner dimensions", ""],
        ["building.floor", "200 m2", ""],
        ["building.height", "5.2 m", "lowest above-grade floor to highest ceiling"],
        ["air.inside", "21 C", ""],
        ["air.outside", "4 C", ""],
        ["air.altitude", "120 m", "or air.barometer, as read at the house"],
        ["air.wind", "1.5 m/s", "near the house"],
        ["device.name", "fan 1", ""],
        ["device.reads", "actual", "actual, indicated or standard; the last two need device.density"],
        ["device.accuracy", "5 %", ""],
        ["gauge.name", "gauge 1", ""],
        ["gauge.accuracy", "1 %", ""],
        ["gauge.accuracy_pressure", "0.15 Pa", "the larger of the two counts"],
    ]
    readings = [
        ["direction", "kind", "pressure [Pa]", "flow [m3/h]", "device pressure [Pa]", "setting", "exclude"]
    ]
    name = "depressurization"
    readings.append([name, "zero before mean", "-1.6", "", "", "", ""])
    stations = (
        (-61.8, 291), (-56.3, 274), (-51.2, 257.5), (-46.0, 240.5), (-40.7, 222), (-36.1, 205), (-30.9, 184.5),
        (-25.8, 163.5), (-20.9, 141.5), (-15.8, 116),
    )  # fmt: skip
    readings += [[name, "station", f"{p:g}", f"{q:g}", "", "", ""] for p, q in stations]
    readings.append([name, "zero after mean", "-1.2", "", "", "", ""])
    return {"test": keys, "readings": readings}


def starter(kind: str = "yaml") -> str:
    """Give a commented starter as text; all its readings are invented.

    Parameters
    ----------
    kind : str
        ``yaml`` or ``csv``; a workbook comes from :func:`starter_bytes`.

    Returns
    -------
    str

    Raises
    ------
    InputError
        Where the kind is another.

    Examples
    --------
    >>> starter("csv").splitlines()[2]
    'test'
    """
    if kind == "yaml":
        return STARTER_YAML
    if kind != "csv":
        problem = Problem("no starter text of this kind", got=kind, allowed="yaml, csv")
        raise InputError(f"no starter of the kind {kind!r}", [problem])
    out = io.StringIO()
    out.write(
        "# A fan test for hullwright: three parts, test, laws (calibration of the device, may be missing), readings.\n"
    )
    out.write(
        "# Pressures are inside minus outside, with sign, as the gauge showed them. All readings are invented.\n"
    )
    writer = csv.writer(out, lineterminator="\n")
    for part, rows in _starter_rows().items():
        writer.writerow([part])
        writer.writerows(rows)
    return out.getvalue()


def starter_bytes(kind: str) -> bytes:
    """Give a starter file of any kind.

    Parameters
    ----------
    kind : str
        ``yaml``, ``csv`` or ``xlsx``.

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        Where the kind is another.

    Examples
    --------
    >>> starter_bytes("xlsx")[:2]
    b'PK'
    """
    if kind != "xlsx":
        return starter(kind).encode("utf-8")
    import openpyxl  # noqa: PLC0415 - heavy, needed for workbooks only

    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for part, rows in _starter_rows().items():
        sheet = book.create_sheet(part)
        for row in rows:
            sheet.append([_typed(cell) for cell in row])
        for letter, width in zip("ABCDEFG", (24, 36, 60, 14, 20, 10, 24), strict=True):
            sheet.column_dimensions[letter].width = width
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _typed(cell: str) -> str | float | None:
    try:
        return float(cell) if cell else None
    except ValueError:
        return cell
