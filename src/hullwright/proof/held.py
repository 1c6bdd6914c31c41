"""Which entries are held for review: kept as they were sent, and proving nothing until a correction or a sheet comes.

An entry is held where a figure is missing, no number, impossible or odd, where its kind is not known, or where it names a
product or method of which there is no sheet. Odd figures that the entry itself lists under ``sure`` are not asked again.
A hole or flaw stays one whatever is odd about it: :func:`usable` gives it without the figures that can't be used.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any, Final, Protocol

from hullwright.errors import InputError, Problem, Where
from hullwright.proof.comb import Comb
from hullwright.proof.entries import Entry, is_number, shown
from hullwright.proof.kinds import KINDS, SURE, Field, fits, numbers_in
from hullwright.proof.limits import as_typed, in_table_unit, quantity_of
from hullwright.proof.old_names import old_keys
from hullwright.quantities import Verdict, ask, quantity, verdict

STANDS_ANYWAY: Final = frozenset({"hole", "flaw"})
"""Damage: it is there whatever else is wrong with the entry."""
NOT_SAID: Final = "not said"
_READINGS: Final = frozenset({"comb", "gauge reading"})
_UM: Final = 1e-6


class Sheets(Protocol):
    """What must be known of products and methods: :class:`hullwright.catalog.Catalog` is one."""

    @property
    def products(self) -> Mapping[str, Any]:
        """Sheets by product id."""
        ...

    @property
    def methods(self) -> Mapping[str, Any]:
        """Methods by key."""
        ...


def held(entry: Entry, catalog: Sheets | None = None, *, system: str = "us") -> tuple[str, ...]:
    """Say why an entry is held for review; nothing where it may be counted.

    Parameters
    ----------
    entry : Entry
        As stored, whatever stands in it.
    catalog : Sheets or None
        Products and methods that are known; None looks at the figures only.
    system : str
        Units of the reader: ``us`` or ``metric``.

    Returns
    -------
    tuple of str
        Reasons, each a sentence that names the figure.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from hullwright.proof.entries import Stamp
    >>> stamp = Stamp("lead", "p1", datetime(2024, 5, 3, tzinfo=UTC), 1)
    >>> held(Entry("a", "width", stamp, what={"width_m": 1e308}))
    ("width_m can't be 1e+308: the width of a band is at least 0.0394 in and at most 197 in",)
    >>> held(Entry("b", "nailing", stamp, what={"passed": True}))
    ()
    """
    if _sound(entry):
        return tuple(_unknown(entry, catalog))
    return tuple(_reasons(entry, system))


def _sound(entry: Entry) -> bool:
    """Whether nothing is odd about the figures; what was looked at once is not looked at again while it is kept in memory."""
    what = entry.what
    if not isinstance(what, MappingProxyType):
        return not any(_reasons(entry, "us"))
    key = (id(what), entry.kind)
    known = _LOOKED.get(key)
    if known is None:
        if len(_LOOKED) >= _MOST_LOOKED:
            _LOOKED.clear()
        # The figures are kept beside the answer, so that no others can come to lie at their address.
        known = _LOOKED[key] = (what, not any(_reasons(entry, "us")))
    return known[1]


_MOST_LOOKED: Final = 20_000
_LOOKED: Final[dict[tuple[int, str], tuple[Mapping[str, Any], bool]]] = {}


def usable(entry: Entry) -> Entry | None:
    """Give an entry as it may be counted by its figures, None where it may not.

    Parameters
    ----------
    entry : Entry
        As stored.

    Returns
    -------
    Entry or None
        Itself where nothing is odd; a hole or flaw without the figures that can't be used.
    """
    if _sound(entry):
        return entry
    if entry.kind not in STANDS_ANYWAY:
        return None
    kept = {
        field.name: entry.what[field.name]
        for field in KINDS[entry.kind]
        if fits(entry.what.get(field.name), field) and not _odd(entry, field, entry.what[field.name])
    }
    for field in KINDS[entry.kind]:
        if field.required and field.name not in kept:
            kept[field.name] = NOT_SAID
    return replace(entry, what=MappingProxyType(kept))


def questions(entry: Entry, *, system: str = "us") -> dict[str, Problem]:
    """Ask about odd figures, each with the unit that may be meant.

    Parameters
    ----------
    entry : Entry
        Whose figures are of their types and can be.
    system : str
        Units of the reader.

    Returns
    -------
    dict of str to Problem
        By figure; how to say that it is right is for the caller to add.
    """
    found: dict[str, Problem] = {}
    for field in KINDS.get(entry.kind, ()):
        name, value = quantity_of(field.name), entry.what.get(field.name)
        if name is None or value is None or not fits(value, field) or field.name in _sure(entry):
            continue
        for number in numbers_in(value):
            size = in_table_unit(field.name, number)
            if verdict(name, size) is Verdict.ODD:
                where, typed = Where(key=f"what.{field.name}"), as_typed(field.name, number)
                text = typed or quantity(name).written(size, system)
                problem = ask(name, text, system=system, answer="", where=where)
                found.setdefault(field.name, problem if typed else replace(problem, hint=""))
    return found


def _reasons(entry: Entry, system: str) -> Iterator[str]:
    if entry.kind not in KINDS:
        yield f"`{entry.kind}` is no kind of entry that is known here"
        return
    fields = {field.name: field for field in KINDS[entry.kind]}
    for name in entry.what:
        if name not in fields and name != SURE:
            yield f"{entry.kind} has no figure `{name}`"
    sound = True
    for field in fields.values():
        value = entry.what.get(field.name)
        found = tuple(_of_field(entry, field, value, system))
        sound = sound and not found
        yield from found
    if sound:
        yield from _together(entry)


def _of_field(entry: Entry, field: Field, value: object, system: str) -> Iterator[str]:
    if value is None:
        if field.required:
            yield f"{field.name} is missing"
    elif not fits(value, field):
        yield f"{field.name} can't be {_short(value)}"
    else:
        yield from _odd(entry, field, value, system)


def _odd(entry: Entry, field: Field, value: object, system: str = "us") -> tuple[str, ...]:
    """Say what is impossible or odd about numbers that are numbers."""
    name = quantity_of(field.name)
    if name is None or field.type not in {"number", "count", "numbers"}:
        return ()
    row, out = quantity(name), []
    for number in numbers_in(value):
        found = verdict(name, in_table_unit(field.name, number))
        if found is Verdict.IMPOSSIBLE:
            out.append(f"{field.name} can't be {_short(number)}: {row.words} is {row.possible(system)}")
        elif found is Verdict.ODD and field.name not in _sure(entry):
            out.append(f"is {field.name} {_short(number)} right? {row.words} is usually {row.usual(system)}")
    return tuple(out)


def _sure(entry: Entry) -> tuple[object, ...]:
    stated, before = entry.what.get(SURE), old_keys(entry.kind)
    names = stated if isinstance(stated, (list, tuple)) else ()
    return tuple(before.get(name, name) if isinstance(name, str) else name for name in names)


def _together(entry: Entry) -> Iterator[str]:
    """Figures that can't go together."""
    what = entry.what
    if entry.kind == "probe" and what["failed"] > what["tried"]:
        yield "more places failed than were tried"
    start, end = (what.get(name) for name in ("from_m", "to_m"))  # null is the same as not said
    if entry.kind == "done" and (0.0 if start is None else start) >= (math.inf if end is None else end):
        yield "to_m must lie beyond from_m"
    if entry.kind == "overdriven" and what["over_1_16"] + what["over_1_8"] > what["perimeter"]:
        yield "more fasteners are overdriven than were looked at"
    if entry.kind in _READINGS:
        yield from _not_of_gauge(what)


def _not_of_gauge(what: Mapping[str, Any]) -> Iterator[str]:
    notches = what.get("notches_um", what.get("teeth_um", ()))
    last, following = what.get("last_wet_um"), what.get("next_dry_um")
    try:
        Comb(tuple(float(notch) * _UM for notch in notches)).between(
            None if last is None else last * _UM, None if following is None else following * _UM
        )
    except InputError as error:
        yield from (problem.message for problem in error.problems)


def _unknown(entry: Entry, catalog: Sheets | None) -> Iterator[str]:
    """Products and methods that nobody gave a sheet for."""
    if catalog is None:
        return
    product, method = entry.what.get("product"), entry.what.get("method")
    if product and product not in catalog.products:
        yield f"no sheet of the product `{product}`: write one into the building file, or correct the name"
    if method and method not in catalog.methods:
        yield f"`{method}` is no method: correct the name"


def _short(value: object) -> str:
    if is_number(value):
        return f"{float(value):g}"  # type: ignore[arg-type]  # a number
    return shown(value)
