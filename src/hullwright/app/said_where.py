"""Where on the house an entry is about, as people say it: a joint, a run, a mark, a face, a place on a face, or several of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Final

import numpy as np

from hullwright.app.house import House, load
from hullwright.app.spots import spot_of
from hullwright.errors import InputError, Problem, Where
from hullwright.joints.lookup import find, one
from hullwright.proof.built import PATCH
from hullwright.proof.drawing import Drawing
from hullwright.proof.entries import Spot
from hullwright.units import Show, read

OFF: Final = (
    0.0127  # m beyond the edge of a face that a place may lie: half an inch, a hand on a tape (estimate)
)


@dataclass(frozen=True, slots=True)
class SaidWhere:
    """Where an entry is about, in the words of whoever logs it.

    Parameters
    ----------
    joint, run, mark, face : str
        One joint; or all joints of a run, opening or penetration; and the face. '' where not said.
    at : str
        Distance along the joint from its first point, such as ``12 ft``.
    place : str
        Distance from the left and the lowest edge of the face as seen from outside, such as ``12 ft, 4 ft``.
    """

    joint: str = ""
    run: str = ""
    mark: str = ""
    face: str = ""
    at: str = ""
    place: str = ""

    @staticmethod
    def of(said: Mapping[str, str]) -> SaidWhere:
        """Take the keys of a mapping.

        Raises
        ------
        InputError
            Where a key is none of these.

        Examples
        --------
        >>> SaidWhere.of({"mark": "W3"}).mark
        'W3'
        """
        known = [field.name for field in fields(SaidWhere)]
        other = [name for name in said if name not in known]
        if other:
            problem = Problem("no such key", Where(key="place"), ", ".join(other), ", ".join(known))
            raise InputError("this place can't be read", [problem])
        return SaidWhere(**said)


def spot_said(file: str | House, said: SaidWhere, drawing: Drawing | None = None) -> Spot:
    """Give the place of an entry on the house.

    Parameters
    ----------
    file : str or House
    said : SaidWhere
    drawing : Drawing, optional
        The issued one, with the patches that no building file holds.

    Returns
    -------
    Spot

    Raises
    ------
    InputError
        Unknown or several names, two of joint, run and mark, or a place that is not on the face.
    """
    named = {key: text for key in ("joint", "run", "mark") if (text := getattr(said, key))}
    if len(named) > 1:
        problem = Problem("one of joint, run and mark", Where(key="place"), ", ".join(named), "one of them")
        raise InputError("which of them is meant", [problem])
    if said.at and said.place:
        problem = Problem("a place is said in two ways", Where(key="place"), "at and place", "one of them")
        raise InputError("which place is meant", [problem])
    if not said.run and not said.mark and not said.place:
        return spot_of(
            file, joint=said.joint or None, face=said.face or None, at=said.at or None, drawing=drawing
        )
    if said.at:
        problem = Problem(
            "at is along one joint", Where(key="at"), said.at, "with joint", "use place and face"
        )
        raise InputError("a place needs its joint", [problem])
    house = file if isinstance(file, House) else load(file)
    spot = _of_many(house, said) if said.run or said.mark else Spot()
    if said.joint:
        spot = spot_of(house, joint=said.joint, face=said.face or None, drawing=drawing)
    face = house.lookup.face(said.face) or said.face or spot.face
    if said.face and house.lookup.face(said.face) is None:
        faces = ", ".join(one.id for one in house.hull.faces)
        raise InputError("no such face", [Problem("no such face", Where(key="face"), said.face, faces)])
    place = _on_face(house, face, said.place) if said.place else spot.place
    return Spot(spot.joint, spot.kind, face, place, spot.plan, spot.run, spot.mark)


def group_said(file: str | House, names: Sequence[str], drawing: Drawing | None = None) -> list[str]:
    """Give the ids of joints, runs, marks and faces that an entry is about together.

    Parameters
    ----------
    file : str or House
    names : sequence of str
    drawing : Drawing, optional
        The issued one, with the patches that no building file holds.

    Returns
    -------
    list of str

    Raises
    ------
    InputError
        With each name that stands for nothing on the drawing.
    """
    house = file if isinstance(file, House) else load(file)
    patches = set() if drawing is None else {one.id for one in drawing.joints if one.kind == PATCH}
    found = [(name, name if name in patches else _group_name(house, name)) for name in names]
    lost = [name for name, known in found if not known]
    if lost:
        allowed = "joints, runs, marks or faces of this house"
        raise InputError(
            "no such joint, run, mark or face",
            [Problem("stands for nothing on this drawing", Where(key="of"), name, allowed) for name in lost],
        )
    return [known for _, known in found]


def _group_name(house: House, name: str) -> str:
    marked = house.lookup.marked(name)
    if marked:
        return marked[0].mark
    run = house.lookup.run(name)
    if run is not None:
        return run.id
    joints = find(name, house.joints.joints)
    return joints[0].id if len(joints) == 1 else house.lookup.face(name) or ""


def _of_many(house: House, said: SaidWhere) -> Spot:
    """A run or a mark."""
    if said.run:
        run = one(said.run, house.joints.runs, what="run", key="run")
        return Spot(face=run.face, run=run.id)
    joints = house.lookup.marked(said.mark)
    if not joints:
        marks = sorted({joint.mark for joint in house.joints.joints if joint.mark})
        problem = Problem("no such mark", Where(key="mark"), said.mark, ", ".join(marks))
        raise InputError("no such mark", [problem])
    return Spot(face=joints[0].faces[0], mark=joints[0].mark)


def _on_face(house: House, face: str, text: str) -> tuple[float, float, float]:
    """Lift a place on a face into space."""
    if not face:
        raise InputError("a place needs its face", [Problem("place without face", Where(key="place"), text)])
    lengths = [part for part in text.replace(";", ",").split(",") if part.strip()]
    if len(lengths) != 2:
        problem = Problem("two lengths", Where(key="place"), text, "across, up: such as '12 ft, 4 ft'")
        raise InputError("this place can't be read", [problem])
    found = next(one for one in house.hull.faces if one.id == face)
    flat = np.concatenate([found.frame.drop(loop) for loop in found.loops])
    low, high = flat.min(axis=0), flat.max(axis=0)
    asked = np.array([read(part.strip()) for part in lengths])
    if not ((asked >= -OFF) & (asked <= high - low + OFF)).all():
        show = Show(house.building.system)
        size = " by ".join(show.run_length(float(side)) for side in high - low)
        problem = Problem("beyond the edge of the face", Where(key="place"), text, f"within {size}")
        raise InputError("this place is not on the face", [problem])
    x, y, z = found.frame.lift((low + asked)[None, :])[0].tolist()
    return x, y, z
