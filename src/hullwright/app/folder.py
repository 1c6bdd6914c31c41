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
from hullwright.report.curve import CurvePoint, curve
from hullwright.report.faces import Scene, elevation
from hullwright.report.sheets import Row, csv_text, workbook
from hullwright.report.solid import solid
from hullwright.report.unrolled import unrolled
from hullwright.units import Show

JOINT_HEADS: Final = (
    "joint", "kind", "run", "method", "product", "length [m]", "pieces", "faces", "stage", "from x, y, z [m]", "to x, y, z [m]",
    "gap [mm]", "backed", "highest above ground [m]",
)  # fmt: skip
RUN_HEADS: Final = (
    "run", "kind", "face", "stage", "method", "length [m]", "pieces", "money", "hours", "leakage [cm2]", "water [L]", "prepare", "why", "mind",
)  # fmt: skip
ORDER_HEADS: Final = (
    "product",
    "packs to buy",
    "pack size",
    "unit",
    "enough in 50 of 100 cases",
    "enough in 90 of 100 cases",
    "from stock",
    "left over",
    "money",
)


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
    joints, runs, order = (
        joint_rows(planned),
        [run_row(run) for run in planned.plan.runs],
        order_rows(ordered),
    )
    notes = [
        *(f"Mind: {c.text} [{c.evidence}]" for c in planned.plan.cautions),
        *(f"Assumed: {text}" for text in planned.house.building.assumed),
    ]
    out: dict[str, bytes] = {
        "summary.html": summary(planned, ordered, flat, line).encode(),
        "plan.json": json.dumps(planned.to_json(), ensure_ascii=False, allow_nan=False, indent=1).encode(),
        "joints.csv": csv_text(JOINT_HEADS, joints),
        "joints.xlsx": workbook([("joints", JOINT_HEADS, joints), ("runs", RUN_HEADS, runs)], notes),
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


def joint_rows(planned: Planned) -> list[Row]:
    """One row per joint, SI."""
    methods: Mapping[str, RunPlan] = {run.id: run for run in planned.plan.runs}
    rows: list[Row] = []
    for joint in planned.house.joints.joints:
        run = methods.get(joint.run)
        start, end = (", ".join(f"{value:.3f}" for value in joint.points[k]) for k in (0, -1))
        rows.append(
            (
                joint.id, joint.kind.value, joint.run, planned.catalog.methods[run.method].name if run else "", run.product if run else "",
                None if joint.kind.piece else joint.length, joint.count if joint.kind.piece else None, " / ".join(joint.faces), joint.stage,
                start, end, joint.gap * 1000, "yes" if joint.backed else "no", joint.height,
            )
        )  # fmt: skip
    return rows


def run_row(run: RunPlan) -> Row:
    """One run as a row, SI."""
    return (
        run.id, run.kind, run.face, run.stage, run.label, None if run.piece else run.quantity, run.quantity if run.piece else None, run.money,
        run.hours, run.air_cm2, run.water_l, ", ".join(run.prepared), run.why, "; ".join(run.advice),
    )  # fmt: skip


def order_rows(ordered: Ordered) -> list[Row]:
    """One row per product."""
    products = ordered.planned.catalog.products
    return [
        (
            products[line.product].name,
            line.packs,
            line.pack_size,
            line.unit,
            line.p50,
            line.p90,
            line.from_stock,
            line.left_over,
            line.money,
        )
        for line in ordered.order.lines
    ]


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
