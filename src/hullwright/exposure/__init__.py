"""How much rain and run-off passes each joint while the hull is bare."""

from __future__ import annotations

from hullwright.exposure.water import DEFAULTS, Exposure, fallen, passing

__all__ = ["DEFAULTS", "Exposure", "fallen", "passing"]
