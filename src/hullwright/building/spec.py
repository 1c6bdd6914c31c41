"""The small language in which the building file is specified: reader, validator and JSON Schema from one source.

A *kind* says what may stand somewhere. It reads a node into a value and notes every problem instead of stopping at the
first; it also gives the JSON Schema of what it takes. :data:`BROKEN` stands for a value that was there but wrong, so that
one mistake is told once.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any, Final, Literal, Protocol

from hullwright.building.nodes import Node
from hullwright.errors import Problem, Where
from hullwright.evidence import Evidence
from hullwright.quantities import Verdict, ask, refuse, verdict

Schema = dict[str, Any]


class _Broken:
    """The value of what was stated but can't be used."""

    def __repr__(self) -> str:
        return "BROKEN"


BROKEN: Final = _Broken()


SURE: Final = "sure"
"""Key of every table that holds numbers: names of its keys whose values look odd and are right."""
SURE_DOC: Final = "Keys of this table whose values look odd and are right"
_SURE_SCHEMA: Final[Schema] = {"type": "array", "items": {"type": "string"}}


@dataclass(slots=True)
class Answers:
    """What a table says it is sure of.

    Parameters
    ----------
    path : str
        Of the table.
    named : dict of str to Where
        Keys that it names.
    used : set of str
        Those that answered a question.
    """

    path: str
    named: dict[str, Where]
    used: set[str] = field(default_factory=set[str])

    def own(self, path: str) -> str:
        """Path of a value from this table on, without the number in its list."""
        return re.sub(r"(\[\d+\])+$", "", path.removeprefix(self.path).lstrip("."))

    def answer(self, path: str) -> bool:
        """Whether the value at a path is one that the table is sure of."""
        for name in (self.own(path), first_key(self.own(path))):
            if name in self.named:
                self.used.add(name)
                return True
        return False


def first_key(path: str) -> str:
    """Give the key that a path begins with.

    Examples
    --------
    >>> first_key("prices.my-tape"), first_key("size[1]")
    ('prices', 'size')
    """
    return re.split(r"[.\[]", path, maxsplit=1)[0]


@dataclass(slots=True)
class Notes:
    """What is gathered while a file is read.

    Parameters
    ----------
    file : str
    bare : str
        Unit of bare lengths: ft, in, m or mm.
    system : str
        us or metric.
    problems : list of Problem
    assumed : dict
        Defaults taken: (part of the file, evidence) to ordered set of texts.
    folder : Path or None
        Where other files that it names may lie; None: none is read.
    marks : dict of str to Where
        Marks that are stated, case folded.
    sure : list of Answers
        Of the tables that are being read, the innermost last.
    remarks : list of str
        What is no mistake and should be said.
    asked : list of Problem
        Those of `problems` that are questions.
    units_known : bool
        Whether the file says its units.
    """

    file: str
    bare: str = "m"
    system: Literal["us", "metric"] = "metric"
    problems: list[Problem] = field(default_factory=list)
    assumed: dict[tuple[str, str], dict[str, None]] = field(default_factory=dict)
    folder: Path | None = None
    marks: dict[str, Where] = field(default_factory=dict)
    sure: list[Answers] = field(default_factory=list[Answers])
    remarks: list[str] = field(default_factory=list[str])
    asked: list[Problem] = field(default_factory=list[Problem])
    units_known: bool = True

    def weigh(self, of: str, value: Any, node: Node, path: str, *, bare: str | None = None) -> Any:
        """Give a value that can be; BROKEN after refusing one that can't. An odd one is asked where its table is not sure of it.

        Parameters
        ----------
        of : str
            Name in the table of quantities.
        value : float
            In the unit of that table.
        node : Node
            Where it stands.
        path : str
        bare : str or None
            Unit of a number without one.
        """
        found = verdict(of, value)
        if (
            found is Verdict.USUAL or node.line == 0
        ):  # line 0: our own default, which a test holds against the table
            return value
        if found is Verdict.ODD and not self.units_known:
            return value  # its size is not known before the file says its units
        where, system = self.where(node, path), self.system
        if found is Verdict.IMPOSSIBLE:
            self.problems.append(refuse(of, node.shown(), system=system, bare=bare, where=where))
            return BROKEN
        frame = self.sure[-1] if self.sure else Answers("", {})
        if not frame.answer(path):
            answer = (
                f"add `{SURE}: [{first_key(frame.own(path))}]` {'beside it' if frame.path else 'to the file'}"
            )
            question = ask(of, node.shown(), system=system, answer=answer, bare=bare, where=where)
            self.problems.append(question)
            self.asked.append(question)
        return value

    def doubt(self, raw: Raw, key: str, message: str, *, got: str, allowed: str, hint: str = "") -> None:
        """Ask about a value that goes badly with others, where its table is not sure of it.

        Parameters
        ----------
        raw : Raw
            The table.
        key : str
            Of the value, in the table.
        message, got, allowed, hint : str
        """
        if key in raw.sure:
            return
        answer = f"if it is right, add `{SURE}: [{key}]` beside it"
        question = Problem(message, raw.place(key), got, allowed, f"{hint}; {answer}" if hint else answer)
        self.problems.append(question)
        self.asked.append(question)

    def to_tell(self) -> list[Problem]:
        """Give the problems without questions about values that are wrong for another reason: that comes first."""
        first = {question.where.key: question for question in reversed(self.asked)}
        asked = {id(question) for question in self.asked}
        wrong = {problem.where.key for problem in self.problems if id(problem) not in asked}
        return [
            problem
            for problem in self.problems
            if id(problem) not in asked
            or (
                first[problem.where.key] is problem
                and re.sub(r"(\[\d+\])+$", "", problem.where.key or "") not in wrong
            )
        ]

    def where(self, node: Node, path: str) -> Where:
        """Place of a node."""
        return Where(self.file, node.line, node.column, path or None)

    def wrong(self, where: Where, message: str, *, got: str = "", allowed: str = "", hint: str = "") -> Any:
        """Note a problem; gives BROKEN so that callers can return it."""
        self.problems.append(Problem(message, where, got, allowed, hint))
        return BROKEN

    def assume(self, part: str, what: str, evidence: Evidence) -> None:
        """Note a default that was taken in a part of the file."""
        self.assumed.setdefault((part, str(evidence)), {})[what] = None

    def told(self) -> tuple[str, ...]:
        """Give the defaults that were taken, one line for each part and evidence."""
        return tuple(
            f"{part}: {', '.join(texts)} [{mark}]" for (part, mark), texts in sorted(self.assumed.items())
        )


class Kind(Protocol):
    """What may stand somewhere in the file."""

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read a node to a value, or note why not and give BROKEN."""
        ...

    def schema(self) -> Schema:
        """JSON Schema of what is taken."""
        ...


def nearest(word: str, known: Iterable[str]) -> str:
    """Hint with the nearest known word, or the list of them.

    Examples
    --------
    >>> nearest("storys", ["storeys", "roof"])
    'did you mean `storeys`?'
    """
    names = list(known)
    folded = {name.lower(): name for name in names}
    match = difflib.get_close_matches(word.lower(), list(folded), n=1, cutoff=0.6)
    return f"did you mean `{folded[match[0]]}`?" if match else ""


@dataclass(frozen=True, slots=True)
class Default:
    """A default: the text as one would write it, and how far it can be trusted."""

    text: str
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a table.

    Parameters
    ----------
    kind : Kind
    doc : str
        What it means; goes into the schema and the documents.
    required : bool
    default : Default or None
        Taken, and told, where the key is absent.
    """

    kind: Kind
    doc: str
    required: bool = False
    default: Default | None = None


@dataclass(slots=True)
class Raw:
    """A table as read: values of the keys that are sound, places of all that are stated."""

    values: dict[str, Any]
    places: dict[str, Where]
    where: Where
    broken: set[str]
    sure: frozenset[str] = frozenset()

    def __getitem__(self, key: str) -> Any:
        """Value of a key, None where absent or broken."""
        return self.values.get(key)

    def __contains__(self, key: str) -> bool:
        """Whether the key was stated."""
        return key in self.places

    @property
    def ok(self) -> bool:
        """Whether all of it was sound."""
        return not self.broken

    def place(self, key: str) -> Where:
        """Place of a key's value, or of the table where it is absent."""
        return self.places.get(key, self.where)


@dataclass(frozen=True, slots=True)
class Table:
    """A table of known keys.

    Parameters
    ----------
    noun : str
        What it is, for errors: ``a mass``.
    keys : mapping of str to Key
    compared : tuple of str
        Keys that are held against others later: `sure` may answer there.
    """

    noun: str
    keys: Mapping[str, Key]
    compared: tuple[str, ...] = ()

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read every key; unknown and missing ones are noted."""
        if node.kind != "map":
            hint = f"keys: {', '.join(self.keys)}"
            return notes.wrong(
                notes.where(node, path),
                f"{self.noun} is a table of keys",
                got=node.shown(),
                allowed=hint,
                hint=self._example(),
            )
        raw = Raw({}, {}, notes.where(node, path), set())
        answers = self._answers(node, notes, path)
        notes.sure.append(answers)
        for key, value in node.entries:
            name = _key_name(key.text, self.keys)
            if name is None and key.text == SURE and self.numbers():
                continue
            at = f"{path}.{name or key.text}" if path else (name or key.text)
            if name is None:
                self._unknown(key, at, notes)
                raw.broken.add(key.text)
                continue
            raw.places[name] = notes.where(value, at)
            if value.empty:
                got: Any = notes.wrong(
                    raw.places[name],
                    f"nothing stands after `{name}:`",
                    got="nothing",
                    allowed=self.keys[name].doc,
                    hint="state it, or remove the key",
                )
            else:
                got = self.keys[name].kind.read(value, notes, at)
            if got is BROKEN:
                raw.broken.add(name)
            else:
                raw.values[name] = got
                if isinstance(got, Raw) and got.broken:
                    raw.broken.add(name)
        self._absent(raw, notes, path)
        notes.sure.pop()
        raw.sure = frozenset(answers.named)
        for idle in sorted(set(answers.named) - answers.used - set(self.compared)):
            said = f"`{SURE}: [{idle}]` answers nothing: its value is usual. Take it out"
            notes.remarks.append(f"{answers.named[idle]}: {said}")
        return raw

    def numbers(self) -> tuple[str, ...]:
        """Keys whose values are numbers of the table of quantities: what `sure` may name."""
        return tuple(name for name, key in self.keys.items() if quantities_in(key.kind))

    def _answers(self, node: Node, notes: Notes, path: str) -> Answers:
        """Read `sure`: a list of keys of this table; unknown ones are noted."""
        found, numbers = Answers(path, {}), self.numbers()
        stated = next((value for key, value in node.entries if key.text == SURE and numbers), None)
        if stated is None:
            return found
        at = f"{path}.{SURE}" if path else SURE
        if stated.kind != "list":
            allowed = f"{SURE}: [key, ...] with {', '.join(numbers)}"
            notes.wrong(
                notes.where(stated, at), f"`{SURE}` is a list of keys", got=stated.shown(), allowed=allowed
            )
            return found
        there = {_key_name(key.text, self.keys) for key, _ in node.entries} & set(numbers)
        for item in stated.items:
            name, where = item.text.strip(), notes.where(item, at)
            if item.kind == "scalar" and first_key(name) in there:
                found.named[name] = where
                continue
            notes.wrong(
                where,
                f"{self.noun} states no number `{item.shown()}` to be sure of",
                got=item.shown(),
                allowed=", ".join(one for one in numbers if one in there) or "no number is stated here",
                hint=nearest(name, numbers),
            )
        return found

    def _unknown(self, key: Node, at: str, notes: Notes) -> None:
        notes.wrong(
            notes.where(key, at),
            f"{self.noun} has no key `{key.text}`",
            got=key.text,
            allowed=", ".join(self.keys),
            hint=nearest(key.text, self.keys),
        )

    def _absent(self, raw: Raw, notes: Notes, path: str) -> None:
        for name, key in self.keys.items():
            if name in raw.places:
                continue
            if key.required:
                raw.broken.add(name)
                notes.wrong(
                    raw.where,
                    f"{self.noun} needs the key `{name}`",
                    got="no such key",
                    allowed=f"{name}: {key.doc}",
                    hint="add it",
                )
            elif key.default is not None:
                raw.values[name] = take_default(key, notes, f"{path}.{name}" if path else name)

    def _example(self) -> str:
        needed = [name for name, key in self.keys.items() if key.required]
        return f"it needs {', '.join(needed)}" if needed else ""

    def schema(self) -> Schema:
        """Object with these keys only."""
        properties = {name: _described(key) for name, key in self.keys.items()}
        if self.numbers():
            properties[SURE] = _SURE_SCHEMA | {"description": f"{SURE_DOC}: {', '.join(self.numbers())}."}
        out: Schema = {"type": "object", "additionalProperties": False, "properties": properties}
        needed = [name for name, key in self.keys.items() if key.required]
        if needed:
            out["required"] = needed
        return out


def quantities_in(kind: Kind) -> tuple[str, ...]:
    """Give the quantities that a kind reads itself; those of a table in it belong to that table.

    Examples
    --------
    >>> from hullwright.building.kinds import Number
    >>> quantities_in(ListOf(Number("people")))
    ('people',)
    """
    if isinstance(kind, Table):
        return ()
    if isinstance(kind, (ListOf, MapOf)):
        return quantities_in(kind.member)
    if isinstance(kind, Either):
        shapes = (kind.scalar, kind.list, kind.table)
        return tuple(name for one in shapes if one is not None for name in quantities_in(one))
    return tuple(getattr(kind, "quantities", ()))


def _key_name(text: str, keys: Mapping[str, Key]) -> str | None:
    if text in keys:
        return text
    folded = text.strip().lower().replace(" ", "_").replace("-", "_")
    return folded if folded in keys else None


def take_default(key: Key, notes: Notes, path: str) -> Any:
    """Value of a key's default, noted as assumed."""
    assert key.default is not None
    plain = "".join(part.partition("]")[2] if i else part for i, part in enumerate(path.split("[")))
    part, _, name = plain.rpartition(".")
    notes.assume(
        part or name, f"{name} {key.default.text}" if part else key.default.text, key.default.evidence
    )
    return key.kind.read(Node("scalar", 0, 0, key.default.text), notes, path)


def _described(key: Key) -> Schema:
    out = dict(key.kind.schema())
    doc = key.doc
    if key.default is not None:
        doc += f" Default: {key.default.text} ({key.default.evidence})."
    inner = out.get("description")
    out["description"] = f"{doc} {inner}" if inner else doc
    return out


@dataclass(frozen=True, slots=True)
class ListOf:
    """A list of things of one kind."""

    member: Kind
    least: int = 0
    most: int = 20_000
    noun: str = "entries"

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read all members; BROKEN where a single one is broken and members are not tables."""
        if node.kind != "list":
            return notes.wrong(
                notes.where(node, path),
                f"a list of {self.noun} is wanted here",
                got=node.shown(),
                allowed=f"a list of {self.noun}",
                hint="start each with `- ` on its own line, or write [a, b]",
            )
        if not self.least <= len(node.items) <= self.most:
            return notes.wrong(
                notes.where(node, path),
                f"this list has {len(node.items)} {self.noun}",
                got=str(len(node.items)),
                allowed=self._count(),
                hint=self._comma(node),
            )
        out = [self.member.read(item, notes, f"{path}[{i}]") for i, item in enumerate(node.items)]
        if any(value is BROKEN for value in out):
            out = [value for value in out if value is not BROKEN]
            return out if isinstance(self.member, Table) else BROKEN
        return out

    def _comma(self, node: Node) -> str:
        """Say what may be meant where a decimal comma has cut a number of a fixed list in two."""
        texts = [item.text for item in node.items]
        cut = any(one.isdigit() and other[:1].isdigit() for one, other in pairwise(texts))
        if self.least != self.most or len(texts) <= self.most or not cut:
            return ""
        return "a comma parts the list: the decimal sign is a point, as in 12.5"

    def _count(self) -> str:
        if self.least == self.most:
            return f"{self.least} {self.noun}"
        return f"from {self.least} to {self.most} {self.noun}"

    def schema(self) -> Schema:
        """Array."""
        out: Schema = {"type": "array", "items": self.member.schema()}
        if self.least:
            out["minItems"] = self.least
        if self.most < 1000:
            out["maxItems"] = self.most
        return out


@dataclass(frozen=True, slots=True)
class MapOf:
    """A table whose keys are the user's own words."""

    member: Kind
    noun: str

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to a dict of key -> (value, place of the key); BROKEN where one is broken."""
        if node.kind != "map":
            return notes.wrong(
                notes.where(node, path),
                f"a table of {self.noun} is wanted here",
                got=node.shown(),
                allowed=f"{self.noun}, each with its value",
            )
        out: dict[str, tuple[Any, Where]] = {}
        for key, value in node.entries:
            at = f"{path}.{key.text}"
            out[key.text] = (self.member.read(value, notes, at), notes.where(key, at))
        return BROKEN if any(value is BROKEN for value, _ in out.values()) else out

    def schema(self) -> Schema:
        """Object of any keys."""
        return {"type": "object", "additionalProperties": self.member.schema()}


@dataclass(frozen=True, slots=True)
class Either:
    """One of several shapes, told apart by whether a scalar, a list or a table stands there."""

    scalar: Kind | None = None
    list: Kind | None = None
    table: Kind | None = None

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Hand over to the kind for this shape."""
        shapes = {"scalar": self.scalar, "list": self.list, "map": self.table}
        kind = shapes[node.kind]
        if kind is None:
            kind = next(k for k in (self.table, self.list, self.scalar) if k is not None)
        return kind.read(node, notes, path)

    def schema(self) -> Schema:
        """Any of the shapes."""
        kinds: Sequence[Kind] = [k for k in (self.scalar, self.list, self.table) if k is not None]
        return {"anyOf": [kind.schema() for kind in kinds]}
