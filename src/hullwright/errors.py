"""What can go wrong, and how it is said.

The tree::

    HullwrightError              anything hullwright raises on purpose
    ├── InputError               what was handed in can't be used (exit code 2)
    │   ├── QuantityError        one quantity can't be read
    │   ├── BuildingFileError    the building file is wrong
    │   ├── MassingError         the masses do not make a sound body
    │   ├── CatalogError         a product sheet, method or rule file is wrong
    │   ├── FanTestError         a fan-test file is wrong
    │   └── OutputError          the result can't be written where it was asked
    └── NoAnswerError            the question is sound, the answer is no (exit code 1)
        ├── HullOpenError        the hull does not close
        └── InfeasibleError      no allowed plan fits the budget, stock, hours or target

Every error carries one or more :class:`Problem`: what, where, what was found, what is allowed, what to do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Where:
    """A place in something a person wrote.

    Parameters
    ----------
    file : str or None
        File as the person named it.
    line, column : int or None
        Counted from 1.
    key : str or None
        Path of keys, such as ``masses[0].roof.pitch``.
    """

    file: str | None = None
    line: int | None = None
    column: int | None = None
    key: str | None = None

    def __str__(self) -> str:
        """Place as text: ``house.yaml:12:7 (masses[0].roof)``."""
        spot = self.file or ""
        if self.line is not None:
            spot += f":{self.line}" if spot else f"line {self.line}"
            if self.column is not None:
                spot += f":{self.column}"
        if self.key:
            spot = f"{spot} ({self.key})" if spot else self.key
        return showable(spot)

    def to_json(self) -> dict[str, Any]:
        """Give the place with the keys of ``answers.md``."""
        key = None if self.key is None else showable(self.key)
        return {"file": self.file, "line": self.line, "column": self.column, "key": key}


NOWHERE = Where()


def showable(text: str) -> str:
    r"""Give a text that can be written as UTF-8: half a letter (a lone surrogate) is shown by its number.

    Examples
    --------
    >>> showable("roof"), showable("a\ud800")
    ('roof', 'a\\ud800')
    """
    return text.encode("utf-8", errors="backslashreplace").decode("utf-8")


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong.

    Parameters
    ----------
    message : str
        What is wrong, one sentence.
    where : Where
        Where it stands.
    got : str
        What was found there ('' where nothing was).
    allowed : str
        What would be accepted.
    hint : str
        What to do about it.
    """

    message: str
    where: Where = NOWHERE
    got: str = ""
    allowed: str = ""
    hint: str = ""

    def __str__(self) -> str:
        """The problem on one or more lines, place first."""
        place = str(self.where)
        parts = [f"{place}: {self.message}" if place else self.message]
        if self.got:
            parts.append(f"  found:   {self.got}")
        if self.allowed:
            parts.append(f"  allowed: {self.allowed}")
        if self.hint:
            parts.append(f"  do:      {self.hint}")
        return showable("\n".join(parts))

    def hinted(self, more: str) -> Problem:
        """Give the problem with more to do about it."""
        between = " " if self.hint.endswith("?") else "; "
        hint = f"{self.hint}{between}{more}" if self.hint else more
        return Problem(self.message, self.where, self.got, self.allowed, hint)

    def to_json(self) -> dict[str, Any]:
        """Give the problem with the keys of ``answers.md``."""
        return {
            "message": showable(self.message),
            "where": self.where.to_json(),
            "got": showable(self.got),
            "allowed": showable(self.allowed),
            "hint": showable(self.hint),
        }


class HullwrightError(Exception):
    """Root of all errors that hullwright raises on purpose.

    Parameters
    ----------
    message : str
        Headline.
    problems : sequence of Problem
        Every problem found, not the first only.

    Examples
    --------
    >>> try:
    ...     raise InputError("the file can't be used", [Problem("empty", Where("a.yaml", 1))])
    ... except HullwrightError as error:
    ...     print(error)
    the file can't be used
    a.yaml:1: empty
    """

    kind = "error"
    exit_code = 2

    def __init__(self, message: str, problems: Sequence[Problem] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.problems: tuple[Problem, ...] = tuple(problems)

    def __str__(self) -> str:
        """Headline, then each problem."""
        return "\n".join([self.message, *(str(problem) for problem in self.problems)])

    def to_json(self) -> dict[str, Any]:
        """Give the error object of ``answers.md``."""
        return {
            "kind": self.kind,
            "message": self.message,
            "problems": [problem.to_json() for problem in self.problems],
        }


class InputError(HullwrightError):
    """What was handed in can't be used."""

    kind = "input"


class QuantityError(InputError):
    """A quantity with its unit can't be read."""

    kind = "quantity"


class BuildingFileError(InputError):
    """The building file is wrong."""

    kind = "building_file"


class MassingError(InputError):
    """The masses do not make a sound body: floating, crossing, without thickness.

    Parameters
    ----------
    message, problems
        As for :class:`HullwrightError`.
    picture : str
        Plan sketch of the place (SVG text), '' where there is none.
    """

    kind = "massing"

    def __init__(self, message: str, problems: Sequence[Problem] = (), picture: str = "") -> None:
        super().__init__(message, problems)
        self.picture = picture

    def to_json(self) -> dict[str, Any]:
        """Give the error object, with its picture."""
        return super().to_json() | {"picture": self.picture}


class CatalogError(InputError):
    """A product sheet, method or rule file is wrong."""

    kind = "catalog"


class FanTestError(InputError):
    """A fan-test file is wrong."""

    kind = "fan_test"


class OutputError(InputError):
    """The result can't be written where it was asked."""

    kind = "output"


class NoAnswerError(HullwrightError):
    """The question is sound and the answer is no."""

    kind = "no"
    exit_code = 1


class HullOpenError(NoAnswerError):
    """The hull does not close."""

    kind = "hull_open"


class InfeasibleError(NoAnswerError):
    """No allowed plan fits the budget, stock, hours or target."""

    kind = "infeasible"
