"""A plan sketch that shows where the masses are wrong."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Final

from hullwright.building.model import Building, Point
from hullwright.errors import MassingError, Problem

WIDE: Final = 480.0
EDGE: Final = 30.0
THIN: Final = 0.003
"""Narrowest step or slit that is taken for meant [m]."""

Finding = tuple[Problem, list[Point]]
"""A problem and the places in plan to be marked."""


def stop(message: str, findings: Sequence[Finding], building: Building) -> None:
    """Raise one MassingError with all findings, if there are any."""
    if findings:
        spots = [spot for _, places in findings for spot in places]
        raise massing_error(message, [problem for problem, _ in findings], building, spots)


def massing_error(
    message: str, problems: Sequence[Problem], building: Building, spots: Sequence[Point]
) -> MassingError:
    """Make an error with its picture.

    Parameters
    ----------
    message : str
        Headline.
    problems : sequence of Problem
    building : Building
    spots : sequence of (x, y)
        Places in plan to be marked [m].
    """
    return MassingError(message, problems, plan_sketch(building, spots))


def plan_sketch(building: Building, spots: Sequence[Point]) -> str:
    """Draw all masses in plan (SVG): inside ones drawn through, others dashed, places in question ringed."""
    points = [p for m in building.masses for p in m.outline] + list(spots)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    x0, y1 = min(xs), max(ys)
    span = max(max(xs) - x0, y1 - min(ys), 1e-6)
    scale = (WIDE - 2 * EDGE) / span

    def at(p: Point) -> Point:
        return EDGE + (p[0] - x0) * scale, EDGE + (y1 - p[1]) * scale

    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {WIDE:g}" role="img">']
    parts.append("<title>Plan of the masses; the place in question is ringed</title>")
    for mass in building.masses:
        corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in map(at, mass.outline))
        dash = "" if mass.inside else ' stroke-dasharray="6 4"'
        parts.append(
            f'<polygon points="{corners}" fill="#5a7d9a" fill-opacity="0.15" stroke="#23394d" stroke-width="1.5"{dash}/>'
        )
        x, y = at(_middle(mass.outline))
        parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="13" text-anchor="middle">{escape(mass.id)}</text>'
        )
    for x, y in map(at, spots):
        parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9" fill="none" stroke="#c0392b" stroke-width="3"/>'
        )
    parts.append("</svg>")
    return "\n".join(parts)


def _middle(points: Sequence[Point]) -> Point:
    return sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)
