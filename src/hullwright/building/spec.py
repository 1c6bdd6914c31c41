"""The small language in which the building file is specified: reader, validator and JSON Schema from one source.

A *kind* says what may stand somewhere. It reads a node into a value and notes every problem instead of stopping at the
first; it also gives the JSON Schema of what it takes. :data:`BROKEN` stands for a value that was there but wrong, so that
one mistake is told once.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Literal, Protocol

from hullwright.building.nodes import Node
from hullwright.errors import Problem, Where
from hullwright.evidence import Evidence

Schema = dict[str, Any]


class _Broken:
    """The value of what was stated but can't be used."""

    def __repr__(self) -> str:
        return "BROKEN"


BROKEN: Final = _Broken()


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
    """

    file: str
    bare: str = "m"
    system: Literal["us", "metric"] = "metric"
    problems: list[Problem] = field(default_factory=list)
    assumed: dict[tuple[str, str], dict[str, None]] = field(default_factory=dict)
    folder: Path | None = None
    marks: dict[str, Where] = field(default_factory=dict)

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
    """

    noun: str
    keys: Mapping[str, Key]

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
        for key, value in node.entries:
            name = _key_name(key.text, self.keys)
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
        return raw

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
        out: Schema = {"type": "object", "additionalProperties": False, "properties": properties}
        needed = [name for name, key in self.keys.items() if key.required]
        if needed:
            out["required"] = needed
        return out


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
            )
        out = [self.member.read(item, notes, f"{path}[{i}]") for i, item in enumerate(node.items)]
        if any(value is BROKEN for value in out):
            out = [value for value in out if value is not BROKEN]
            return out if isinstance(self.member, Table) else BROKEN
        return out

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
