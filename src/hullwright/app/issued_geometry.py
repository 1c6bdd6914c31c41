"""The drawing that was issued last, as it is drawn: what the crew on the wall works by, with the patches that revisions left."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from typing import Any, Final

import numpy as np

from hullwright.app.geometry import flat, geometry
from hullwright.app.house import House
from hullwright.app.log import Log
from hullwright.hull.model import Hull
from hullwright.proof.built import PATCH
from hullwright.proof.drawing import DrawnJoint, Issued
from hullwright.proof.ledger import standing
from hullwright.proof.patches import Patch, with_patches
from hullwright.store.database import Store
from hullwright.store.drawings import drawings
from hullwright.store.entries import list_entries

OpenText = Callable[[str, str], House]
"""Gives the house of a text: its SHA-256 and the text."""
PATCHES: Final = "patches"


def last_issued(log: Log) -> tuple[Issued, tuple[Patch, ...]] | None:
    """Give the drawing that was issued last and the patches that stand on it; None where none was issued.

    Parameters
    ----------
    log : Log
    """
    with Store(log.path) as store:
        row, entries = drawings(store, log.house), list_entries(store, log.house)
    if not row:
        return None
    drawn, patches = with_patches(row, standing(entries).entries)
    return drawn[-1], patches


def drawn_geometry(log: Log, now: House, digest: str, opened: OpenText | None = None) -> dict[str, Any]:
    """Give everything that is drawn of a house, with its patches.

    Parameters
    ----------
    log : Log
    now : House
        As its file stands.
    digest : str
        SHA-256 of that file.
    opened : callable, optional
        Gives the house of a text; then the drawing that was issued last is drawn, where one was.

    Returns
    -------
    dict
        As :func:`hullwright.app.geometry.geometry`, with ``revision`` (0: the file as it stands) and ``hash``.

    Raises
    ------
    BuildingFileError
        Where the issued file can't be used by this program any more.
    """
    last = last_issued(log)
    if last is None:
        return geometry(now) | {"revision": 0, "hash": digest}
    issued, patches = last
    joints = [patch.joint() for patch in patches]
    if opened is None:
        return with_joints(geometry(now), now.hull, joints) | {"revision": 0, "hash": digest}
    text = issued.drawing.text
    was = hashlib.sha256(text.encode()).hexdigest()
    house = now if was == digest else opened(was, text)
    drawn = with_joints(_planned(geometry(house), issued), house.hull, joints)
    return drawn | {"revision": issued.number, "hash": was}


def _planned(drawn: dict[str, Any], issued: Issued) -> dict[str, Any]:
    """Say with each run how it was planned when the drawing was issued."""
    said = {joint.run: (joint.method, joint.product) for joint in issued.drawing.joints if joint.method}
    runs = [
        run | dict(zip(("method", "product"), said[run["id"]], strict=True)) if run["id"] in said else run
        for run in drawn["runs"]
    ]
    return drawn | {"runs": runs}


def with_joints(drawn: dict[str, Any], hull: Hull, extra: Sequence[DrawnJoint]) -> dict[str, Any]:
    """Add pieces that the building file does not know, each on its face, in one run a face.

    Parameters
    ----------
    drawn : dict
        What :func:`hullwright.app.geometry.geometry` gives.
    hull : Hull
    extra : sequence of DrawnJoint
        Pieces; one whose face is not on this drawing is left out.
    """
    number = {face.id: k for k, face in enumerate(hull.faces)}
    here = [joint for joint in extra if joint.faces[0] in number]
    if not here:
        return drawn
    joints: dict[str, list[Any]] = {name: list(column) for name, column in drawn["joints"].items()}
    runs, kinds = list(drawn["runs"]), [*drawn["kinds"], {"name": PATCH, "piece": True, "everywhere": False}]
    by_face: dict[str, list[int]] = {}
    for joint in here:
        face = hull.faces[number[joint.faces[0]]]
        at = np.asarray(joint.points[:1], dtype=np.float64)
        by_face.setdefault(face.id, []).append(len(joints["id"]))
        row = {
            "id": joint.id, "name": joint.name, "mark": joint.mark, "kind": len(kinds) - 1,
            "run": len(runs) + list(by_face).index(face.id), "owner": number[face.id], "other": -1, "length_m": 0.0,
            "count": 1.0, "stage": joint.stage, "surface": face.substrate,
        }  # fmt: skip
        for name, value in row.items():
            joints[name].append(value)
        joints["offset"].append(joints["offset"][-1] + 1)
        joints["xy"] += flat(face.frame.drop(at))
        joints["xyz"] += flat(at)
    for face_id, members in by_face.items():
        runs.append(
            {
                "id": here[[one.faces[0] for one in here].index(face_id)].run,
                "name": PATCHES, "kind": PATCH, "face": face_id, "stage": "sheathing",
                "quantity": float(len(members)), "piece": True, "joints": members,
            }
        )  # fmt: skip
    return drawn | {"joints": joints, "runs": runs, "kinds": kinds}
