"""The folder of a plan: everything a builder takes to the desk and to the site."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright import hull as hull_room
from hullwright.app import files
from hullwright.app.plan import Ordered, Planned
from hullwright.app.summary import summary
from hullwright.choice.plan import Curve, RunPlan
from hullwright.material.order import OrderLine
from hullwright.report.curve import CurvePoint, curve
from hullwright.report.faces import Scene, elevation
from hullwright.report.sheets import Row, csv_text, workbook
from hullwright.report.solid import solid
from hullwright.report.unrolled import unrolled
from hullwright.units import FOOT, INCH, Show


def joint_heads(show: Show) -> tuple[str, ...]:
    """Heads of the joint list, in the reader's units."""
    far, near = ("ft", "in") if show.us else ("m", "mm")
    return (
        "joint", "what", "kind", "run", "method", "product", f"length [{far}]", "pieces", "faces", "stage", f"from x, y, z [{far}]",
        f"to x, y, z [{far}]", f"gap [{near}]", "backed", f"highest above ground [{far}]",
    )  # fmt: skip


def run_heads(show: Show) -> tuple[str, ...]:
    """Heads of the run list, in the reader's units."""
    return (
        "run", "what", "kind", "face", "stage", "method", f"length [{'ft' if show.us else 'm'}]", "pieces", "money", "person-hours",
        f"leakage [{'in2' if show.us else 'cm2'}]", f"water [{'gal' if show.us else 'L'}]", "prepare", "why", "mind",
    )  # fmt: skip


ORDER_HEADS: Final = (
    "product", "packs to buy", "pack size", "unit", "enough in 50 of 100 cases", "enough in 90 of 100 cases", "from stock", "left over", "money",
)  # fmt: skip


def scene(planned: Planned) -> Scene:
    """What the drawings of a plan show."""
    methods = {run.id: run.method for run in planned.plan.runs}
    names = {key: method.name for key, method in planned.catalog.methods.items()}
    house = planned.house
    return Scene(house.hull, house.joints, methods, Show(house.building.system), names)


def paper(shown: Scene) -> list[tuple[int, NDArray[np.float64]]]:
    """Where each face lies on the unrolled sheet."""
    return [(piece.face, piece.transform) for sheet in hull_room.unroll(shown.hull) for piece in sheet.pieces]


def contents(planned: Planned, ordered: Ordered) -> dict[str, bytes]:
    """Every file of the folder by name.

    Parameters
    ----------
    planned : Planned
        Made with a curve.
    ordered : Ordered

    Returns
    -------
    dict of str to bytes
    """
    shown = scene(planned)
    flat = unrolled(shown, paper(shown))
    line = curve_picture(planned.plan.curve, planned) if planned.plan.curve else ""
    faces = {f"faces/{_file(face.id)}.svg": elevation(shown, face).encode() for face in shown.hull.faces}
    show = shown.show
    joints, order = joint_rows(planned, show), order_rows(ordered)
    runs = [run_row(run, show) for run in planned.plan.runs]
    notes = [
        *(f"Mind: {c.text} [{c.evidence}]" for c in planned.plan.cautions),
        *(f"Assumed: {text}" for text in planned.house.assumed),
    ]
    out: dict[str, bytes] = {
        "summary.html": summary(planned, ordered, flat, line, faces=tuple(faces)).encode(),
        "plan.json": json.dumps(planned.to_json(), ensure_ascii=False, allow_nan=False, indent=1).encode(),
        "joints.csv": csv_text(joint_heads(show), joints),
        "joints.xlsx": workbook(
            [("joints", joint_heads(show), joints), ("runs", run_heads(show), runs)], notes
        ),
        "order.csv": csv_text(ORDER_HEADS, order),
        "order.xlsx": workbook([("order", ORDER_HEADS, order)], notes),
        "unrolled.svg": flat.encode(),
        "hull.glb": solid(shown),
    }
    if line:
        out["curve.svg"] = line.encode()
    return out | faces


def write(planned: Planned, ordered: Ordered, folder: Path) -> tuple[Path, ...]:
    """Write the folder of a plan: whole or not at all, and never over a person's own file."""
    return files.write_folder(folder, contents(planned, ordered))


def default_folder(file: str | Path) -> Path:
    """Where the folder goes when nobody says: ``house.yaml`` → ``house-plan`` here."""
    return Path(f"{Path(file).stem}-plan")


def _file(name: str) -> str:
    return re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower() or "face"


def joint_rows(planned: Planned, show: Show) -> list[Row]:
    """One row per joint, in the reader's units."""
    methods: Mapping[str, RunPlan] = {run.id: run for run in planned.plan.runs}
    far, near = (FOOT, INCH) if show.us else (1.0, 1e-3)
    rows: list[Row] = []
    for joint in planned.house.joints.joints:
        run = methods.get(joint.run)
        start, end = (_place(joint.points[k] / far) for k in (0, -1))
        method = planned.catalog.methods[run.method].name if run else ""
        length = None if joint.kind.piece else joint.length / far
        pieces = joint.count if joint.kind.piece else None
        rows.append(
            (
                joint.id, joint.name, joint.kind.value, joint.run, method, run.product if run else "", length, pieces, " / ".join(joint.faces),
                joint.stage, start, end, joint.gap / near, "yes" if joint.backed else "no", joint.height / far,
            )
        )  # fmt: skip
    return rows


def _place(point: NDArray[np.float64]) -> str:
    """Coordinates as text, without a nought below zero."""
    return ", ".join(f"{value:.2f}" for value in np.round(point, 2) + 0.0)


def run_row(run: RunPlan, show: Show) -> Row:
    """One run as a row, in the reader's units."""
    far, hole, water = (FOOT, 6.4516, 3.785411784) if show.us else (1.0, 1.0, 1.0)
    length, pieces = (None, run.quantity) if run.piece else (run.quantity / far, None)
    return (
        run.id, run.name, run.kind, run.face, run.stage, run.label, length, pieces, run.money, run.hours, run.air_cm2 / hole, run.water_l / water,
        ", ".join(run.prepared), run.why, "; ".join(run.advice),
    )  # fmt: skip


def order_rows(ordered: Ordered) -> list[Row]:
    """One row per product, in the reader's units."""
    catalog = ordered.planned.catalog
    us = ordered.planned.house.building.system == "us"
    return [_order_row(catalog.called(line.product), line, us=us) for line in ordered.order.lines]


def _order_row(name: str, line: OrderLine, *, us: bool) -> Row:
    scale, unit = (
        {"l": (1 / 3.785411784, "gal"), "m": (1 / FOOT, "ft"), "piece": (1.0, "piece")}[line.unit]
        if us
        else (1.0, line.unit)
    )
    return (
        name,
        line.packs,
        line.pack_size * scale,
        unit,
        line.p50,
        line.p90,
        line.from_stock,
        line.left_over * scale,
        line.money,
    )


def curve_picture(found: Curve, planned: Planned | None = None) -> str:
    """Draw a curve; the point and target of a plan where there is one."""
    ratio = (1.0, 1.0)
    if planned is not None and planned.plan.expected_ach50 > 0:
        band = planned.plan.ach50
        ratio = (band.p10 / planned.plan.expected_ach50, band.p90 / planned.plan.expected_ach50)
    points = [
        CurvePoint(p.spent, p.ach50, p.ach50 * ratio[0], p.ach50 * ratio[1], p.water_l) for p in found.points
    ]
    following = f"{found.step.run}: {found.step.before} → {found.step.after}" if found.step else ""
    taken = planned.plan.spent if planned else None
    target = planned.plan.confirmed.target if planned and planned.plan.confirmed else None
    return curve(points, currency=found.currency, taken=taken, target=target, following=following)
