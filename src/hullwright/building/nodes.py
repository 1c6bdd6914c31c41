"""Text of a building file to a tree of nodes that know their line and column.

Only the plain part of YAML is taken: one document of mappings, lists and scalars. Anchors, aliases, tags and several
documents are refused, so that a small file can't unfold into a large one; scalars stay text, so that ``6:12`` is a
pitch and ``no`` a word until the specification says what is wanted there.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Final, Literal, NamedTuple

import yaml

from hullwright.errors import BuildingFileError, Problem, Where

MOST_BYTES: Final = 5_000_000
MOST_DEPTH: Final = 40
_LOADER: Final[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_NOT_TEXT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
_ENDS: Final = frozenset({yaml.SequenceEndEvent, yaml.MappingEndEvent})
_SIZE_ALLOWED: Final = f"at most {MOST_BYTES // 1_000_000} MB of text"


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


def decode(raw: bytes, file: str) -> str:
    """Turn the bytes of a file into text, or say why they are not a building file.

    Parameters
    ----------
    raw : bytes
    file : str
        Name for errors.

    Raises
    ------
    BuildingFileError
        Too large, binary, or not UTF-8.
    """
    if len(raw) > MOST_BYTES:
        raise _refused(
            file,
            "the file is too large for a building file",
            got=f"more than {MOST_BYTES // 1_000_000} MB",
            allowed=_SIZE_ALLOWED,
            hint="hand over the building file itself, not a model or an archive",
        )
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refused(
            file,
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
            "the file is not UTF-8 text",
            line=line,
            got=f"byte 0x{raw[error.start]:02x}",
            allowed="UTF-8 text",
            hint="save it as UTF-8; a building file is plain text, not a document, picture or archive",
        ) from error


def compose(text: str, file: str) -> Node:
    r"""Read text into its tree.

    Parameters
    ----------
    text : str
        The building file.
    file : str
        Name for errors.

    Returns
    -------
    Node
        The mapping at the root.

    Raises
    ------
    BuildingFileError
        Empty, too large, too deep, not plain YAML, keys stated twice.

    Examples
    --------
    >>> root = compose("name: Small house\nmasses: []\n", "house.yaml")
    >>> [key.text for key, _ in root.entries], root.entries[1][0].line
    (['name', 'masses'], 2)
    """
    _check_text(text, file)
    builder = _Builder(file)
    try:
        root = builder.build(text)
    except yaml.YAMLError as error:
        raise _not_yaml(error, file) from error
    if root is None or root.empty:
        raise _refused(
            file,
            "the file is empty",
            line=1,
            allowed="a building file",
            hint="`hullwright new` writes one to start from",
        )
    if root.kind != "map":
        builder.problems.append(
            Problem(
                "a building file is a table of keys",
                Where(file, root.line, root.column),
                root.shown(),
                "keys with values, such as `units: ft`",
                "`hullwright new` writes a file to start from",
            )
        )
    if builder.problems:
        raise BuildingFileError(f"{file} can't be used as a building file", builder.problems)
    return root


def _check_text(text: str, file: str) -> None:
    if len(text) > MOST_BYTES:
        raise _refused(
            file,
            "the text is too large for a building file",
            got=f"{len(text) / 1e6:.0f} MB",
            allowed=_SIZE_ALLOWED,
            hint="hand over the building file itself",
        )
    odd = _NOT_TEXT.search(text)
    if odd:
        raise _refused(
            file,
            "the file is not plain text",
            line=text.count("\n", 0, odd.start()) + 1,
            got=f"character 0x{ord(odd.group()):02x}",
            allowed="UTF-8 text without control characters",
            hint="save it as plain UTF-8 text",
        )


class _Builder:
    """Builds nodes from parser events, and collects what is not allowed."""

    def __init__(self, file: str) -> None:
        self.file = file
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
        if depth > MOST_DEPTH:
            where = Where(self.file, line, column)
            raise BuildingFileError(f"{self.file} can't be used as a building file", [_too_deep(where)])
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

    def _not_plain(self, event: Any) -> BuildingFileError:
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

    def _stop(self, event: Any, message: str, allowed: str, hint: str) -> BuildingFileError:
        mark = event.start_mark
        where = Where(self.file, mark.line + 1, mark.column + 1)
        problems = [*self.problems, Problem(message, where, allowed=allowed, hint=hint)]
        return BuildingFileError(f"{self.file} can't be used as a building file", problems)


def _too_deep(where: Where) -> Problem:
    return Problem(
        "lists or tables are nested too deep here",
        where,
        allowed=f"at most {MOST_DEPTH} levels",
        hint="a building file needs six at most: look for unclosed brackets",
    )


def _not_yaml(error: yaml.YAMLError, file: str) -> BuildingFileError:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    found = str(getattr(error, "problem", None) or getattr(error, "reason", None) or "unreadable text")
    where = Where(file, mark.line + 1, mark.column + 1) if mark else Where(file)
    context = getattr(error, "context", None)
    if "nesting depth" in found:
        return BuildingFileError(f"{file} can't be used as a building file", [_too_deep(where)])
    problem = Problem(
        "the text can't be read as YAML here",
        where,
        f"{context}: {found}" if context else found,
        "keys and values, lists and indents of YAML",
        "look at this line and the one above for a missing bracket, quote, colon, or a wrong indent",
    )
    return BuildingFileError(f"{file} can't be read", [problem])


def _refused(
    file: str, message: str, *, line: int | None = None, got: str = "", allowed: str = "", hint: str = ""
) -> BuildingFileError:
    problem = Problem(message, Where(file, line), got, allowed, hint)
    return BuildingFileError(f"{file} can't be used as a building file", [problem])
