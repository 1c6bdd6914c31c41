"""A row of n terraced units as a building file: the house grows, the work must grow in step.

Heights and depths alternate so that no faces of neighbouring units merge. Invented.
"""

from __future__ import annotations

_UNIT = """\
  - {{name: u{i:04d}, size: [6, {depth}], at: [{x}, 0], base: 0, storeys: [2.8, {upper}], roof: {{form: gable, pitch: 35 deg, ridge: east-west}}}}
"""
_OPENINGS = """\
  - {{mass: u{i:04d}, side: south, storey: 1, kind: window, size: [1.4, 1.2], sill: 0.9, at: 0.6}}
  - {{mass: u{i:04d}, side: south, storey: 1, kind: door, size: [1.0, 2.1], at: 4.0}}
  - {{mass: u{i:04d}, side: south, storey: 2, kind: window, size: [1.2, 1.2], sill: 0.9, count: 2}}
  - {{mass: u{i:04d}, side: north, storey: 2, kind: window, size: [1.2, 1.2], sill: 0.9, count: 2}}
"""
_PENETRATIONS = """\
  - {{mass: u{i:04d}, through: roof north, kind: pipe, diameter: 110, at: [[2, 1.5]]}}
  - {{mass: u{i:04d}, through: south, storey: 1, kind: box, size: [90, 90], count: 2}}
  - {{mass: u{i:04d}, through: bottom, kind: pipe, diameter: 110, count: 2}}
"""


def block(units: int) -> str:
    """Give the building file of so many units in a row."""
    numbers = range(units)
    masses = (
        _UNIT.format(i=i, x=6 * i, depth=9 if i % 2 else 10, upper=2.9 if i % 2 else 2.6) for i in numbers
    )
    parts = [
        "units: m\nname: Row of units\nbarrier: {top: roof deck, bottom: slab}\nmasses:\n",
        *masses,
        "openings:\n",
        *(_OPENINGS.format(i=i) for i in numbers),
        "penetrations:\n",
        *(_PENETRATIONS.format(i=i) for i in numbers),
    ]
    return "".join(parts)
