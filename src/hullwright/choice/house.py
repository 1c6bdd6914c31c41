"""What the whole house brings to the goal: inner volume, other leakage, targets."""

from __future__ import annotations

from dataclasses import dataclass

from hullwright.building.model import Building
from hullwright.catalog import Catalog
from hullwright.choice.sums import area, flow
from hullwright.evidence import Figure
from hullwright.hull import inner_volume
from hullwright.hull.model import Hull


@dataclass(frozen=True, slots=True)
class Whole:
    """Figures of the whole house.

    Parameters
    ----------
    volume : Figure
        Inner volume [m3].
    other : tuple of (str, float)
        Other leakage by name [m3/h at 50 Pa].
    exponent : float
        Flow exponent.
    air_target : float
        Leakage area that counts as 1 in the goal [cm2].
    water_limit : float
        Water that counts as 1 [L].
    """

    volume: Figure
    other: tuple[tuple[str, float], ...]
    exponent: float
    air_target: float
    water_limit: float

    @property
    def other_flow(self) -> float:
        """Other leakage [m3/h at 50 Pa]."""
        return sum(flow for _, flow in self.other)

    def ach50(self, leakage: float) -> float:
        """ACH50 of a leakage area of the layer [cm2], other leakage included."""
        return (flow(leakage, exponent=self.exponent) + self.other_flow) / self.volume.value

    def room_for(self, ach50: float) -> float:
        """Leakage area that the layer may have for an ACH50 [cm2]; below 0 where other leakage alone is above."""
        return area(ach50 * self.volume.value - self.other_flow, exponent=self.exponent)


def whole(building: Building, hull: Hull, catalog: Catalog) -> Whole:
    """Work out the figures of the whole house.

    Parameters
    ----------
    building : Building
    hull : Hull
    catalog : Catalog

    Returns
    -------
    Whole
    """
    volume = inner_volume(hull, building)
    exponent = catalog.value("leak.exponent")
    aim = building.aim
    target = area(aim.air_target * volume.value, exponent=exponent)
    return Whole(
        volume=volume,
        other=other_leakage(building, hull, catalog, exponent),
        exponent=exponent,
        air_target=target,
        water_limit=water_limit(aim.water_limit, hull, catalog),
    )


def water_limit(stated: float | None, hull: Hull, catalog: Catalog) -> float:
    """Water that counts as 1 in the goal [L]: stated, or scaled with the roof; without a roof that of a house-sized one."""
    if stated is not None:
        return stated
    roofs = sum(face.net_area for face in hull.faces if face.group == "roof")
    share = roofs / catalog.value("water.limit_roof") if roofs > 0 else 1.0
    return catalog.value("water.limit") * share


def other_leakage(
    building: Building, hull: Hull, catalog: Catalog, exponent: float
) -> tuple[tuple[str, float], ...]:
    """Leakage that no sealing of joints changes.

    Units at their rating (75 Pa, brought to 50 Pa by the power law), air through the panels themselves, and what the file
    states (services, chimneys, …).

    Returns
    -------
    tuple of (name, m3/h at 50 Pa)
    """
    per_75 = 3.6 * (50.0 / 75.0) ** exponent  # L/s at 75 Pa -> m3/h at 50 Pa
    found: dict[str, float] = {}
    for opening in building.openings:
        rating = opening.leakage or catalog.figure(f"leak.{opening.kind}")
        name = f"{opening.kind}s"
        found[name] = found.get(name, 0.0) + per_75 * rating.value * opening.width * opening.height
    panels = sum(
        face.net_area * catalog.substrates[face.substrate].permeance.value
        for face in hull.faces
        if face.group and face.substrate in catalog.substrates
    )
    found["through the panels"] = per_75 * panels
    for name, figure in building.other_leakage.items():
        found[name] = found.get(name, 0.0) + figure.value
    return tuple(found.items())
