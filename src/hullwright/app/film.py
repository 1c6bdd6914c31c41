"""The film sums by hand: what a person writes goes in, one result comes out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from hullwright.errors import InputError, Problem, QuantityError, Where
from hullwright.material.command import FilmSum
from hullwright.material.film import NO_GAP, Gap, Line, Liquid
from hullwright.material.sheet import printed_share
from hullwright.quantities import Verdict, refuse, verdict
from hullwright.quantities.judge import system_of
from hullwright.units import parse_number, read

T = TypeVar("T")
OF: Final = {
    "width": "tape or film width", "dry": "dry film", "pack": "pack volume", "gap": "gap", "depth": "fill depth",
    "length": "joint length",
}  # fmt: skip
"""Row of the table of quantities for each size."""

BARE: Final[dict[str, dict[str, str]]] = {
    "us": {"width": "in", "dry": "mil", "gap": "in", "depth": "in", "length": "ft", "pack": "floz"},
    "metric": {"width": "mm", "dry": "um", "gap": "mm", "depth": "mm", "length": "m", "pack": "ml"},
}
"""Unit of a bare number, by system of units."""


def film(
    width: str | float,
    dry: str | float,
    solids: str | float,
    pack: str | float,
    *,
    gap: str | float | None = None,
    depth: str | float | None = None,
    length: str | float | None = None,
    waste: str | float | None = None,
    thinned: str | float | None = None,
    units: str | None = None,
) -> FilmSum:
    """Work out a film by hand.

    Parameters
    ----------
    width, dry : str or float
        Width of the film, both sides together, and dry film, such as ``4 in`` and ``12 mil``.
    solids : str or float
        Solids by volume: ``0.6`` or ``60 %``. Solids by weight are refused.
    pack : str or float
        Label volume of a pack, such as ``20 fl oz``.
    gap, depth : str, float or None
        Gap under the film and how deep it is filled: both or neither.
    length : str, float or None
        Length of the joint, for the packs.
    waste : str, float or None
        Share of what is used that is lost, ``10 %`` or ``0.1``; None counts no waste, and says so.
    thinned : str, float or None
        Thinner, volume per volume of product; None for none.
    units : {'us', 'metric'} or None
        Units of bare numbers; None refuses a number without a unit.

    Returns
    -------
    FilmSum
        The result, with cautions and ``to_json()``.

    Raises
    ------
    InputError
        With everything that can't be used.

    Examples
    --------
    >>> answer = film("3 in", "20 mil", "100 %", "20 fl oz", gap="1/8 in", depth="1/4 in", length="100 ft")
    >>> round(answer.length_per_pack / 0.3048, 1), answer.packs, round(answer.line.gap_share, 2)
    (33.0, 4, 0.34)
    """
    reader = _Reader(units)
    sizes = {
        key: reader.take(key, value, "volume" if key == "pack" else "length")
        for key, value in {
            "width": width,
            "dry": dry,
            "pack": pack,
            "gap": gap,
            "depth": depth,
            "length": length,
        }.items()
        if value is not None
    }
    share = reader.keep("solids", lambda: printed_share(solids).value)
    lost = 0.0 if waste is None else reader.keep("waste", lambda: _part("waste", waste))
    thinner = 0.0 if thinned is None else reader.keep("thinned", lambda: _part("thinned", thinned))
    if (gap is None) != (depth is None):
        missing = "depth" if depth is None else "gap"
        hint = "say how deep the gap is filled: through a panel it is the panel's thickness"
        reader.problems.append(
            Problem(
                f"{missing} is missing", Where(key=missing), allowed="gap and depth, or neither", hint=hint
            )
        )
    reader.done()
    liquid = reader.keep("solids", lambda: Liquid(_have(share), _have(thinner), _have(lost)))
    hole = (
        NO_GAP if gap is None else reader.keep("gap", lambda: Gap(_have(sizes["gap"]), _have(sizes["depth"])))
    )
    reader.done()
    line = Line(_have(sizes["width"]), _have(sizes["dry"]), _have(liquid), _have(hole))
    return FilmSum(line, _have(sizes["pack"]), sizes.get("length"))


def _have(value: T | None) -> T:
    """Give what was read: :meth:`_Reader.done` has raised where it was not."""
    assert value is not None
    return value


class _Reader:
    """Reads one number after the other and keeps every problem."""

    def __init__(self, units: str | None) -> None:
        self.problems: list[Problem] = []
        self.bare: dict[str, str] = {}
        if units is None:
            return
        if units in BARE:
            self.bare = BARE[units]
        else:
            self.problems.append(
                Problem("unknown units", Where(key="units"), got=f"{units}", allowed="us or metric")
            )

    def take(self, key: str, value: str | float, quantity: str) -> float | None:
        """Read a size above 0."""
        number = self.keep(key, lambda: read(value, quantity, bare=self.bare.get(key)))
        if number is not None and number <= 0:
            self.problems.append(
                Problem(
                    f"{key} must be above 0", Where(key=key), got=f"{value}", allowed=f"a {quantity} above 0"
                )
            )
            return None
        if number is not None and verdict(OF[key], number) is Verdict.IMPOSSIBLE:
            system = system_of(f"{value}", quantity, self.bare.get(key))
            where = Where(key=key)
            self.problems.append(
                refuse(OF[key], f"{value}", system=system, bare=self.bare.get(key), where=where)
            )
            return None
        return number

    def keep(self, key: str, work: Callable[[], T]) -> T | None:
        """Do a piece of work; note its problems under `key` where they have no place of their own."""
        try:
            return work()
        except InputError as error:
            self.problems.extend(
                Problem(p.message, p.where if p.where.key else Where(key=key), p.got, p.allowed, p.hint)
                for p in error.problems
            )
        return None

    def done(self) -> None:
        """Raise all problems."""
        if self.problems:
            raise InputError("can't work out the film", self.problems)


def _part(key: str, value: str | float) -> float:
    """Read a share: ``10 %`` or ``0.1``."""
    text = f"{value}".strip()
    percent = text.endswith("%")
    if isinstance(value, bool):
        raise _not_a_share(key, text)
    try:
        number = parse_number(text.removesuffix("%").strip())
    except QuantityError as error:
        raise _not_a_share(key, text) from error
    return number / 100.0 if percent else number


def _not_a_share(key: str, text: str) -> QuantityError:
    problem = Problem(f"{key} can't be read", Where(key=key), got=text, allowed="a share such as 10 % or 0.1")
    return QuantityError(f"can't read {key}", [problem])
