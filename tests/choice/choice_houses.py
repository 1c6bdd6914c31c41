"""Houses stated as runs, so that the choice is tested apart from the take-off."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from hullwright.building.model import Aim, Building, BuildUp, Ceiling, Crew, Site
from hullwright.evidence import ESTIMATE, Figure
from hullwright.hull.model import Edge, Face, FaceKind, Frame, Hull
from hullwright.joints.before import kind_was
from hullwright.joints.model import Joint, JointKind, JointSet, Meeting, Run

FOOT = 0.3048
INF = float("inf")
K = JointKind


def aim(**changes) -> Aim:
    base = Aim(
        budget=INF, target_ach50=None, confidence=0.9, air_weight=1.0, water_weight=1.0, air_target=0.6,
        water_limit=None, most_products=None, most_unknown_meetings=None, worst_piece=INF,
    )  # fmt: skip
    return replace(base, **changes)


def building(**changes) -> Building:
    base = Building(
        name="paper house", system="us", currency="USD", masses=(), neighbours=(), through=(), openings=(),
        penetrations=(), fixed_over=(), sheathing={}, surfaces={},
        build_up=BuildUp(0.15, 0.3, 0.3, 0.3, 2400 * 9 * FOOT**3, 2400 * FOOT**2),
        ceiling=Ceiling(0.0), site=Site(60.0, Figure(90.0, "mm", ESTIMATE)),
        crew=Crew(2, 45.0, INF, 8.0), aim=aim(),
    )  # fmt: skip
    return replace(base, **changes)


def face(
    name: str,
    group: str,
    area: float,
    *,
    tilt: float = 90.0,
    kind: FaceKind = FaceKind.WALL,
    rated: bool = False,
) -> Face:
    mass, _, side = name.partition("/")
    frame = Frame(np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))
    loop = np.zeros((4, 3))
    return Face(
        name, kind, mass, (mass,), side, np.array([0, -1.0, 0]), 0.0, (loop,), frame, 180.0, tilt, group,
        "coated panel", rated, area=area,
    )  # fmt: skip


def hull(faces: list[Face], edges: tuple[Edge, ...] = (), volume: float = 700.0) -> Hull:
    return Hull(
        tuple(sorted(faces, key=lambda f: f.id)), np.zeros((0, 3)), edges, (), (), volume, np.zeros((0, 3)),
        np.zeros((0, 3), dtype=np.int64), np.zeros(0, dtype=np.int64), {},
    )  # fmt: skip


@dataclass
class Draft:
    """Collects runs."""

    runs: list[Run]

    def add(self, kind: JointKind, face_id: str, quantity: float, **changes) -> None:
        base = Run(
            id=f"{face_id}/{kind.value}", kind=kind, face=face_id, joints=(0,), quantity=quantity,
            stage="sheathing", substrates=("coated panel",), backed=True, rated=False, rigid=True, level=False,
            gap=0.0, depth=0.0, upslope=3.0, height=5.0, width=0.0, section_depth=0.0, bridged=False,
        )  # fmt: skip
        self.runs.append(replace(base, **changes))

    def done(self, meetings: tuple[Meeting, ...] = ()) -> JointSet:
        runs = tuple(sorted(self.runs, key=lambda r: r.id.replace(r.kind.value, kind_was(r.kind.value))))
        joints = tuple(
            Joint(
                r.id, r.kind, np.zeros((2, 3)), 0.0 if r.kind.piece else r.quantity, r.quantity if r.kind.piece else 0.0,
                (r.face,), r.substrates, r.gap, r.depth, r.backed, r.level, r.upslope, r.height, r.stage, "main",
                roof_water="roof" in r.face or r.kind in (K.EAVE, K.RAFTER_TAIL),
            )
            for r in runs
        )  # fmt: skip
        runs = tuple(replace(r, joints=(n,)) for n, r in enumerate(runs))
        return JointSet(joints, runs, (), (), 1.0, meetings)


def paper_house() -> tuple[Building, Hull, JointSet]:
    """Two storeys, 2 400 ft2: lengths and counts as stated; 25 pipes, 10 boxes, 5 cable groups of its 40 penetrations."""
    draft = Draft([])
    walls = [f"main/{side}" for side in ("south", "east", "north", "west")]
    roofs = ["main/roof south", "main/roof north"]
    inch = 0.0254
    for wall in walls:
        draft.add(K.SEAM_UPRIGHT, wall, 800 / 4 * FOOT, gap=inch / 8, depth=7 / 16 * inch, bridged=True)
        draft.add(
            K.SILL, wall, 200 / 4 * FOOT, substrates=("coated panel", "concrete"), height=0.3, upslope=5.5
        )
        draft.add(K.FLOOR_LINE, wall, 200 / 4 * FOOT, bridged=True)
        draft.add(K.OUTSIDE_CORNER, wall, 80 / 4 * FOOT, gap=inch / 8, depth=7 / 16 * inch)
        draft.add(K.INSIDE_CORNER, wall, 20 / 4 * FOOT, gap=inch / 8, depth=7 / 16 * inch)
        draft.add(K.EAVE, wall, 100 / 4 * FOOT, upslope=0.2, height=5.5)
        draft.add(
            K.OPENING_JAMB,
            wall,
            360 / 4 * FOOT,
            stage="openings",
            substrates=("coated panel", "vinyl flange"),
        )
        draft.add(K.OPENING_CORNER, wall, 80 / 4, stage="openings")
        draft.add(K.OVERDRIVEN, wall, 100, bridged=True)
    for roof in roofs:
        draft.add(
            K.SEAM_LEVEL,
            roof,
            400 / 2 * FOOT,
            level=True,
            gap=inch / 8,
            depth=7 / 16 * inch,
            bridged=True,
            height=8.0,
        )
        draft.add(
            K.SEAM_UPRIGHT, roof, 200 / 2 * FOOT, gap=inch / 8, depth=7 / 16 * inch, bridged=True, height=8.0
        )
        draft.add(K.OVERDRIVEN, roof, 150, bridged=True, height=8.0)
    for wall in walls[::2]:
        draft.add(K.PIPE, wall, 12.5, width=4 * inch, stage="services")
        draft.add(K.BOX, wall, 5, width=4 * inch, section_depth=4 * inch, stage="services")
        draft.add(K.CABLES, wall, 2.5, width=2 * inch, rigid=True, stage="services")
        draft.add(
            K.RAFTER_TAIL, wall, 30, width=1.5 * inch, section_depth=7.25 * inch, height=5.5, upslope=4.0
        )
    faces = [face(wall, "wall", 55.0) for wall in walls]
    faces += [face(roof, "roof", 75.0, tilt=30.0, kind=FaceKind.ROOF) for roof in roofs]
    return building(surfaces={}), hull(faces), draft.done()
