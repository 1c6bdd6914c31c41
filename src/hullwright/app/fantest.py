"""Use cases of the fan test: files in, answers out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from hullwright.errors import FanTestError, OutputError, Problem, Where
from hullwright.fantest import (
    Against,
    Answer,
    BatchResult,
    RawTest,
    Series,
    TestResult,
    analyse_columns,
    answer,
    caution_list,
    limits,
    pack,
    steps,
)
from hullwright.fantest import analyse as analyse_raw
from hullwright.fantest.batch import PROBLEMS
from hullwright.fantest.limits import resolve
from hullwright.fantest.raw import Procedure
from hullwright.fantest.standards import find
from hullwright.readers.fantest_batch import MOST_BYTES, read_table
from hullwright.readers.fantest_files import kind_of, read_fantest, starter_bytes

if TYPE_CHECKING:
    from hullwright.app.house import Source

MOST_SINGLE: Final = 20_000_000


@dataclass(frozen=True, slots=True)
class FanTest:
    """Answer to one fan test.

    Parameters
    ----------
    result : TestResult
        The test.
    against : tuple of Against
        Answers to the limits asked for.
    from_house : tuple of str
        What the building file gave to the test, or says otherwise than it.
    """

    result: TestResult
    against: tuple[Against, ...]
    from_house: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 where every limit asked for is met (or none was asked), else 1."""
        return 0 if all(one.answer is Answer.MET for one in self.against) else 1

    def to_json(self) -> dict[str, Any]:
        """Give the answer object of ``fantest``."""
        return self.result.to_json(self.against) | {"from_house": list(self.from_house)}

    def plot(self) -> str:
        """Give the log-log picture as SVG."""
        from hullwright.report.fantest_plot import fantest_plot  # noqa: PLC0415 - only where a picture is wanted

        return fantest_plot(self.result, self.against)


def load(path: str | Path) -> RawTest:
    """Read one fan-test file.

    Parameters
    ----------
    path : str or Path
        yaml, csv or xlsx.

    Returns
    -------
    RawTest

    Raises
    ------
    FanTestError
        Missing, unreadable, or wrong, with every problem.
    """
    return read_fantest(_bytes(Path(path), MOST_SINGLE), str(path))


def analyse(
    path: str | Path, *, against: Sequence[str] = (), level: float = 0.95, house: Source | None = None
) -> FanTest:
    """Analyse one fan-test file.

    Parameters
    ----------
    path : str or Path
        yaml, csv or xlsx.
    against : sequence of str
        Limits, by id (``iecc-2018 zone 5``) or as text (``3 ach50``).
    level : float
        Coverage of the intervals shown; limits are decided at 0.95 always.
    house : path, Building, House or None
        Gives inner volume, envelope, floor area and height where the test states none.

    Returns
    -------
    FanTest
        With ``to_json()``, ``plot()`` and ``exit_code``.

    Raises
    ------
    FanTestError
    """
    test = load(path)
    told: tuple[str, ...] = ()
    if house is not None:
        from hullwright.app.fantest_house import of_house  # noqa: PLC0415 - a test by itself needs no house
        from hullwright.app.house import load as load_house  # noqa: PLC0415

        test, told = of_house(test, load_house(house))
    result = analyse_raw(test, level=level)
    return FanTest(result, tuple(answer(result, text) for text in against), told)


def series(paths: Sequence[str | Path], *, level: float = 0.95) -> Series:
    """Compare the tests of one house in the order given.

    Parameters
    ----------
    paths : sequence of str or Path
        Two files or more.
    level : float
        Coverage.

    Returns
    -------
    Series

    Raises
    ------
    FanTestError
    """
    return steps([analyse_raw(load(path), level=level) for path in paths])


def new_starter(path: str | Path) -> Path:
    """Write a commented starter file; a file that is there already is not touched.

    Parameters
    ----------
    path : str or Path
        Ending yaml, csv or xlsx tells the kind.

    Returns
    -------
    Path

    Raises
    ------
    OutputError
        Where something stands there already, or it can't be written.
    """
    target = Path(path)
    content = starter_bytes(kind_of(target.name))
    try:
        with target.open("xb") as file:
            file.write(content)
    except FileExistsError as error:
        problem = Problem(
            "a file of that name is there already", Where(str(path)), hint="choose another name"
        )
        raise OutputError(f"{path} was not written", [problem]) from error
    except OSError as error:
        problem = Problem("it can't be written there", Where(str(path)), error.strerror or "")
        raise OutputError(f"{path} was not written", [problem]) from error
    return target


@dataclass(frozen=True, slots=True)
class Batch:
    """Answers to many fan tests.

    Parameters
    ----------
    rows : tuple of dict
        One for each test and direction: ``test``, ``direction``, ``problem``, results (None where there is a problem).
    against : tuple of (str, tuple of Against)
        Answers to the limits asked for, by test.
    """

    rows: tuple[dict[str, Any], ...]
    against: tuple[tuple[str, tuple[Against, ...]], ...] = ()

    @property
    def exit_code(self) -> int:
        """0 where every test could be computed and meets every limit asked for, else 1."""
        met = all(one.answer is Answer.MET for _, found in self.against for one in found)
        return 0 if met and not any(row["problem"] for row in self.rows) else 1

    def to_json(self) -> dict[str, Any]:
        """Give the answer object of a batch."""
        return {
            "schema": {"name": "fantest_batch", "version": 1},
            "count": len(self.rows),
            "with_problems": sum(1 for row in self.rows if row["problem"]),
            "tests": list(self.rows),
            "against": [{"test": name} | one.to_json() for name, found in self.against for one in found],
            "cautions": caution_list(),
        }


def batch(path: str | Path, *, against: Sequence[str] = (), level: float = 0.95) -> Batch:
    """Analyse a folder of fan-test files, or a table of tests (csv, one row a station), in one pass.

    Parameters
    ----------
    path : str or Path
        Folder or csv.
    against : sequence of str
        Limits as in :func:`analyse`; for a folder only, since a table states no instruments and so has no total interval.
    level : float
        Coverage.

    Returns
    -------
    Batch
        A file of a folder that can't be read is a row with its problem: nothing is lost.

    Raises
    ------
    FanTestError
        Where the folder holds no fan test, the table can't be read, or a limit is asked of a table.
    """
    source = Path(path)
    if source.is_dir():
        rows, held = _folder(source, level, against)
        return Batch(tuple(rows), tuple(held))
    if against:
        problem = Problem(
            "a table states no instruments, so no limit can be decided by its total interval",
            Where(str(path)),
            ", ".join(against),
            "a folder with one file a test",
            "leave --against out, or write the tests as files that name their instruments",
        )
        raise FanTestError("limits can't be held against a table of tests", [problem])
    table = read_table(_bytes(source, MOST_BYTES), str(path))
    result = analyse_columns(table.columns, level=level)
    labels = list(zip(table.names, table.directions, strict=True))
    return Batch(tuple(_rows(result, labels, [float(v) for v in table.volume_m3])))


def _folder(
    folder: Path, level: float, against: Sequence[str]
) -> tuple[list[dict[str, Any]], list[tuple[str, tuple[Against, ...]]]]:
    endings = {".yaml", ".yml", ".csv", ".xlsx"}
    files = sorted(p for p in folder.iterdir() if p.suffix.lower() in endings and not p.name.startswith("."))
    if not files:
        problem = Problem(
            "no fan-test file is in this folder", Where(str(folder)), "", ", ".join(sorted(endings))
        )
        raise FanTestError(f"{folder} holds no fan test", [problem])
    for text in against:
        resolve(text)  # a limit that can't be read is told once, before any test
    rows: list[dict[str, Any]] = []
    held: list[tuple[str, tuple[Against, ...]]] = []
    groups: dict[bool, list[tuple[RawTest, Any]]] = {False: [], True: []}
    for file in files:
        try:
            test = load(file)
            if test.procedure is Procedure.MULTI:
                viscous = find(test.standard).viscosity
                pack(
                    [(test, run) for run in test.runs]
                )  # raises here, so that one bad test does not stop the rest
                groups[viscous] += [(test, run) for run in test.runs]
            else:
                rows += _single(test, level)
            if against:
                result = analyse_raw(test, level=level)
                held.append((test.source, tuple(answer(result, text) for text in against)))
        except FanTestError as error:
            rows.append({"test": str(file), "direction": None, "problem": str(error)})
    for viscous, pairs in groups.items():
        if pairs:
            done = analyse_columns(pack(pairs), viscous=viscous, level=level)
            labels = [(test.source, run.sense.value) for test, run in pairs]
            rows += _rows(done, labels, [test.building.volume_m3 or math.nan for test, _ in pairs])
    return sorted(rows, key=lambda row: (row["test"], row["direction"] or "")), held


def _single(test: RawTest, level: float) -> list[dict[str, Any]]:
    answers = analyse_raw(test, level=level).to_json()["directions"]
    keep = (
        "stations",
        "bias_pa",
        "n",
        "c_m3_h_pan",
        "cl_m3_h_pan",
        "r2",
        "q4_m3_h",
        "q10_m3_h",
        "q50_m3_h",
        "q75_m3_h",
        "ach50",
    )
    return [
        {"test": test.source, "direction": one["name"], "problem": ""} | {key: one[key] for key in keep}
        for one in answers
    ]


def _rows(result: BatchResult, labels: list[tuple[str, str]], volumes: list[float]) -> list[dict[str, Any]]:
    import numpy as np  # noqa: PLC0415 - only where a batch runs

    table = {key: values.tolist() for key, values in result.table(np.array(volumes)).items()}
    out: list[dict[str, Any]] = []
    for row, (name, direction) in enumerate(labels):
        values = {key: None if math.isnan(column[row]) else column[row] for key, column in table.items()}
        problem = PROBLEMS[int(result.problem[row])]
        out.append({"test": name, "direction": direction, "problem": problem} | values)
    return out


def limit_list() -> list[dict[str, Any]]:
    """Give all limits that are stored.

    Returns
    -------
    list of dict

    Examples
    --------
    >>> any(limit["id"] == "passive-house" for limit in limit_list())
    True
    """
    return [limit.to_json() for limit in limits().values()]


def _bytes(path: Path, most: int) -> bytes:
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= most else b""
    except OSError as error:
        problem = Problem("the file can't be read", Where(str(path)), error.strerror or "", "a fan-test file")
        raise FanTestError(f"{path} can't be read", [problem]) from error
    if size > most:
        allowed = f"at most {most / 1e6:g} MB"
        problem = Problem(
            "the file is too large", Where(str(path)), f"{size / 1e6:.0f} MB", allowed, "split it"
        )
        raise FanTestError(f"{path} can't be read", [problem])
    return content
