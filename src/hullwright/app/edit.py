"""One value of a building file changed in its text: every other character, comment and order stays.

The place of the value is found by the parser; only its span is replaced. The result is read again and must differ from the
old text in that value alone, else nothing is changed.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import yaml

from hullwright.building.nodes import compose
from hullwright.errors import InputError, Problem, Where, showable

Path = tuple[str | int, ...]
Plain = Any
"""Text, list or dict: a YAML node without its places."""

_STEP: Final = re.compile(
    r'(?:^|\.)(?P<key>[^.\[\]"]+)|\[(?P<number>\d{1,6})\]|\[(?P<quoted>"(?:[^"\\]|\\.)*")\]'
)
_PLAIN: Final = re.compile(r"""[A-Za-z0-9/+][A-Za-z0-9 /'"+.:%_()-]*""")
_LOADER: Final[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_DEEPEST: Final = 12


def read_path(key: str) -> Path:
    """Read a path of keys.

    Parameters
    ----------
    key : str
        Such as ``masses[0].roof.pitch``; keys with dots quoted: ``figures["leak.exponent"]``.

    Raises
    ------
    InputError

    Examples
    --------
    >>> read_path('masses[0].roof["a.b"]')
    ('masses', 0, 'roof', 'a.b')
    """
    out: list[str | int] = []
    at = 0
    while at < len(key):
        step = _STEP.match(key, at)
        if step is None or step.end() == at:
            break
        at = step.end()
        if step["key"] is not None:
            out.append(_text(step["key"], "key"))
        elif step["number"] is not None:
            out.append(int(step["number"]))
        else:
            try:
                out.append(_text(json.loads(step["quoted"]), "key"))
            except ValueError:  # a backslash before what needs none
                at = step.start()
                break
    if at < len(key) or not out or isinstance(out[0], int) or len(out) > _DEEPEST:
        problem = Problem("not a path of keys", Where(key="key"), key[:200], "such as masses[0].roof.pitch")
        raise InputError("this key can't be used", [problem])
    return tuple(out)


def change(text: str, key: str, value: Any, *, file: str = "building file") -> str:
    r"""Set one value.

    Parameters
    ----------
    text : str
        Building file.
    key : str
        Path; what is missing on the way is added, the number after the last item of a list appends.
    value : text, number, bool, list or dict
    file : str
        Name for errors.

    Returns
    -------
    str
        The new text; whether it is a sound building file is for the reader to say.

    Raises
    ------
    InputError
        Where the path leads nowhere, or the text around it can't be changed without touching more.

    Examples
    --------
    >>> print(change("aim: {target: 0.6}   # as agreed\n", "aim.budget", 6500))
    aim: {target: 0.6, budget: 6500}   # as agreed
    <BLANKLINE>
    """
    path, wanted = read_path(key), _plain_value(value)
    compose(text, file)  # anchors, tags and keys stated twice are refused before anything is moved
    root = _root(text)
    node, depth = _walk(root, path)
    if depth == len(path):
        new = _replace(text, node, wanted)
    else:
        for step in reversed(path[depth + 1 :]):
            wanted = {step: wanted} if isinstance(step, str) else [wanted]
        new = _add(text, node, path[depth], wanted)
    _put(before := _plain(root), path, _plain_value(value))
    return _sure(new, before, key)


def remove(text: str, key: str, *, file: str = "building file") -> str:
    r"""Take one value out, with its key; a table or list that would be left empty goes too.

    Raises
    ------
    InputError

    Examples
    --------
    >>> print(remove("aim:\n  target: 0.6\n  budget: 5000  # was less\nname: A\n", "aim.budget"))
    aim:
      target: 0.6
    name: A
    <BLANKLINE>
    """
    path = read_path(key)
    compose(text, file)
    root = _root(text)
    if _walk(root, path)[1] < len(path):
        raise InputError("there is no such key", [Problem("not in the file", Where(key="key"), key[:200])])
    while len(path) > 1 and _size(_walk(root, path[:-1])[0]) == 1:
        path = path[:-1]
    above, step = path[:-1], path[len(path) - 1]
    before = _plain(root)
    holder = before
    for one in above:
        holder = holder[one]
    del holder[step]
    return _sure(_cut(text, _walk(root, above)[0], step), before, key)


def add_all(text: str, additions: Sequence[tuple[str, Any]], *, file: str = "building file") -> str:
    r"""Add many keys to tables that are there, each to a table of its own: the text is read once, not once for each.

    Parameters
    ----------
    text : str
        Building file.
    additions : sequence of (path, value)
        Paths whose last key is not in its table yet.
    file : str
        Name for errors.

    Returns
    -------
    str

    Raises
    ------
    InputError
        Where a path leads nowhere or is there already, or the text around it can't be changed without touching more.

    Examples
    --------
    >>> print(add_all("openings:\n  - {kind: door}   # front\n  - kind: window\n", [("openings[0].mark", "D1"), ("openings[1].mark", "W1")]))
    openings:
      - {kind: door, mark: D1}   # front
      - kind: window
        mark: W1
    <BLANKLINE>
    """
    compose(text, file)
    root = _root(text)
    before = _plain(root)
    found: list[tuple[int, yaml.Node, str | int, Plain]] = []
    for key, value in additions:
        path, wanted = read_path(key), _plain_value(value)
        node, depth = _walk(root, path)
        if depth != len(path) - 1:
            raise InputError(
                "this key leads nowhere", [Problem("no such table, or the key is there", Where(key=key))]
            )
        found.append((int(node.start_mark.index), node, path[-1], wanted))
        _put(before, path, wanted)
    for _, node, step, wanted in sorted(found, key=lambda one: -one[0]):
        text = _add(text, node, step, wanted)
    return _sure(text, before, "marks")


@dataclass(frozen=True, slots=True)
class _Span:
    start: int
    end: int


def _root(text: str) -> yaml.Node:
    root = yaml.compose(text, Loader=_LOADER)
    assert root is not None
    return root


def _walk(node: yaml.Node, path: Path) -> tuple[yaml.Node, int]:
    """Go along a path as far as it is there."""
    for depth, step in enumerate(path):
        found = _child(node, step)
        if found is None:
            return node, depth
        node = found[1]
    return node, len(path)


def _child(node: yaml.Node, step: str | int) -> tuple[yaml.Node, yaml.Node] | None:
    if isinstance(node, yaml.MappingNode) and isinstance(step, str):
        return next(((k, v) for k, v in node.value if k.value == step), None)
    if isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
        return node.value[step], node.value[step]
    return None


def _flow(node: yaml.Node) -> bool:
    return bool(getattr(node, "flow_style", False))


def _size(node: yaml.Node) -> int:
    return len(node.value)


def _last(node: yaml.Node) -> int:
    """Where the text of a node ends; the parser lets block collections reach over what follows."""
    if isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        return _last(last[1] if isinstance(last, tuple) else last)
    return int(node.end_mark.index)


def _replace(text: str, node: yaml.Node, wanted: Plain) -> str:
    start, end = int(node.start_mark.index), _last(node)
    space = " " if start == end and text[start - 1 : start] not in {" ", "\n"} else ""
    return text[:start] + space + _shown(wanted) + text[end:]


def _add(text: str, node: yaml.Node, step: str | int, wanted: Plain) -> str:
    is_map = isinstance(node, yaml.MappingNode)
    if (
        is_map != isinstance(step, str)
        or (not is_map and not isinstance(node, yaml.SequenceNode))
        or (isinstance(step, int) and step != _size(node))
    ):
        raise InputError(
            "this key leads nowhere",
            [Problem("no such table or list item", Where(key="key"), str(step)[:200])],
        )
    words = f"{_shown(step)}: {_shown(wanted)}" if is_map else _shown(wanted)
    if _flow(node) or not node.value:
        end = int(node.end_mark.index) - 1
        if not node.value:
            return text[:end] + words + text[end:]
        last = _end_of_last(node)
        return text[:last] + f", {words}" + text[last:]
    first = node.value[0][0] if is_map else node.value[0]
    start = int(first.start_mark.index)
    begin = start if is_map else text.rindex("-", 0, start)
    indent = begin - (text.rfind("\n", 0, begin) + 1)
    end = _line_end(text, _end_of_last(node))
    lead = "" if text[:end].endswith("\n") else "\n"
    return text[:end] + lead + " " * indent + ("" if is_map else "- ") + words + "\n" + text[end:]


def _end_of_last(node: yaml.Node) -> int:
    last = node.value[-1]
    return _last(last[1] if isinstance(last, tuple) else last)


def _cut(text: str, node: yaml.Node, step: str | int) -> str:
    spans = [_span(text, node, one) for one in node.value]
    number = (
        step if isinstance(step, int) else next(k for k, one in enumerate(node.value) if one[0].value == step)
    )
    span = spans[number]
    if _flow(node):
        if number + 1 < len(spans):
            return text[: span.start] + text[spans[number + 1].start :]
        start = spans[number - 1].end if number else span.start
        return text[:start] + text[span.end :]
    line = text.rfind("\n", 0, span.start) + 1
    if text[
        line : span.start
    ].strip():  # the first key of a list item stands behind its dash: the next takes its place
        return text[: span.start] + text[spans[number + 1].start :]
    return text[:line] + text[_line_end(text, span.end) :]


def _span(text: str, node: yaml.Node, one: Any) -> _Span:
    if isinstance(one, tuple):
        return _Span(int(one[0].start_mark.index), _last(one[1]))
    start = int(one.start_mark.index)
    return _Span(start if _flow(node) else text.rindex("-", 0, start), _last(one))


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


def _shown(value: Plain) -> str:
    """A value in one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_shown(k)}: {_shown(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_shown(item) for item in value) + "]"
    word = str(value)
    plain = _PLAIN.fullmatch(word) and ": " not in word and not word.endswith((":", " "))
    return word if plain else json.dumps(word, ensure_ascii=False)


def _plain_value(value: Any, depth: int = 0) -> Plain:
    if depth > _DEEPEST:
        raise InputError("this value is nested too deep")
    if isinstance(value, dict):
        return {_text(k, "value"): _plain_value(v, depth + 1) for k, v in value.items()}
    if isinstance(value, list):
        return [_plain_value(item, depth + 1) for item in value]
    if value is None:
        raise InputError(
            "a value is missing", [Problem("no value", Where(key="value"), hint="remove takes a key out")]
        )
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _text(value, "value")


def _text(value: object, where: str) -> str:
    """A word as it would stand in the file, which can hold whole letters only."""
    text = str(value)
    if showable(text) != text:
        problem = Problem(
            "half of a letter stands in it (a lone surrogate)", Where(key=where), text[:80], "whole letters"
        )
        raise InputError("this can't stand in a building file", [problem])
    return text


def _plain(node: yaml.Node) -> Plain:
    if isinstance(node, yaml.MappingNode):
        return {key.value: _plain(value) for key, value in node.value}
    if isinstance(node, yaml.SequenceNode):
        return [_plain(item) for item in node.value]
    return node.value


def _put(tree: Plain, path: Sequence[str | int], value: Plain) -> None:
    first, rest = path[0], path[1:]
    empty: Plain = [] if rest and isinstance(rest[0], int) else {}
    if isinstance(tree, list):
        items: list[Plain] = tree
        items += [empty] if first == len(items) else []
        _set_or_go(items, first, rest, value)
    else:
        if rest:
            tree.setdefault(first, empty)
        _set_or_go(tree, first, rest, value)


def _set_or_go(holder: Any, step: str | int, rest: Sequence[str | int], value: Plain) -> None:
    if rest:
        _put(holder[step], rest, value)
    else:
        holder[step] = value


def _sure(new: str, wanted: Plain, key: str) -> str:
    try:
        got = _plain(_root(new))
    except (yaml.YAMLError, AssertionError):
        got = None
    if got != wanted:
        hint = "change the text of the file itself"
        raise InputError(
            "this value can't be changed by itself",
            [Problem("the text around it is in the way", Where(key=key), hint=hint)],
        )
    return new
