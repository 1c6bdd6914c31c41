"""Which closed surface is that: faces with outward normals, half-edges, openings, panels laid on faces; is it closed."""

from __future__ import annotations

from hullwright.hull.build import build
from hullwright.hull.unroll import Piece, Sheet, unroll
from hullwright.hull.volume import floor_area, height, inner_volume

__all__ = ["Piece", "Sheet", "build", "floor_area", "height", "inner_volume", "unroll"]
