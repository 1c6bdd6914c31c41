"""How rain runs off the bare hull: what passes each joint, and what gets in."""

from __future__ import annotations

from hullwright.exposure.chain import Chain, Links
from hullwright.exposure.paths import Paths, Widths, trace
from hullwright.exposure.streams import Streams, flow
from hullwright.exposure.water import Exposure, fallen, passing, rain, weight

__all__ = [
    "Chain",
    "Exposure",
    "Links",
    "Paths",
    "Streams",
    "Widths",
    "fallen",
    "flow",
    "passing",
    "rain",
    "trace",
    "weight",
]
