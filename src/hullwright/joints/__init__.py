"""Where must it be sealed: every joint with kind, length, both sides, place; runs that a crew does in one go."""

from __future__ import annotations

from hullwright.joints.assemble import find
from hullwright.joints.continuity import continuity

__all__ = ["continuity", "find"]
