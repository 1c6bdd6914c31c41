"""The page's service: HTTP over the use cases; ``serve`` starts it."""

from __future__ import annotations

from hullwright.web.serve import serve

__all__ = ["serve"]
