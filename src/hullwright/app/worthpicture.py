"""What tightness is worth, drawn: heat and air against air changes at 50 Pa."""

from __future__ import annotations

from hullwright.app.worthhouse import HouseWorth
from hullwright.leaks.worth import Worth
from hullwright.report.season import SeasonPoint, season
from hullwright.units import CFM, Show


def worth_picture(answer: HouseWorth) -> str:
    """Draw what the leakage is worth.

    Parameters
    ----------
    answer : HouseWorth

    Returns
    -------
    str
        SVG document.
    """
    show = Show(answer.house.building.system)
    scale, unit = (1 / 3600 / CFM, "cfm") if show.us else (1.0, "m3/h")

    def point(found: Worth) -> SeasonPoint:
        span = found.to_json()["energy_range_kwh"]
        return SeasonPoint(
            found.leak.q50_m3_h / answer.volume,
            found.energy_kwh,
            span["low"],
            span["high"],
            found.enhanced_m3_h * scale,
            found.need.fan_m3_h * scale,
        )

    marks = [("as tested", point(answer.worth))]
    if answer.tightened:
        marks.append(("compared with", point(answer.tightened)))
    points = [point(step) for step in answer.curve]
    return season(
        points,
        marks,
        flow_unit=unit,
        heading=f"{answer.house.building.name}: what tightness is worth in a season",
    )
