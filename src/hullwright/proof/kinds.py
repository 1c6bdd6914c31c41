"""What can be logged, and which figures belong to it.

One table: kind of entry and its fields; how large a figure may be is said by its quantity (:mod:`hullwright.proof.limits`).
Nobody types a state of a joint; states follow from these. Names of before stand in :mod:`hullwright.proof.old_names`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from hullwright.errors import InputError, Problem, Where
from hullwright.proof.entries import MAX_TEXT, Entry, is_number, shown
from hullwright.proof.limits import in_table_unit, quantity_of
from hullwright.proof.old_names import kind_now, old_keys
from hullwright.quantities import Verdict, quantity, verdict

SURE: Final = "sure"
"""Beside the figures of any kind: names of those that look odd and are right."""


@dataclass(frozen=True, slots=True)
class Field:
    """One figure of an entry.

    Parameters
    ----------
    name : str
        Key, with its SI unit at the end.
    type : str
        ``text``, ``number``, ``count``, ``coat``, ``flag``, ``numbers`` or ``texts``.
    required : bool
    """

    name: str
    type: str
    required: bool = True


def _text(name: str) -> Field:
    return Field(name, "text")


def _maybe(name: str, kind: str = "text") -> Field:
    return Field(name, kind, required=False)


def _number(name: str) -> Field:
    return Field(name, "number")


_NOTE: Final = _maybe("note")
_LOT: Final = (_text("method"), _text("crew"), _text("surface"), _maybe("product"))
_LENGTH_DONE: Final = (_maybe("from_m", "number"), _maybe("to_m", "number"))
_GROUP: Final = _maybe("of", "texts")  # joints, runs, marks or faces that it is about together
_COAT: Final = _maybe("coat", "coat")
_STRENGTH: Final = (_number("force_n"), _maybe("failure"), Field("held", "flag"))
KINDS: Final[dict[str, tuple[Field, ...]]] = {
    # the least
    "done": (*_LOT, *_LENGTH_DONE, _COAT, _maybe("substitute", "flag"), _GROUP, _NOTE),
    "photo": (_text("sha256"), _GROUP, _NOTE),
    "used": (_text("product"), _text("method"), _number("packs"), _maybe("quantity", "number"), _maybe("cured", "count"), _maybe("crew"), _NOTE),
    "weather": (_maybe("air_c", "number"), _maybe("humidity", "number"), _maybe("wind_m_s", "number"), _maybe("rain", "flag"), _NOTE),
    # before the seal
    "nailing": (Field("passed", "flag"), _NOTE),
    "straps": (Field("passed", "flag"), _NOTE),
    "surface": (_maybe("moisture_share", "number"), _maybe("meter"), _maybe("mode"), _maybe("surface_c", "number"), _maybe("dew_point_c", "number"), Field("dry", "flag"), _GROUP, _NOTE),
    "prepared": (_maybe("steps", "texts"), _GROUP, _NOTE),
    "primed": (_text("product"), _GROUP, _NOTE),
    # stages of the work of others
    "unit set": (_GROUP, _NOTE),
    "trade through": (_maybe("made_by"), _GROUP, _NOTE),
    # film, tape, checks
    "gauge reading": (*_LOT, Field("notches_um", "numbers"), _maybe("last_wet_um", "number"), _maybe("next_dry_um", "number"), _COAT, _NOTE),
    "film added": (*_LOT, _maybe("reading"), _COAT, _NOTE),
    "cut": (*_LOT, _number("dry_um"), _COAT, _NOTE),
    "width": (_number("width_m"), _NOTE),
    "rolled": (_text("seen_by"), _GROUP, _NOTE),
    "seen": (_text("seen_by"), Field("sound", "flag"), _maybe("flat", "flag"), _GROUP, _NOTE),
    "probe": (_maybe("method"), _maybe("crew"), Field("tried", "count"), Field("failed", "count"), _NOTE),
    "tug": (_text("method"), _text("crew"), Field("held", "flag"), _maybe("product"), _maybe("surface"), _maybe("failure"), _NOTE),
    "pull": (*_STRENGTH, _NOTE),
    "peel": (*_STRENGTH, _NOTE),
    "smoke": (Field("leaked", "flag"), _GROUP, _NOTE),
    "staples": (Field("count", "count"), _NOTE),
    # stock and hours
    "opened": (_text("product"), _text("lot"), _maybe("expires"), _NOTE),
    "emptied": (_text("product"), _text("lot"), _NOTE),
    "hours": (_text("method"), _text("crew"), _number("hours"), _number("quantity"), _maybe("people", "count"), _NOTE),
    # what went wrong
    "flaw": (_text("text"), _maybe("method"), _maybe("crew"), _NOTE),
    "mended": (_text("flaw"), _text("product"), _NOTE),
    "looked": (_text("method"), _text("crew"), _number("quantity"), Field("flaws", "count"), _maybe("pieces", "flag"), _NOTE),
    "overdriven": (Field("perimeter", "count"), Field("over_1_16", "count"), Field("over_1_8", "count"), _maybe("sealed", "count"), _NOTE),
    "fasteners added": (Field("count", "count"), _NOTE),
    "hole": (_text("text"), _text("made_by"), _maybe("size_m", "number"), _maybe("temporary", "flag"), _NOTE),
    "hole sealed": (_text("hole"), _text("product"), _text("detail"), _NOTE),
    "as laid differs": (_NOTE,),
    "can't work": (_text("reason"), _NOTE),
    "trouble": (_text("text"), _NOTE),
    # papers, OK to cover, choices
    "paper": (_text("type"), _text("first"), _maybe("second"), _maybe("sha256"), _NOTE),
    "ok to cover": (_text("signed_by"), Field("exceptions", "texts"), _maybe("joints", "texts"), _maybe("supplements"), _NOTE),
    "covered": (_maybe("ok"), _NOTE),
    "opened again": (_text("reason"), _NOTE),
    "withdrawn": (_text("reason"),),
    "chosen": (_text("entry"), Field("against", "texts"), _maybe("reason")),
    "placed": (_text("entry"), _maybe("reason")),
    "remark": (_text("text"),),
}  # fmt: skip
MOST_COATS: Final = 9
MOST_TEXTS: Final = 5000  # an OK to cover names every joint of a face
PLACED: Final = frozenset(
    {
        "done", "covered", "hole", "gauge reading", "film added", "unit set", "trade through", "fasteners added", "as laid differs",
        "opened again",
    }
)  # fmt: skip
"""Kinds that say nothing without a place on the house."""


def fields_of(kind: str, names: Iterable[str] = ()) -> tuple[Field, ...]:
    """Give the figures of a kind, under the names of before where those are used.

    Parameters
    ----------
    kind : str
        Kind of today or of before.
    names : iterable of str
        Names of figures that were used, with their unit or without.

    Returns
    -------
    tuple of Field
        Empty where there is no such kind.

    Examples
    --------
    >>> [field.name for field in fields_of("comb")][4], [field.name for field in fields_of("covered", ["release"])][0]
    ('teeth_um', 'release')
    """
    fields = KINDS.get(kind_now(kind), ())
    was = {new: old for old, new in old_keys(kind).items()}
    said = set(names)
    used = any({old, old.rpartition("_")[0]} & said for old in was.values())
    if kind in KINDS and not used:
        return fields
    return tuple(replace(field, name=was.get(field.name, field.name)) for field in fields)


def check(entry: Entry, where: Where | None = None, *, sizes: bool = True) -> Entry:
    """Check the figures of an entry against the table, while whoever writes is there to mend them.

    Parameters
    ----------
    entry : Entry
    where : Where, optional
        Place in the file it came from.
    sizes : bool
        Refuse figures that can't be too; without it they are for :func:`hullwright.proof.held.held` to find.

    Returns
    -------
    Entry
        The same.

    Raises
    ------
    InputError
        With every problem found.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from hullwright.proof.entries import Stamp
    >>> stamp = Stamp("lead", "p1", datetime(2024, 5, 3, tzinfo=UTC), 1)
    >>> check(Entry("6f1c1b9e-9a3c-4c59-8f0f-0b6f4c1f4a11", "nailing", stamp, what={"passed": True})).kind
    'nailing'
    """
    base = where or Where()
    if entry.kind not in KINDS:
        now = kind_now(entry.kind)
        hint = f"it is called {now!r} now" if now in KINDS else ""
        problem = Problem("unknown kind of entry", base, got=entry.kind, allowed=", ".join(KINDS), hint=hint)
        raise InputError("this entry can't be used", [problem])
    fields = {field.name: field for field in KINDS[entry.kind]}
    problems = [
        _problem(base, entry.kind, name, "one of " + ", ".join(fields), entry.what)
        for name in entry.what
        if name not in fields and name != SURE
    ]
    for field in fields.values():
        value = entry.what.get(field.name)
        if value is None:
            if field.required:
                problems.append(_problem(base, entry.kind, field.name, _allowed(field), entry.what))
        elif not fits(value, field) or (sizes and not _possible(value, field)):
            problems.append(_problem(base, entry.kind, field.name, _allowed(field), entry.what))
    problems += _of_sure(entry, fields, base)
    problems += _together(entry, base)
    if problems:
        raise InputError("this entry can't be used", problems)
    return entry


def _of_sure(entry: Entry, fields: Mapping[str, Field], where: Where) -> list[Problem]:
    """Look whether `sure` names figures of this entry."""
    stated = entry.what.get(SURE, ())
    numbers = [name for name in fields if quantity_of(name) is not None]
    if isinstance(stated, (list, tuple)) and all(name in numbers and name in entry.what for name in stated):
        return []
    allowed = f"a list of figures of this entry: {', '.join(numbers) or 'it has none'}"
    return [_problem(where, entry.kind, SURE, allowed, entry.what)]


def _possible(value: object, field: Field) -> bool:
    name = quantity_of(field.name)
    if name is None or field.type not in {"number", "numbers", "count"}:
        return True
    return all(
        verdict(name, in_table_unit(field.name, one)) is not Verdict.IMPOSSIBLE for one in numbers_in(value)
    )


def numbers_in(value: Any) -> Sequence[Any]:
    """Give the numbers of a figure: of a list all, else the one."""
    return value if isinstance(value, (list, tuple)) else (value,)


def _together(entry: Entry, where: Where) -> list[Problem]:
    """Rules across fields."""
    what = entry.what
    out: list[Problem] = []
    if entry.kind == "probe" and _both(what, "tried", "failed") and what["failed"] > what["tried"]:
        out.append(_problem(where, entry.kind, "failed", "at most the number tried", what))
    if entry.kind == "done" and _both(what, "from_m", "to_m") and what["from_m"] >= what["to_m"]:
        out.append(_problem(where, entry.kind, "to_m", "beyond from_m", what))
    if entry.kind == "overdriven" and _more_over_than_looked_at(what):
        out.append(_problem(where, entry.kind, "perimeter", "at least the number overdriven", what))
    spot = entry.spot
    somewhere = spot.joint or spot.face or spot.run or spot.mark or what.get("of") or what.get("reading")
    if entry.kind in PLACED and not somewhere:
        allowed = "a joint, run, mark or face"
        out.append(Problem(f"{entry.kind} needs a place on the house", where, allowed=allowed))
    return out


def _more_over_than_looked_at(what: Mapping[str, Any]) -> bool:
    counts = [what.get(name) for name in ("over_1_16", "over_1_8", "perimeter")]
    if not all(isinstance(count, int) for count in counts):
        return False
    return bool(what["over_1_16"] + what["over_1_8"] > what["perimeter"])


def _both(what: Mapping[str, Any], first: str, second: str) -> bool:
    return all(isinstance(what.get(name), (int, float)) for name in (first, second))


def fits(value: object, field: Field) -> bool:
    """Whether a value is of the type of a figure: how large it may be is said by its quantity.

    Parameters
    ----------
    value : object
    field : Field
    """
    match field.type:
        case "text":
            return isinstance(value, str) and 0 < len(value) <= MAX_TEXT
        case "flag":
            return isinstance(value, bool)
        case "count" | "coat":
            low, high = (1, MOST_COATS) if field.type == "coat" else (0, 10**9 - 1)
            return isinstance(value, int) and not isinstance(value, bool) and low <= value <= high
        case "number":
            return is_number(value)
        case "numbers":
            return isinstance(value, (list, tuple)) and 0 < len(value) <= 200 and all(map(is_number, value))
        case _:
            return (
                isinstance(value, (list, tuple))
                and len(value) <= MOST_TEXTS
                and all(isinstance(x, str) for x in value)
            )


def _allowed(field: Field) -> str:
    names = {
        "text": f"a text of 1 to {MAX_TEXT} characters",
        "flag": "true or false",
        "count": "a whole number, 0 or more",
        "coat": f"a whole number from 1 to {MOST_COATS}",
        "numbers": "a list of numbers",
        "texts": "a list of texts",
    }
    name = quantity_of(field.name)
    span = f": {quantity(name).words}, {quantity(name).possible('metric')}" if name else ""
    return names.get(field.type, "a finite number") + (span if field.type != "text" else "")


def _problem(where: Where, kind: str, name: str, allowed: str, what: Mapping[str, Any]) -> Problem:
    key = f"{where.key}.what.{name}" if where.key else f"what.{name}"
    got = shown(what[name]) if name in what else "nothing"
    return Problem(
        f"{name} of {kind} is missing or wrong",
        Where(where.file, where.line, where.column, key),
        got=got,
        allowed=allowed,
    )
