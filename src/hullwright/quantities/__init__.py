"""What can a quantity be: one table for everything that a person types, wherever it is typed."""

from hullwright.quantities.judge import Verdict, ask, refuse, verdict
from hullwright.quantities.table import Quantity, names, quantity

__all__ = ["Quantity", "Verdict", "ask", "names", "quantity", "refuse", "verdict"]
