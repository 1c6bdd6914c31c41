"""How much rain and run-off passes each joint while the hull is bare."""

from __future__ import annotations

from hullwright.exposure.water import Exposure, fallen, passing

__all__ = ["Exposure", "fallen", "passing"]
