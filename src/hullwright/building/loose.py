"""Parts of the file that another room checks: read as written, with every place kept."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any, Final

from hullwright.building.nodes import Node
from hullwright.building.spec import BROKEN, Notes, Schema

_NUMBER: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_YES: Final = {"true": True, "yes": True, "false": False, "no": False}


@dataclass(frozen=True, slots=True)
class Loose:
    """A table with any keys, such as a product sheet.

    Reads to a dict of plain values (numbers, texts, yes and no, lists, dicts). Each dict carries its own place under
    ``_where`` and the places of its values under ``_places``.
    """

    noun: str

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to a dict."""
        if node.kind != "map":
            return notes.wrong(
                notes.where(node, path),
                f"{self.noun} is a table of keys",
                got=node.shown(),
                allowed="keys with values",
            )
        return self._value(node, notes, path)

    def _value(self, node: Node, notes: Notes, path: str) -> Any:
        if node.kind == "list":
            values = [self._value(item, notes, f"{path}[{i}]") for i, item in enumerate(node.items)]
            return BROKEN if any(value is BROKEN for value in values) else values
        if node.kind == "map":
            out: dict[str, Any] = {"_where": notes.where(node, path)}
            out["_places"] = {k.text: notes.where(v, f"{path}.{k.text}") for k, v in node.entries}
            for key, value in node.entries:
                if key.text in {"_where", "_places"}:
                    return notes.wrong(notes.where(key, path), "this key is reserved", got=key.text)
                out[key.text] = self._value(value, notes, f"{path}.{key.text}")
            return BROKEN if any(value is BROKEN for value in out.values()) else out
        return self._scalar(node, notes, path)

    def _scalar(self, node: Node, notes: Notes, path: str) -> Any:
        if node.empty:
            return notes.wrong(
                notes.where(node, path),
                "nothing stands here",
                got="nothing",
                allowed="a value",
                hint="state it, or remove the key",
            )
        if node.quoted:
            return node.text
        if _NUMBER.fullmatch(node.text):
            value = float(node.text)
            if not math.isfinite(value):
                return notes.wrong(notes.where(node, path), "this number is too large", got=node.text)
            return value
        return _YES.get(node.text.lower(), node.text)

    def schema(self) -> Schema:
        """Any object."""
        return {"type": "object"}
