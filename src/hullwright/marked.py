"""Marked text: the plain part of YAML as a tree of nodes that know their line and column.

One document of mappings, lists and scalars is taken. Anchors, aliases, tags and several documents are refused, so that a small
file can't unfold into a large one; scalars stay text, so that ``6:12`` is a pitch and ``no`` a word until somebody says what is
wanted there. What the file is for is said by its :class:`Sort`: the words of its errors, how large and how deep it may be.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal, NamedTuple

import yaml

from hullwright.errors import InputError, Problem, Where

MOST_BYTES: Final = 5_000_000
_LOADER: Final[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_NOT_TEXT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
_ENDS: Final = frozenset({yaml.SequenceEndEvent, yaml.MappingEndEvent})


@dataclass(frozen=True, slots=True)
class Sort:
    """What a file is for.

    Parameters
    ----------
    noun : str
        ``building file``, ``fan test``.
    error : type
        Of the errors that are raised.
    start : str
        What to do for a file to start from.
    keys : str
        What a table of it looks like.
    most_depth : int
        Levels of lists and tables.
    """

    noun: str
    error: type[InputError]
    start: str
    keys: str
    most_depth: int

    def refuse(self, file: str, problems: Sequence[Problem]) -> InputError:
        """Make the error that a file can't be used.

        Parameters
        ----------
        file : str
        problems : sequence of Problem

        Returns
        -------
        InputError
            Of the kind of this sort.
        """
        return self.error(f"{file} can't be used as a {self.noun}", problems)


class Node(NamedTuple):
    """A scalar, list or mapping with its place (line and column from 1).

    Parameters
    ----------
    kind : str
        ``scalar``, ``list`` or ``map``.
    text : str
        Text of a scalar.
    quoted : bool
        The scalar stands in quotes.
    items : tuple of Node
        Members of a list.
    entries : tuple of (Node, Node)
        Keys and values of a mapping.
    """

    kind: Literal["scalar", "list", "map"]
    line: int
    column: int
    text: str = ""
    quoted: bool = False
    items: tuple[Node, ...] = ()
    entries: tuple[tuple[Node, Node], ...] = ()

    @property
    def empty(self) -> bool:
        """Whether nothing stands here."""
        return self.kind == "scalar" and not self.quoted and self.text in {"", "~", "null"}

    def shown(self) -> str:
        """What stands here, short, for an error."""
        if self.kind == "scalar":
            text = self.text if len(self.text) <= 60 else self.text[:57] + "..."
            return "nothing" if self.empty else text
        count = len(self.items) if self.kind == "list" else len(self.entries)
        noun = "a list of" if self.kind == "list" else "a table with"
        return f"{noun} {count} {'entry' if count == 1 else 'entries'}"


def decode(raw: bytes, file: str, sort: Sort, *, most: int = MOST_BYTES) -> str:
    """Turn the bytes of a file into plain text, or say why they are none.

    Parameters
    ----------
    raw : bytes
    file : str
        Name for errors.
    sort : Sort
    most : int
        Largest size [bytes].

    Returns
    -------
    str

    Raises
    ------
    InputError
        Of the sort: too large, binary, or not UTF-8.
    """
    if len(raw) > most:
        raise _refused(
            file,
            sort,
            f"the file is too large for a {sort.noun}",
            got=f"more than {most / 1e6:g} MB",
            allowed=f"at most {most / 1e6:g} MB of text",
            hint=f"hand over the {sort.noun} itself, not a model or an archive",
        )
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refused(
            file,
            sort,
            "the file is saved as UTF-16",
            got="UTF-16 text",
            allowed="UTF-8 text",
            hint="save it again as UTF-8 in the editor",
        )
    try:
        return raw.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _refused(
            file,
            sort,
            "the file is not UTF-8 text",
            line=line,
            got=f"byte 0x{raw[error.start]:02x}",
            allowed="UTF-8 text",
            hint=f"save it as UTF-8; a {sort.noun} is plain text, not a document, picture or archive",
        ) from error


def check_text(text: str, file: str, sort: Sort, *, most: int = MOST_BYTES) -> None:
    """Refuse text that is too large or holds control characters.

    Parameters
    ----------
    text, file : str
    sort : Sort
    most : int
        Most characters.

    Raises
    ------
    InputError
        Of the sort.
    """
    if len(text) > most:
        raise _refused(
            file,
            sort,
            f"the text is too large for a {sort.noun}",
            got=f"{len(text) / 1e6:.0f} MB",
            allowed=f"at most {most / 1e6:g} MB of text",
            hint=f"hand over the {sort.noun} itself",
        )
    odd = _NOT_TEXT.search(text)
    if odd:
        raise _refused(
            file,
            sort,
            "the file is not plain text",
            line=text.count("\n", 0, odd.start()) + 1,
            got=f"character 0x{ord(odd.group()):02x}",
            allowed="UTF-8 text without control characters",
            hint="save it as plain UTF-8 text",
        )


def compose(text: str, file: str, sort: Sort) -> Node:
    r"""Read text into its tree.

    Parameters
    ----------
    text : str
    file : str
        Name for errors.
    sort : Sort

    Returns
    -------
    Node
        The mapping at the root.

    Raises
    ------
    InputError
        Of the sort: empty, too large, too deep, not plain YAML, keys stated twice.

    Examples
    --------
    >>> note = Sort("note", InputError, "write one", "`name: a`", 4)
    >>> root = compose("name: Small house\nmasses: []\n", "house.yaml", note)
    >>> [key.text for key, _ in root.entries], root.entries[1][0].line
    (['name', 'masses'], 2)
    """
    check_text(text, file, sort)
    builder = _Builder(file, sort)
    try:
        root = builder.build(text)
    except yaml.YAMLError as error:
        raise _not_yaml(error, file, sort) from error
    if root is None or root.empty:
        raise _refused(file, sort, "the file is empty", line=1, allowed=f"a {sort.noun}", hint=sort.start)
    if root.kind != "map":
        builder.problems.append(
            Problem(
                f"a {sort.noun} is a table of keys",
                Where(file, root.line, root.column),
                root.shown(),
                f"keys with values, such as {sort.keys}",
                sort.start,
            )
        )
    if builder.problems:
        raise sort.refuse(file, builder.problems)
    return root


class _Builder:
    """Builds nodes from parser events, and collects what is not allowed."""

    def __init__(self, file: str, sort: Sort) -> None:
        self.file, self.sort = file, sort
        self.problems: list[Problem] = []

    def build(self, text: str) -> Node | None:
        events: Iterator[Any] = yaml.parse(text, Loader=_LOADER)
        root: Node | None = None
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                if root is not None:
                    raise self._stop(
                        event,
                        "a second document starts here",
                        "one document",
                        "remove the `---` line, or make two files",
                    )
                root = self._node(next(events), events, 1)
        return root

    def _node(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        if event.__class__ is yaml.AliasEvent or event.anchor or event.tag:
            raise self._not_plain(event)
        mark = event.start_mark
        line, column = mark.line + 1, mark.column + 1
        if event.__class__ is yaml.ScalarEvent:
            quoted = not event.implicit[0]
            return Node("scalar", line, column, event.value if quoted else event.value.strip(), quoted)
        if depth > self.sort.most_depth:
            raise self.sort.refuse(self.file, [_too_deep(Where(self.file, line, column), self.sort)])
        members: list[Node] = []
        for inner in events:
            if inner.__class__ in _ENDS:
                break
            members.append(self._node(inner, events, depth + 1))
        if isinstance(event, yaml.SequenceStartEvent):
            return Node("list", line, column, items=tuple(members))
        return Node("map", line, column, entries=self._entries(members))

    def _entries(self, members: list[Node]) -> tuple[tuple[Node, Node], ...]:
        seen: dict[str, Node] = {}
        entries: list[tuple[Node, Node]] = []
        for key, value in zip(members[::2], members[1::2], strict=True):
            where = Where(self.file, key.line, key.column, key.text or None)
            if key.kind != "scalar":
                self.problems.append(
                    Problem(
                        "a key must be a word", where, key.shown(), "a word", "quote text that holds { or ["
                    )
                )
            elif key.text in seen:
                self.problems.append(
                    Problem(
                        f"the key `{key.text}` is stated twice",
                        where,
                        f"first on line {seen[key.text].line}",
                        "each key once",
                        "remove one of the two, or join their values",
                    )
                )
            else:
                seen[key.text] = key
                entries.append((key, value))
        return tuple(entries)

    def _not_plain(self, event: Any) -> InputError:
        if event.__class__ is not yaml.AliasEvent and event.tag:
            return self._stop(
                event,
                "tags (!) are not taken",
                "plain values",
                "remove the tag, or quote a text that starts with !",
            )
        return self._stop(
            event,
            "anchors and aliases (& and *) are not taken",
            "every value written out",
            "write the value out where it is used, or quote a text that starts with & or *",
        )

    def _stop(self, event: Any, message: str, allowed: str, hint: str) -> InputError:
        mark = event.start_mark
        where = Where(self.file, mark.line + 1, mark.column + 1)
        problems = [*self.problems, Problem(message, where, allowed=allowed, hint=hint)]
        return self.sort.refuse(self.file, problems)


def _too_deep(where: Where, sort: Sort) -> Problem:
    return Problem(
        "lists or tables are nested too deep here",
        where,
        allowed=f"at most {sort.most_depth} levels",
        hint=f"a {sort.noun} needs six at most: look for unclosed brackets",
    )


def _not_yaml(error: yaml.YAMLError, file: str, sort: Sort) -> InputError:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    found = str(getattr(error, "problem", None) or getattr(error, "reason", None) or "unreadable text")
    where = Where(file, mark.line + 1, mark.column + 1) if mark else Where(file)
    context = getattr(error, "context", None)
    if "nesting depth" in found:
        return sort.refuse(file, [_too_deep(where, sort)])
    problem = Problem(
        "the text can't be read as YAML here",
        where,
        f"{context}: {found}" if context else found,
        "keys and values, lists and indents of YAML",
        "look at this line and the one above for a missing bracket, quote, colon, or a wrong indent",
    )
    return sort.error(f"{file} can't be read", [problem])


def _refused(
    file: str,
    sort: Sort,
    message: str,
    *,
    line: int | None = None,
    got: str = "",
    allowed: str = "",
    hint: str = "",
) -> InputError:
    return sort.refuse(file, [Problem(message, Where(file, line), got, allowed, hint)])
