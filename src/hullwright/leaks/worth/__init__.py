"""What is the leakage worth: infiltration, the ventilation a house still needs, energy and money of a season.

Start at :func:`worth`; the sums behind it stand in :mod:`.infiltration`, :mod:`.design`, :mod:`.ventilation` and
:mod:`.energy`.
"""

from __future__ import annotations

from hullwright.leaks.worth.design import design_flow, infiltration_factor, unit_leakage
from hullwright.leaks.worth.energy import degree_day_energy, heat_of_air, hourly_energy
from hullwright.leaks.worth.infiltration import Foundation, basic_flow, combined_flow, enhanced_flow
from hullwright.leaks.worth.leakage import Leak, leak_of, leak_of_test
from hullwright.leaks.worth.season import DegreeDays, Heat, Hours, House, Worth, worth
from hullwright.leaks.worth.tightening import value_of_tightening
from hullwright.leaks.worth.ventilation import Credit, Need, ventilation_need

__all__ = [
    "Credit",
    "DegreeDays",
    "Foundation",
    "Heat",
    "Hours",
    "House",
    "Leak",
    "Need",
    "Worth",
    "basic_flow",
    "combined_flow",
    "degree_day_energy",
    "design_flow",
    "enhanced_flow",
    "heat_of_air",
    "hourly_energy",
    "infiltration_factor",
    "leak_of",
    "leak_of_test",
    "unit_leakage",
    "value_of_tightening",
    "ventilation_need",
    "worth",
]
