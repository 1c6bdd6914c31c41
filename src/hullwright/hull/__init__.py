"""Which closed surface is that: faces with outward normals, half-edges, openings, panels laid on faces; is it closed."""

from __future__ import annotations

from hullwright.hull.build import build
from hullwright.hull.volume import floor_area, inner_volume

__all__ = ["build", "floor_area", "inner_volume"]
