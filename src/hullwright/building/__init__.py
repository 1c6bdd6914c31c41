"""What did the user state: masses, storeys, roofs, openings, penetrations, sheathing, layers, climate, prices, crew."""

from hullwright.building.keys_work import schema
from hullwright.building.model import Building
from hullwright.building.reader import parse, read
from hullwright.building.starter import starter

__all__ = ["Building", "parse", "read", "schema", "starter"]
