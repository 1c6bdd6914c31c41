"""The house for drawing: faces flat and in space, the unrolled layout, joints and runs as columns.

Many-row things are columns so that a page can draw thousands of joints without making an object of each.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from hullwright.app.heads import head
from hullwright.app.house import House
from hullwright.hull import unroll
from hullwright.hull.model import Face, Hull
from hullwright.joints.model import Joint, JointKind, JointSet

DIGITS: Final = 4
"""Places after the point [m]: a tenth of a millimetre."""
EVERYWHERE: Final = frozenset({JointKind.OVERDRIVEN, JointKind.OVERDRIVEN_COVERED})
"""Counted over a whole face: they have no place of their own to draw."""


def geometry(house: House) -> dict[str, Any]:
    """Give everything that is drawn of a house.

    Parameters
    ----------
    house : House

    Returns
    -------
    dict
        ``faces`` (loops, openings and penetrations in face coordinates; ``transform`` [a, b, c, d, e, f] takes x, y to the
        sheet: X = a·x + c·y + e, Y = b·x + d·y + f), ``sheet`` (size), ``mesh``, ``joints`` (columns), ``runs`` [m].

    Examples
    --------
    >>> from hullwright import building
    >>> shed = House(building.parse('''
    ... units: ft
    ... name: Shed
    ... barrier: {top: roof deck, bottom: slab}
    ... masses:
    ...   - {name: main, size: [24, 16], storeys: [8 ft], roof: {form: gable, pitch: 6:12, ridge: east-west}}
    ... '''))
    >>> drawn = geometry(shed)
    >>> len(drawn["faces"]), len(drawn["joints"]["id"]) == len(shed.joints.joints)
    (7, True)
    """
    hull = house.hull
    faces, size = _faces(hull)
    return head("geometry") | {
        "name": house.building.name,
        "system": house.building.system,
        "sheet": size,
        "faces": faces,
        "mesh": {
            "points": flat(hull.mesh_points),
            "triangles": np.asarray(hull.mesh_triangles).ravel().tolist(),
            "face": np.asarray(hull.mesh_face).ravel().tolist(),
        },
        "kinds": [
            {"name": kind.value, "piece": kind.piece, "everywhere": kind in EVERYWHERE} for kind in JointKind
        ],
        "joints": _joints(house.joints, hull),
        "runs": [
            {
                "id": run.id,
                "name": run.name,
                "kind": run.kind.value,
                "face": run.face,
                "stage": run.stage,
                "quantity": run.quantity,
                "piece": run.kind.piece,
                "joints": list(run.joints),
            }
            for run in house.joints.runs
        ],
        "cautions": [],
    }


def flat(array: np.ndarray[Any, Any]) -> list[float]:
    """Numbers of an array in a row, to a tenth of a millimetre."""
    rounded: list[float] = (np.round(np.asarray(array, dtype=np.float64), DIGITS) + 0.0).ravel().tolist()
    return rounded


def rows(array: np.ndarray[Any, Any]) -> list[list[float]]:
    """Points of an array, to a tenth of a millimetre."""
    rounded: list[list[float]] = (np.round(np.atleast_2d(array), DIGITS) + 0.0).tolist()
    return rounded


def _faces(hull: Hull) -> tuple[list[dict[str, Any]], dict[str, float]]:
    sheets = unroll(hull)
    laid = {piece.face: (number, piece) for number, sheet in enumerate(sheets) for piece in sheet.pieces}
    corners = [piece.lay(hull.faces[k].frame.drop(hull.faces[k].loops[0])) for k, (_, piece) in laid.items()]
    high = np.concatenate(corners).max(axis=0)
    out = [
        _face(face, laid[k][0], laid[k][1].transform, laid[k][1].hinges) for k, face in enumerate(hull.faces)
    ]
    return out, {"width_m": float(high[0]), "height_m": float(high[1])}


def _face(face: Face, sheet: int, transform: np.ndarray[Any, Any], hinges: Sequence[int]) -> dict[str, Any]:
    frame = face.frame
    return {
        "id": face.id,
        "kind": face.kind.value,
        "mass": face.mass,
        "side": face.side,
        "azimuth_deg": None if np.isnan(face.azimuth) else face.azimuth,
        "tilt_deg": face.tilt,
        "area_m2": face.area,
        "cold": face.cold,
        "sheet": sheet,
        "hinges": list(hinges),
        "transform": [round(float(v), 9) for v in np.asarray(transform).ravel()],
        "frame": {
            "origin": rows(frame.origin)[0],
            "across": [float(v) for v in frame.across],
            "up": [float(v) for v in frame.up],
            "normal": [float(v) for v in face.normal],
        },
        "loops": [flat(frame.drop(loop)) for loop in face.loops],
        "openings": [
            {"id": o.opening.id, "kind": o.opening.kind, "polygon": flat(o.polygon)} for o in face.openings
        ],
        "penetrations": [
            {"id": p.penetration.id, "kind": p.penetration.kind, "at": flat(p.at)} for p in face.penetrations
        ],
    }


def _joints(found: JointSet, hull: Hull) -> dict[str, Any]:
    joints = found.joints
    number = {face.id: k for k, face in enumerate(hull.faces)}
    kind = {one: k for k, one in enumerate(JointKind)}
    run = {one.id: k for k, one in enumerate(found.runs)}
    owner = [number[joint.faces[0]] for joint in joints]
    return {
        "id": [joint.id for joint in joints],
        "name": [joint.name for joint in joints],
        "mark": [joint.mark for joint in joints],
        "kind": [kind[joint.kind] for joint in joints],
        "run": [run.get(joint.run, -1) for joint in joints],
        "owner": owner,
        "other": [number[joint.faces[1]] if len(joint.faces) > 1 else -1 for joint in joints],
        "length_m": flat(np.array([joint.length for joint in joints])),
        "count": flat(np.array([joint.count for joint in joints])),
        "stage": [joint.stage for joint in joints],
        "surface": [joint.substrates[0] if joint.substrates else "" for joint in joints],
        "offset": np.cumsum([0, *(len(joint.points) for joint in joints)]).tolist(),
        "xy": flat(_on_owner(joints, owner, hull)),
        "xyz": flat(np.concatenate([joint.points for joint in joints]) if joints else np.zeros((0, 3))),
    }


def _on_owner(joints: Sequence[Joint], owner: Sequence[int], hull: Hull) -> np.ndarray[Any, Any]:
    """Points of all joints in the coordinates of the face that each is drawn on (n, 2)."""
    if not joints:
        return np.zeros((0, 2))
    at = np.repeat(owner, [len(joint.points) for joint in joints])
    origin, across, up = (
        np.array([getattr(face.frame, name) for face in hull.faces])[at]
        for name in ("origin", "across", "up")
    )
    rel = np.concatenate([joint.points for joint in joints]) - origin
    return np.stack([np.einsum("ij,ij->i", rel, across), np.einsum("ij,ij->i", rel, up)], axis=1)
