"""Short names of joints and runs for people; the full id stays in every file and answer.

A short name depends on the id alone, so that it stays the same while the house around it changes. Two ids whose short names
are the same are told apart by their full ids: :func:`find` gives both.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from hullwright.errors import InputError, Problem, Where
from hullwright.joints.model import JointKind

_SHORT: Final[dict[str, str]] = {
    JointKind.OVERDRIVEN_COVERED: "heads under band",
    JointKind.OVERDRIVEN: "heads",
    JointKind.SEAM_LEVEL: "level seam",
    JointKind.SEAM_UPRIGHT: "upright seam",
    JointKind.OUTSIDE_CORNER: "out corner",
    JointKind.INSIDE_CORNER: "in corner",
    JointKind.SILL: "sill plate",
    JointKind.FOUNDATION_CORNER: "fdn corner",
    JointKind.BASEMENT_FLOOR: "fdn wall foot",
    JointKind.ROOF_TO_WALL_HEAD: "roof head",
    JointKind.ROOF_TO_WALL_SIDE: "roof side",
    JointKind.OPENING_HEAD: "head",
    JointKind.OPENING_JAMB: "jamb",
    JointKind.OPENING_SILL: "sill",
    JointKind.OPENING_CORNER: "RO corner",
    JointKind.THREE_WAY_CORNER: "3-way",
    JointKind.CHANGE_OF_MATERIAL: "material edge",
    JointKind.WALL_TO_CEILING: "ceiling edge",
    JointKind.PARTITION_PLATE: "top plate",
    JointKind.GARAGE_CONTACT: "cold edge",
    JointKind.PARTY_WALL: "party edge",
    JointKind.FIXED_OVER: "strip",
}
_MORE: Final = {
    ", unbacked": " unb.",
    ", services": " svc",
    ", at the edge": " edge",
    ", moving": " mov.",
    ", to ": ">",
}
_TOLD: Final = 8


def short(name: str) -> str:
    """Shorten the id of a joint or run.

    Parameters
    ----------
    name : str

    Returns
    -------
    str

    Examples
    --------
    >>> short("main/roof south:panel seam, level, unbacked")
    'main/roof south:level seam unb.'
    >>> short("main/roof south + main/south + main/west:three-way corner")
    'main/roof south+south+west:3-way'
    >>> short("main/south/2/window 1:rough-opening corner 2")
    'main/south/2/window 1:RO corner 2'
    """
    head, *rest = name.split(":")
    return ":".join([_faces(head), *map(_kind, rest)])


def _faces(head: str) -> str:
    first, *others = head.split(" + ")
    mass = first.split("/")[0] + "/"
    return "".join([first, *(f"+{other.removeprefix(mass)}" for other in others)])


def _kind(part: str) -> str:
    for long, less in _SHORT.items():
        if part == long or part.startswith((f"{long} ", f"{long}, ")):
            part = less + part.removeprefix(long)
            break
    for long, less in _MORE.items():
        part = part.replace(long, less)
    return part


def find(text: str, ids: Iterable[str]) -> list[str]:
    """Find the ids that a person means: the full id, else the short name, else how one of the two begins.

    Parameters
    ----------
    text : str
    ids : iterable of str

    Returns
    -------
    list of str
        Every id that may be meant, sorted.

    Examples
    --------
    >>> find("main/south:heads", ["main/south:overdriven fastener", "main/south:overdriven fastener under a seam band"])
    ['main/south:overdriven fastener']
    """
    known = sorted(set(ids))
    if text in known:
        return [text]
    return [name for name in known if short(name) == text] or [
        name for name in known if text and (name.startswith(text) or short(name).startswith(text))
    ]


def one(text: str, ids: Sequence[str], *, what: str = "joint", key: str = "joint") -> str:
    """Find the one id that a person means.

    Parameters
    ----------
    text : str
        Full id, short name, or the beginning of one.
    ids : sequence of str
    what, key : str
        What it is, and where it was stated.

    Raises
    ------
    InputError
        None or several are meant: with those that may be.
    """
    found = find(text, ids)
    if len(found) == 1:
        return found[0]
    if not found:
        near = sorted(
            {name for name in ids if text.lower() in name.lower() or text.lower() in short(name).lower()}
        )
        allowed = "; ".join(near[:_TOLD]) or "an id or short name as `hullwright joints FILE` gives it"
        raise InputError(f"no such {what}", [Problem(f"no such {what}", Where(key=key), text, allowed)])
    more = f"; and {len(found) - _TOLD} more" if len(found) > _TOLD else ""
    problem = Problem(
        f"{len(found)} {what}s may be meant",
        Where(key=key),
        text,
        "; ".join(found[:_TOLD]) + more,
        "state the full id of one of them",
    )
    raise InputError(f"which {what} is meant", [problem])
