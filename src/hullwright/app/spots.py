"""Which log, which entry, which place on the house: what a person names, found."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from hullwright.app.house import House, load
from hullwright.app.log import Log, open_log
from hullwright.app.names import Names
from hullwright.errors import InputError, Problem, Where
from hullwright.joints.lookup import one
from hullwright.joints.model import Joint
from hullwright.proof.drawing import Drawing
from hullwright.proof.entries import Entry, Spot
from hullwright.store.location import home_of, store_path
from hullwright.units import Show, read

LEAST_PREFIX = 4  # characters of an id that may stand for the whole id


def log_of(file: str, store: str | None = None, house: str | None = None) -> Log:
    """Give the log of a house: its name in the store is that of its building file when it was first met, as the service has it.

    Parameters
    ----------
    file : str
        Building file; must be there, so that a slip of the pen does not begin another log.
    store : str or None
        File or folder of the store; None for the usual place.
    house : str or None
        Name in the store where it is another than the file's.

    Returns
    -------
    Log

    Raises
    ------
    InputError
        No such file.
    """
    path = Path(file)
    if not path.is_file():
        problem = Problem("no such building file", Where(file), hint="name the building file of the house")
        raise InputError("which house is meant", [problem])
    home = home_of(store_path(store))
    return open_log(house or Names(home / "houses.json").of(path), store)


def find_entry(log: Log, name: str) -> Entry:
    """Find an entry by its number in the store, its id, or the beginning of its id.

    Parameters
    ----------
    log : Log
    name : str
        ``12``, a whole id, or its first four characters or more.

    Returns
    -------
    Entry

    Raises
    ------
    InputError
        None or several are meant.
    """
    entries = log.entries()
    found = [entry for entry in entries if entry.id == name.lower()]
    if not found and re.fullmatch(r"[0-9]{1,9}", name):
        found = [entry for entry in entries if entry.receipt.number == int(name)]
    if not found and len(name) >= LEAST_PREFIX:
        found = [entry for entry in entries if entry.id.startswith(name.lower())]
    if len(found) != 1:
        message = "several entries begin so" if found else "no such entry is in the log"
        allowed = "its number or its id, as `hullwright log list` prints them"
        raise InputError(message, [Problem(message, Where(key="entry"), name, allowed)])
    return found[0]


def spot_of(
    file: str | House,
    *,
    joint: str | None = None,
    face: str | None = None,
    at: str | None = None,
    drawing: Drawing | None = None,
) -> Spot:
    """Give the place of an entry on the house.

    Parameters
    ----------
    file : str or House
    joint : str or None
        Id of a joint, as ``hullwright joints --json`` gives it, its mark or name, or the beginning of one; an id of before too.
    face : str or None
        Id of a face, where the entry is about a whole face, or to say which face of the joint.
    at : str or None
        Distance along the joint from its first point, such as ``12 ft``; None takes the middle.
    drawing : Drawing, optional
        The issued one, with the patches that no building file holds.

    Returns
    -------
    Spot

    Raises
    ------
    InputError
        Unknown joint or face, several joints that may be meant, or a place beyond the end of the joint.
    """
    if not joint and at is not None:
        raise InputError("a place needs its joint", [Problem("--at without --joint", Where(key="at"), at)])
    if not joint and not face:
        return Spot()
    patch = None if drawing is None or not joint else drawing.by_id.get(joint)
    if patch is not None and patch.kind == "patch":
        return Spot(patch.id, patch.kind, patch.faces[0], patch.points[0])
    house = file if isinstance(file, House) else load(file)
    if face and house.lookup.face(face) is None:
        faces = ", ".join(one.id for one in house.hull.faces)
        raise InputError("no such face", [Problem("no such face", Where(key="face"), face, faces)])
    face = house.lookup.face(face) if face else face
    if not joint:
        return Spot(face=face or "")
    found = resolve(house, joint)
    if face and face not in found.faces:
        allowed = ", ".join(found.faces)
        raise InputError(
            "the joint is not on this face",
            [Problem("another face than the joint's", Where(key="face"), face, allowed)],
        )
    return Spot(
        found.id, found.kind.value, face or found.faces[0], _place(found, at, Show(house.building.system))
    )


def resolve(house: House, name: str) -> Joint:
    """Find the joint that a person or a record means.

    Parameters
    ----------
    house : House
    name : str
        Its id of today or of before, its mark, what people read, or how one of these begins.

    Returns
    -------
    Joint

    Raises
    ------
    InputError
        None or several are meant, with those that may be.
    """
    found = house.lookup.joint(name)
    return found if found is not None else one(name, house.joints.joints)


def _place(joint: Joint, at: str | None, show: Show) -> tuple[float, float, float]:
    lengths = np.linalg.norm(np.diff(joint.points, axis=0), axis=1)
    total = float(lengths.sum())
    along = total / 2 if at is None else read(at)
    if not -1e-9 <= along <= total + 1e-9:
        problem = Problem(
            "beyond the end of the joint", Where(key="at"), str(at), f"0 to {show.run_length(total)}"
        )
        raise InputError("this place is not on the joint", [problem])
    reached = np.concatenate([[0.0], np.cumsum(lengths)])
    x, y, z = (
        float(np.interp(along, reached, joint.points[:, axis])) if total else float(joint.points[0, axis])
        for axis in range(3)
    )
    return x, y, z


def along(points: np.ndarray, place: tuple[float, float, float]) -> float:
    """Give the distance along a polyline [m] of the point nearest to a place.

    Parameters
    ----------
    points : ndarray (k, 3)
        [m]
    place : tuple of float
        [m]

    Returns
    -------
    float

    Examples
    --------
    >>> along(np.array([[0.0, 0, 0], [2.0, 0, 0], [2.0, 3.0, 0]]), (2.5, 1.0, 0.0))
    3.0
    """
    start, step = points[:-1], np.diff(points, axis=0)
    if not len(step):
        return 0.0
    length = np.linalg.norm(step, axis=1)
    t = np.clip(((np.asarray(place) - start) * step).sum(axis=1) / np.maximum(length**2, 1e-18), 0.0, 1.0)
    off = np.linalg.norm(start + t[:, None] * step - np.asarray(place), axis=1)
    best = int(off.argmin())
    return float(length[:best].sum() + t[best] * length[best])
