"""How the sums of this room check what they are given: every problem at once, never a clamp.

:class:`Ask` collects; :meth:`Ask.done` raises one :class:`~hullwright.errors.InputError` with all that was found.
"""

from __future__ import annotations

import math
from numbers import Real
from typing import TypeGuard

from hullwright.errors import InputError, Problem, Where


class Ask:
    """Collects what is wrong with the numbers of one sum.

    Parameters
    ----------
    what : str
        The sum, for the headline.

    Examples
    --------
    >>> ask = Ask("the film")
    >>> ask.positive("dry", -1.0, "m")
    >>> ask.share("solids", 60.0)
    >>> try:
    ...     ask.done()
    ... except InputError as error:
    ...     [str(problem.where) for problem in error.problems]
    ['dry', 'solids']
    """

    __slots__ = ("problems", "what")

    def __init__(self, what: str) -> None:
        self.what = what
        self.problems: list[Problem] = []

    def positive(self, key: str, value: object, unit: str) -> None:
        """Want a finite number above 0 in `unit`."""
        if not (_finite(value) and value > 0):
            self.refuse(key, value, f"a finite number above 0 [{unit}]")

    def not_negative(self, key: str, value: object, unit: str) -> None:
        """Want a finite number, 0 or more, in `unit`."""
        if not (_finite(value) and value >= 0):
            self.refuse(key, value, f"a finite number, 0 or more [{unit}]")

    def share(self, key: str, value: object, hint: str = "") -> None:
        """Want a share above 0 and up to 1."""
        if not (_finite(value) and 0 < value <= 1):
            self.refuse(key, value, "a share above 0, at most 1", hint or _percent_hint(value))

    def part(self, key: str, value: object, hint: str = "") -> None:
        """Want a share from 0 to 1, both included."""
        if not (_finite(value) and 0 <= value <= 1):
            self.refuse(key, value, "a share from 0 to 1", hint or _percent_hint(value))

    def loss(self, key: str, value: object) -> None:
        """Want a share that is lost: 0 or more, below 1."""
        if not (_finite(value) and 0 <= value < 1):
            hint = _percent_hint(value) or "waste is the share of what is bought, so it stays below 1"
            self.refuse(key, value, "a share of what is used: 0 or more, below 1", hint)

    def count(self, key: str, value: object) -> None:
        """Want a whole number, 0 or more."""
        if not (_finite(value) and value >= 0 and value == int(value)):
            self.refuse(key, value, "a whole number, 0 or more")

    def refuse(self, key: str, value: object, allowed: str, hint: str = "") -> None:
        """Note a problem with the number under `key`."""
        self.problems.append(
            Problem(
                f"{key} can't be used for {self.what}",
                Where(key=key),
                got=f"{value}",
                allowed=allowed,
                hint=hint,
            )
        )

    def done(self) -> None:
        """Raise an InputError where anything was wrong."""
        if self.problems:
            raise InputError(f"can't work out {self.what}", self.problems)


def _finite(value: object) -> TypeGuard[float]:
    if not isinstance(value, Real) or isinstance(value, bool):
        return False
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number beyond the floats
        return False


def _percent_hint(value: object) -> str:
    if _finite(value) and 1 < value <= 100:
        return f"for {value:g} per cent give {value / 100:g}"
    return ""
