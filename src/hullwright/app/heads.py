"""What every answer starts with."""

from __future__ import annotations

from typing import Any


def head(name: str) -> dict[str, Any]:
    """Give the ``schema`` key of an answer."""
    return {"schema": {"name": name, "version": 1}}
